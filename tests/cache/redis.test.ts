import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtemp, rm } from 'node:fs/promises';
import { type AddressInfo, createServer, type Server, type Socket } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { inspect } from 'node:util';
import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { breakerRest } from '../../src/cache/breaker.ts';
import type { Cache } from '../../src/cache/cache.ts';
import { openCache } from '../../src/cache/open-cache.ts';
import { describeRedis, freshRedis, redisCommand } from '../services.ts';
import { noticeBook } from './notices.ts';

/** A Redis of our own, to be killed and started again. */
interface OwnRedis {
  readonly url: string;
  start(): Promise<void>;
  kill(): Promise<void>;
  /** It keeps its connections, and says nothing. */
  freeze(): void;
  thaw(): void;
  drop(): Promise<void>;
}

async function ownRedis(...more: readonly string[]): Promise<OwnRedis> {
  const dir = await mkdtemp(join(tmpdir(), 'redis-'));
  const port = await freePort();
  const url = `redis://127.0.0.1:${port}`;
  let server: ChildProcess | null = null;
  const kill = async (): Promise<void> => {
    if (!server || server.exitCode !== null || server.signalCode !== null) return;
    const ended = once(server, 'exit');
    server.kill('SIGKILL');
    await ended;
  };
  return {
    url,
    async start() {
      const options = ['--bind', '127.0.0.1', '--save', '', '--appendonly', 'no', '--dir', dir];
      server = spawn('redis-server', ['--port', `${port}`, ...options, ...more], { stdio: 'ignore' });
      // An answer that refuses for want of a password is one, too.
      await vi.waitFor(
        () => redisCommand(url, 'PING').catch((cause: Error) => expect(cause.message).toContain('NOAUTH')),
        { timeout: 10_000, interval: 20 },
      );
    },
    kill,
    freeze: () => server?.kill('SIGSTOP'),
    thaw: () => server?.kill('SIGCONT'),
    async drop() {
      await kill();
      await rm(dir, { recursive: true });
    },
  };
}

/** Below the range that the system takes ports of clients from, one of which would keep the server from coming back. */
async function freePort(): Promise<number> {
  for (;;) {
    const port = 20_000 + Math.floor(Math.random() * 12_000);
    const server = createServer();
    server.listen(port, '127.0.0.1');
    const free = await once(server, 'listening').then(
      () => true,
      () => false,
    );
    server.close();
    if (free) return port;
  }
}

