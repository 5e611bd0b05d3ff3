import { createServer, type IncomingMessage, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { Advice } from '../advice.ts';
import { codeOf } from '../files/text-file.ts';
import type { Notify } from '../notice.ts';

/**
 * Health and metrics for whoever runs the desk: `/livez` (the loop turns), `/readyz` (what it needs answers) and
 * `/metrics`. Nothing of a case is served.
 */
export interface OperationsServer {
  /** Where it listens, such as `http://127.0.0.1:8080`. */
  readonly url: string;
  /** From now on `/readyz` says no, so that a balancer sends nothing more. */
  draining(): void;
  /** Resolves within a second, whatever is still connected. */
  close(): Promise<void>;
}

export interface OperationsOptions {
  readonly host: string;
  /** 0: a free one. */
  readonly port: number;
  /** What has to be there, by name: each resolves when it is. */
  readonly checks: Readonly<Record<string, () => Promise<void>>>;
  readonly metrics: { readonly contentType: string; read(): Promise<string> };
  /** Told when a check no longer passes, and of faults of the server. */
  readonly notify?: Notify;
  /** Time for a check, milliseconds. */
  readonly within?: number;
}

/** An answer: status, text, and the headers beside those that every answer has. */
interface Answer {
  readonly status: number;
  readonly text: string;
  readonly headers?: Readonly<Record<string, string>>;
}

/** What requests under way are left when the server closes, milliseconds. */
const grace = 500;

/** Rejects with advice when it cannot listen there. */
export async function serveOperations(options: OperationsOptions): Promise<OperationsServer> {
  const { checks, metrics, notify = () => undefined, within = 2000 } = options;
  let stopping = false;
  const failing = failingChecks(checks, within, notify);

  async function answer(request: IncomingMessage): Promise<Answer> {
    const path = request.url?.split('?', 1)[0] ?? '';
    if (path !== '/livez' && path !== '/readyz' && path !== '/metrics') {
      return { status: 404, text: 'There are /livez, /readyz and /metrics here.\n' };
    }
    if (request.method !== 'GET' && request.method !== 'HEAD') {
      return { status: 405, text: 'Only GET and HEAD.\n', headers: { allow: 'GET, HEAD' } };
    }
    switch (path) {
      case '/livez':
        return { status: 200, text: 'ok\n' };
      case '/readyz': {
        if (stopping) return { status: 503, text: 'stopping\n' };
        const names = await failing();
        return names.length === 0
          ? { status: 200, text: 'ok\n' }
          : { status: 503, text: `not ready: ${names.join(', ')}\n` };
      }
      case '/metrics':
        return {
          status: 200,
          text: await metrics.read(),
          headers: { 'content-type': metrics.contentType },
        };
      default:
        return path satisfies never;
    }
  }

  const server = createServer(
    {
      maxHeaderSize: 4096,
      headersTimeout: 3000,
      requestTimeout: 10_000,
      keepAliveTimeout: 5000,
      connectionsCheckingInterval: 1000,
    },
    (request, response) => {
      answer(request)
        .catch((cause: unknown): Answer => {
          notify({ kind: 'problem', what: 'A request for health or metrics failed', cause });
          return { status: 500, text: 'failed; the log says more\n' };
        })
        .then((found) => send(request, response, found));
    },
  );
  server.maxConnections = 100;
  server.timeout = 15_000;

  await new Promise<void>((resolve, reject) => {
    server.once('error', (cause) =>
      reject(
        new Advice(
          `Health and metrics cannot be served (${codeOf(cause)}); write another HTTP_PORT, or an HTTP_HOST of this machine.`,
        ),
      ),
    );
    server.listen({ host: options.host, port: options.port }, resolve);
  });
  server.on('error', (cause) =>
    notify({ kind: 'problem', what: 'The server of health and metrics has a problem', cause }),
  );

  const { address, family, port } = server.address() as AddressInfo;
  let closed: Promise<void> | null = null;
  return {
    url: `http://${family === 'IPv6' ? `[${address}]` : address}:${port}`,
    draining() {
      stopping = true;
    },
    close() {
      stopping = true;
      closed ??= new Promise((resolve) => {
        const timer = setTimeout(() => server.closeAllConnections(), grace);
        // Connections without a request are closed with it.
        server.close(() => {
          clearTimeout(timer);
          resolve();
        });
      });
      return closed;
    },
  };
}

function send(request: IncomingMessage, response: ServerResponse, { status, text, headers }: Answer): void {
  if (response.destroyed) return;
  const asks = request.method === 'GET' || request.method === 'HEAD';
  response.writeHead(status, {
    'content-type': 'text/plain; charset=utf-8',
    'cache-control': 'no-store',
    'content-length': Buffer.byteLength(text),
    // Whoever sends what is not read may not keep the connection.
    ...(asks ? {} : { connection: 'close' }),
    ...headers,
  });
  response.end(text);
}

/** Asks all checks at once and gives the names of those that do not pass. Who asks meanwhile gets the same answer. */
function failingChecks(
  checks: OperationsOptions['checks'],
  within: number,
  notify: Notify,
): () => Promise<readonly string[]> {
  const known = new Set<string>();
  const asking = new Map<string, Promise<boolean>>();

  async function ask(name: string, check: () => Promise<void>): Promise<boolean> {
    let timer: NodeJS.Timeout | undefined;
    const late = new Promise<never>((_, reject) => {
      timer = setTimeout(() => reject(new Error(`no answer within ${within} ms`)), within);
    });
    try {
      await Promise.race([check(), late]);
      known.delete(name);
      return true;
    } catch (cause) {
      // Once, not at every probe.
      if (!known.has(name)) notify({ kind: 'problem', what: `Not ready: ${name}`, cause });
      known.add(name);
      return false;
    } finally {
      clearTimeout(timer);
    }
  }

  return async () => {
    const passed = await Promise.all(
      Object.entries(checks).map(async ([name, check]) => {
        const asked = asking.get(name) ?? ask(name, check).finally(() => asking.delete(name));
        asking.set(name, asked);
        return (await asked) ? [] : [name];
      }),
    );
    return passed.flat();
  };
}
