import { Agent, request } from 'node:http';
import { connect, createServer, type Socket } from 'node:net';
import { afterEach, describe, expect, it } from 'vitest';
import { Advice } from '../../src/advice.ts';
import type { Notice } from '../../src/notice.ts';
import { type OperationsOptions, type OperationsServer, serveOperations } from '../../src/operations/http.ts';

const open: OperationsServer[] = [];
afterEach(async () => {
  await Promise.all(open.splice(0).map((server) => server.close()));
});

const metrics = { contentType: 'text/plain; version=0.0.4', read: async () => 'up 1\n' };
async function serve(options: Partial<OperationsOptions> = {}): Promise<OperationsServer> {
  const server = await serveOperations({ host: '127.0.0.1', port: 0, checks: {}, metrics, ...options });
  open.push(server);
  return server;
}

interface Got {
  readonly status: number | undefined;
  readonly headers: Record<string, string | string[] | undefined>;
  readonly text: string;
}
function get(url: string, method = 'GET', agent?: Agent): Promise<Got> {
  return new Promise((resolve, reject) => {
    const asked = request(url, { method, ...(agent ? { agent } : {}) }, (response) => {
      let text = '';
      response.on('data', (data) => {
        text += data;
      });
      response.on('end', () => resolve({ status: response.statusCode, headers: response.headers, text }));
      response.on('error', reject);
    });
    asked.on('error', reject);
    asked.end();
  });
}
const never = (): Promise<never> => new Promise(() => undefined);