describeRedis('the cache in Redis', () => {
  let book: ReturnType<typeof noticeBook>;
  let clock: number;
  const ends: (() => Promise<void>)[] = [];
  beforeEach(() => {
    book = noticeBook();
    clock = 0;
  });
  afterEach(async () => {
    for (const end of ends.splice(0).reverse()) await end();
  });
  const redis = async (...more: readonly string[]): Promise<OwnRedis> => {
    const one = await ownRedis(...more);
    ends.push(one.drop);
    return one;
  };
  const open = async (url: string): Promise<Cache> => {
    const cache = await openCache({ url, db: null, version: '1', notify: book.notify, now: () => clock });
    ends.push(cache.close);
    return cache;
  };
  const timed = async (work: Promise<unknown>): Promise<number> => {
    const began = performance.now();
    await work;
    return performance.now() - began;
  };
  const changes = (): boolean[] =>
    book.all.flatMap((notice) => (notice.kind === 'cache-breaker' ? [notice.open] : []));
  /** Time enough for the breaker each time: how soon the connection is back. */
  const works = (cache: Cache, key: string, value: unknown, timeout = 8000) =>
    vi.waitFor(
      async () => {
        clock += breakerRest;
        cache.put('case', key, value);
        expect(await cache.get('case', key)).toEqual(value);
      },
      { timeout, interval: 50 },
    );

  test('killed and started again in the middle, it is left alone and taken up again, and nobody waits for it', async () => {
    const server = await redis();
    await server.start();
    const cache = await open(server.url);
    await works(cache, 'thread', 'first');
    for (let round = 0; round < 2; round++) {
      book.all.length = 0;
      await server.kill();
      let slowest = 0;
      for (let n = 0; n < 40; n++) {
        slowest = Math.max(slowest, await timed(cache.get('case', 'thread')));
        cache.put('case', `t${n}`, n);
      }
      // Refused at once: there is no connection, and no queue to wait in.
      expect(slowest).toBeLessThan(100);
      expect(await cache.get('case', 'thread')).toBeUndefined();
      expect(changes()).toEqual([true]);
      expect(await timed(cache.remove('case', 'thread'))).toBeLessThan(500);
      expect(await cache.remove('case', 'thread')).toBe('unsure');

      await server.start();
      book.all.length = 0;
      await works(cache, 'thread', { round });
      expect(changes()).toEqual([false]);
      expect(await cache.remove('case', 'thread')).toBe('gone');
      // What was there is gone with the old process, and that is a miss.
      book.results();
      expect(await cache.get('case', 't1')).toBeUndefined();
      expect(book.results()).toEqual(['miss']);
    }
  });

  test('frozen, it costs five time limits and then one at a time; thawed, it goes on', async () => {
    const server = await redis();
    await server.start();
    const cache = await open(server.url);
    await works(cache, 'thread', 'kept');
    book.all.length = 0;
    server.freeze();
    let waited = 0;
    for (let n = 0; n < 50; n++) waited += await timed(cache.get('case', 'thread'));
    expect(waited).toBeGreaterThan(5 * 45);
    expect(waited).toBeLessThan(5 * 50 + 250);
    expect(changes()).toEqual([true]);
    clock += breakerRest;
    waited = 0;
    for (let n = 0; n < 50; n++) waited += await timed(cache.get('case', 'thread'));
    expect(waited).toBeLessThan(50 + 100);
    expect(await timed(cache.remove('case', 'thread'))).toBeLessThan(2300);
    server.thaw();
    await works(cache, 'thread', 'again');
    expect(changes()).toEqual([true, false]);
  });

  test('frozen for longer than the connection’s patience, it is given up and connected again', async () => {
    const server = await redis();
    await server.start();
    const cache = await open(server.url);
    await works(cache, 'thread', 'kept');
    server.freeze();
    await new Promise((resolve) => setTimeout(resolve, 8000));
    // Refused at once instead of after the limit: the silent connection is gone.
    await vi.waitFor(async () => {
      clock += breakerRest;
      book.results();
      expect(await timed(cache.get('case', 'thread'))).toBeLessThan(20);
      expect(book.results()).toEqual(['failed']);
    });
    server.thaw();
    await works(cache, 'thread', 'again', 15_000);
  });

  test('one that is frozen does not hold up the end', async () => {
    const server = await redis();
    await server.start();
    const cache = await open(server.url);
    await works(cache, 'thread', 'kept');
    server.freeze();
    cache.put('case', 'thread', 'late');
    expect(await timed(cache.close())).toBeLessThan(2500);
  });

  test('down at the start, it neither fails nor holds up the start, and is taken up when it comes', async () => {
    const server = await redis();
    let cache: Cache | undefined;
    expect(
      await timed(
        open(server.url).then((one) => {
          cache = one;
        }),
      ),
    ).toBeLessThan(600);
    if (!cache) throw new Error('not opened');
    expect(await cache.get('case', 'thread')).toBeUndefined();
    expect(book.results()).toEqual(['failed']);
    await server.start();
    await works(cache, 'thread', 'there');
  });

  test('a server that accepts and says nothing does not hold up the start, nor the end', async () => {
    const sockets: Socket[] = [];
    const mute: Server = createServer((socket) => {
      sockets.push(socket.on('error', () => undefined));
    });
    mute.listen(0, '127.0.0.1');
    await once(mute, 'listening');
    const url = `redis://127.0.0.1:${(mute.address() as AddressInfo).port}`;
    let cache: Cache | undefined;
    expect(
      await timed(
        open(url).then((one) => {
          cache = one;
        }),
      ),
    ).toBeLessThan(600);
    expect(await timed(cache?.get('case', 'thread') ?? Promise.reject())).toBeLessThan(120);
    expect(book.results()).toEqual(['failed']);
    expect(await timed(cache?.close() ?? Promise.reject())).toBeLessThan(2500);
    for (const socket of sockets) socket.destroy();
    mute.close();
  });

  test('a wrong password is told as the cause, and no password is', async () => {
    const server = await redis('--requirepass', 'the-right-one');
    await server.start();
    const at = new URL(server.url);
    at.password = 'the-wrong-one';
    const cache = await open(at.href);
    await vi.waitFor(
      async () => {
        await cache.get('case', 'thread');
        expect(changes()).toEqual([true]);
      },
      { timeout: 5000, interval: 50 },
    );
    const told = inspect(book.all, { depth: 20, showHidden: true });
    expect(told).toContain('WRONGPASS');
    expect(told).not.toContain('the-wrong-one');
    await cache.close();

    at.password = 'the-right-one';
    await works(await open(at.href), 'thread', 'in');
  });

  test('keys carry a prefix, and expire in Redis itself', async () => {
    const { url, drop } = await freshRedis();
    ends.push(drop);
    const cache = await open(url);
    await works(cache, 'thread', 'v');
    cache.put('plan', 'p', 'v');
    await vi.waitFor(async () => expect(await cache.get('plan', 'p')).toBe('v'));
    const day = 24 * 60 * 60;
    const left = async (key: string): Promise<number> => Number(await redisCommand(url, 'TTL', key));
    for (const [key, days] of [
      ['mendthread::case:thread', 7],
      ['mendthread::plan:p', 30],
    ] as const) {
      expect(await left(key)).toBeGreaterThan(days * day - 60);
      expect(await left(key)).toBeLessThanOrEqual(days * day);
    }
  });

  test('what is damaged in Redis is found out; what is no text there is a failure', async () => {
    const { url, drop } = await freshRedis();
    ends.push(drop);
    const cache = await open(url);
    await works(cache, 'thread', { seq: 1 });
    book.results();
    await redisCommand(url, 'APPEND', 'mendthread::case:thread', 'x');
    expect(await cache.get('case', 'thread')).toBeUndefined();
    await redisCommand(url, 'DEL', 'mendthread::case:thread');
    await redisCommand(url, 'LPUSH', 'mendthread::case:thread', 'x');
    expect(await cache.get('case', 'thread')).toBeUndefined();
    expect(book.results()).toEqual(['bad', 'failed']);
    expect(await cache.remove('case', 'thread')).toBe('gone');
    await works(cache, 'thread', { seq: 2 });
  });

  test('what is under way when it closes does not connect again', async () => {
    const { url, drop } = await freshRedis();
    ends.push(drop);
    const name = async (): Promise<number> => Number(await redisCommand(url, 'DBSIZE'));
    const cache = await open(url);
    for (let n = 0; n < 90; n++) cache.put('case', `t${n}`, n);
    const gets = Array.from({ length: 50 }, (_, n) => cache.get('case', `t${n}`));
    await cache.close();
    await Promise.all(gets);
    expect(await name()).toBe(90);
    cache.put('case', 'late', 1);
    await cache.get('case', 'late');
    await new Promise((resolve) => setTimeout(resolve, 100));
    expect(await name()).toBe(90);
  });
});
