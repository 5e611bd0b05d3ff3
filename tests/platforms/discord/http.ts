import { createServer, type IncomingMessage, type ServerResponse } from 'node:http';
import type { Fault, Faults } from './faults.ts';
import { readMultipart } from './multipart.ts';
import type { Route } from './rest.ts';
import { Refused } from './wire.ts';

/** One line a request, as a test may want to look at it. */
export interface Line {
  readonly method: string;
  readonly path: string;
  status: number;
}

const prefix = '/api/v10';

export function openHttp(token: string, faults: Faults, list: () => readonly Route[]) {
  const log: Line[] = [];
  let under = 0;
  let last = Date.now();

  const send = (response: ServerResponse, status: number, body?: unknown, headers: object = {}): void => {
    response.writeHead(status, { 'content-type': 'application/json', ...headers });
    response.end(body === undefined ? undefined : JSON.stringify(body));
  };

  async function read(
    request: IncomingMessage,
  ): Promise<{ json: unknown; files: ReturnType<typeof readMultipart>['files'] }> {
    const chunks: Buffer[] = [];
    for await (const chunk of request) chunks.push(chunk as Buffer);
    const body = Buffer.concat(chunks);
    const type = request.headers['content-type'] ?? '';
    if (type.startsWith('multipart/form-data')) return readMultipart(body, type);
    return { json: body.length > 0 ? JSON.parse(body.toString('utf8')) : {}, files: [] };
  }

  async function answer(request: IncomingMessage, response: ServerResponse, line: Line): Promise<void> {
    const { method, path } = line;
    const { json, files } = await read(request);
    const fault = faults.take(method, path);
    if (fault && !fault.how.endsWith('-after')) {
      if (await befalls(fault, request, response, send)) return;
    }
    const route = list().find((one) => one.method === method && one.path.test(path));
    if (!route) return send(response, 404, { message: '404: Not Found', code: 0 });
    if (!route.open && request.headers.authorization !== `Bot ${token}`)
      return send(response, 401, { message: '401: Unauthorized', code: 0 });
    const ids = (route.path.exec(path) ?? []).slice(1).map(decodeURIComponent);
    const result = route.handle({ body: json as never, files, ids });
    if (fault?.how === '500-after')
      return send(response, 500, { message: '500: Internal Server Error', code: 0 });
    if (fault?.how === 'reset-after') return void request.socket.destroy();
    if (result === undefined) response.writeHead(204).end();
    else send(response, 200, result);
  }

  const server = createServer((request, response) => {
    under += 1;
    last = Date.now();
    const path = (request.url ?? '').split('?')[0]?.replace(prefix, '') ?? '';
    const line: Line = { method: request.method ?? '', path, status: 0 };
    log.push(line);
    response.on('close', () => {
      under -= 1;
      last = Date.now();
      line.status = response.writableEnded ? response.statusCode : 0;
    });
    answer(request, response, line).catch((cause) => {
      if (cause instanceof Refused) {
        const { status, code, message } = cause.refusal;
        return send(response, status, { message, code });
      }
      return send(response, 500, { message: String((cause as Error).stack), code: 0 });
    });
  });

  return {
    server,
    log,
    touch(): void {
      last = Date.now();
    },
    /** Resolves when nothing was asked for a while. */
    async quiet(ms = 40): Promise<void> {
      while (under > 0 || Date.now() - last < ms) await new Promise((resolve) => setTimeout(resolve, 5));
    },
  };
}

/** True where the request ends there. */
async function befalls(
  fault: Fault,
  request: IncomingMessage,
  response: ServerResponse,
  send: (response: ServerResponse, status: number, body?: unknown, headers?: object) => void,
): Promise<boolean> {
  switch (fault.how) {
    case '429': {
      const after = fault.after ?? 0.05;
      send(
        response,
        429,
        { message: 'You are being rate limited.', retry_after: after, global: fault.global ?? false },
        {
          'retry-after': String(after),
          'x-ratelimit-scope': fault.global ? 'global' : 'shared',
          ...(fault.global ? { 'x-ratelimit-global': 'true' } : {}),
        },
      );
      return true;
    }
    case '403':
      send(response, 403, { message: 'Missing Permissions', code: 50013 });
      return true;
    case 'expired':
      send(response, 404, { message: 'Unknown interaction', code: 10062 });
      return true;
    case '404':
      send(response, 404, { message: 'Unknown Channel', code: 10003 });
      return true;
    case '500':
      send(response, 500, { message: '500: Internal Server Error', code: 0 });
      return true;
    case 'reset':
      request.socket.destroy();
      return true;
    case 'slow':
      await new Promise((resolve) => setTimeout(resolve, (fault.after ?? 1) * 1000));
      return false;
    default:
      return false;
  }
}