describe('the server for health and metrics', () => {
  it('answers where it was asked to listen', async () => {
    const { url } = await serve();
    expect(url).toMatch(/^http:\/\/127\.0\.0\.1:\d+$/);
    expect(await get(`${url}/livez`)).toMatchObject({ status: 200, text: 'ok\n' });
    expect(await get(`${url}/livez?verbose`)).toMatchObject({ status: 200 });
    expect(await get(`${url}/readyz`)).toMatchObject({ status: 200, text: 'ok\n' });
    expect(await get(`${url}/metrics`)).toMatchObject({
      status: 200,
      text: 'up 1\n',
      headers: { 'content-type': metrics.contentType, 'cache-control': 'no-store' },
    });
  });

  it('answers HEAD without a text, nothing else but GET, and nowhere else', async () => {
    const { url } = await serve();
    const head = await get(`${url}/metrics`, 'HEAD');
    expect(head).toMatchObject({ status: 200, text: '', headers: { 'content-length': '5' } });
    for (const method of ['POST', 'PUT', 'DELETE', 'OPTIONS']) {
      expect(await get(`${url}/readyz`, method)).toMatchObject({
        status: 405,
        headers: { allow: 'GET, HEAD' },
      });
    }
    for (const path of ['', '/', '/livez/', '/healthz', '//livez', '/%6Civez']) {
      expect((await get(`${url}${path}`)).status, path).toBe(404);
    }
  });

  it('is ready when every check passes, and else names those that do not', async () => {
    let away = false;
    const server = await serve({
      within: 100,
      checks: {
        journal: async () => undefined,
        slack: async () => {
          if (away) throw new Error('hunter2');
        },
        redis: () => (away ? never() : Promise.resolve()),
        discord: () => {
          if (away) throw new Error('at once');
          return Promise.resolve();
        },
      },
    });
    const ready = () => get(`${server.url}/readyz`);
    expect(await ready()).toMatchObject({ status: 200 });
    away = true;
    for (let i = 0; i < 2; i++) {
      expect(await ready()).toMatchObject({ status: 503, text: 'not ready: slack, redis, discord\n' });
    }
    expect(await get(`${server.url}/livez`)).toMatchObject({ status: 200 });
    away = false;
    expect(await ready()).toMatchObject({ status: 200 });
  });

  it('waits for a check for two seconds', async () => {
    const server = await serve({ checks: { journal: never } });
    const before = performance.now();
    expect(await get(`${server.url}/readyz`)).toMatchObject({ status: 503, text: 'not ready: journal\n' });
    expect(performance.now() - before).toBeGreaterThan(1900);
    expect(performance.now() - before).toBeLessThan(3000);
  });

  it('asks a check that is not done once, however many probes come', async () => {
    let asked = 0;
    const server = await serve({
      within: 200,
      checks: {
        journal: () => {
          asked += 1;
          return never();
        },
      },
    });
    const all = await Promise.all(Array.from({ length: 20 }, () => get(`${server.url}/readyz`)));
    expect(all.every(({ status }) => status === 503)).toBe(true);
    expect(asked).toBe(1);
    await get(`${server.url}/readyz`);
    expect(asked).toBe(2);
  });

  it('tells once that a check no longer passes, with its cause', async () => {
    const told: Notice[] = [];
    let away = true;
    const cause = new Error('away');
    const server = await serve({
      notify: (notice) => told.push(notice),
      checks: {
        journal: async () => {
          if (away) throw cause;
        },
      },
    });
    const notice = { kind: 'problem', what: 'Not ready: journal', cause };
    for (let i = 0; i < 3; i++) await get(`${server.url}/readyz`);
    expect(told).toEqual([notice]);
    away = false;
    await get(`${server.url}/readyz`);
    away = true;
    await get(`${server.url}/readyz`);
    expect(told).toEqual([notice, notice]);
  });

  it('is not ready once the desk is draining, and still alive', async () => {
    const server = await serve({ checks: { journal: async () => undefined } });
    server.draining();
    expect(await get(`${server.url}/readyz`)).toMatchObject({ status: 503, text: 'stopping\n' });
    expect(await get(`${server.url}/livez`)).toMatchObject({ status: 200 });
    expect(await get(`${server.url}/metrics`)).toMatchObject({ status: 200 });
  });

  it('says nothing of why metrics failed, but in the log', async () => {
    const told: Notice[] = [];
    const cause = new Error('hunter2');
    const server = await serve({
      notify: (notice) => told.push(notice),
      metrics: { ...metrics, read: () => Promise.reject(cause) },
    });
    const { status, text } = await get(`${server.url}/metrics`);
    expect({ status, text }).toEqual({ status: 500, text: 'failed; the log says more\n' });
    expect(told).toEqual([{ kind: 'problem', what: 'A request for health or metrics failed', cause }]);
  });

  it('closes within a second whatever is connected', async () => {
    const server = await serve({ checks: { journal: never } });
    const { port } = new URL(server.url);
    const agent = new Agent({ keepAlive: true });
    await get(`${server.url}/livez`, 'GET', agent);
    const silent = await connected(Number(port));
    const half = await connected(Number(port));
    half.write('GET /livez HTTP/1.1\r\nHost: x\r\n');
    const waiting = get(`${server.url}/readyz`).then(
      () => 'answered',
      () => 'cut',
    );
    await new Promise((resolve) => setTimeout(resolve, 50));
    const before = performance.now();
    await Promise.all([server.close(), server.close()]);
    expect(performance.now() - before).toBeLessThan(1000);
    expect(await waiting).toBe('cut');
    await expect(get(`${server.url}/livez`)).rejects.toThrow(/ECONNREFUSED/);
    agent.destroy();
    silent.destroy();
    half.destroy();
  });

  it('closes at once when only idle connections are open', async () => {
    const server = await serve();
    const agent = new Agent({ keepAlive: true });
    await get(`${server.url}/livez`, 'GET', agent);
    const before = performance.now();
    await server.close();
    expect(performance.now() - before).toBeLessThan(300);
    agent.destroy();
  });

  it('lets a request under way finish when it can', async () => {
    const server = await serve({
      checks: { journal: () => new Promise((resolve) => setTimeout(resolve, 200)) },
    });
    const waiting = get(`${server.url}/readyz`);
    await new Promise((resolve) => setTimeout(resolve, 50));
    await server.close();
    expect(await waiting).toMatchObject({ status: 200 });
  });

  it('refuses headers that are too large, and does not wait for ever for them', async () => {
    const server = await serve();
    const { port } = new URL(server.url);
    const large = await connected(Number(port));
    large.write(`GET /livez HTTP/1.1\r\nHost: x\r\nX: ${'x'.repeat(5000)}\r\n\r\n`);
    expect(await received(large)).toMatch(/^HTTP\/1\.1 431 /);
    const slow = await connected(Number(port));
    slow.write('GET /livez HTTP/1.1\r\n');
    const before = performance.now();
    expect(await received(slow)).toMatch(/^HTTP\/1\.1 408 /);
    expect(performance.now() - before).toBeLessThan(6000);
  });

  it('says what to write when it cannot listen', async () => {
    const other = createServer();
    const port = await new Promise<number>((resolve) => {
      other.listen(0, '127.0.0.1', () => resolve((other.address() as { port: number }).port));
    });
    await expect(serve({ port })).rejects.toThrow(Advice);
    await expect(serve({ port })).rejects.toThrow(/cannot be served \(EADDRINUSE\); write another HTTP_PORT/);
    // TEST-NET-1 of RFC 5737 belongs to no machine.
    await expect(serve({ host: '192.0.2.1' })).rejects.toThrow(/EADDRNOTAVAIL\).*HTTP_HOST of this machine/);
    other.close();
  });
});

function connected(port: number): Promise<Socket> {
  return new Promise((resolve, reject) => {
    const socket = connect(port, '127.0.0.1', () => resolve(socket));
    socket.once('error', reject);
    socket.on('error', () => undefined);
  });
}

/** All that comes until the other side closes. */
function received(socket: Socket): Promise<string> {
  return new Promise((resolve) => {
    let text = '';
    socket.setEncoding('utf8');
    socket.on('data', (data) => {
      text += data;
    });
    socket.on('close', () => resolve(text));
  });
}
