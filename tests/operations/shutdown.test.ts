import { type ChildProcessByStdio, spawn } from 'node:child_process';
import { EventEmitter, once } from 'node:events';
import { connect } from 'node:net';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import type { Readable } from 'node:stream';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { Notice } from '../../src/notice.ts';
import { onStop, type StopOptions, type StopStep } from '../../src/operations/shutdown.ts';

const never = (): Promise<never> => new Promise(() => undefined);
const takes = (ms: number) => new Promise<void>((resolve) => setTimeout(resolve, ms));

/** Stopping without a process: what ran when (milliseconds from the first signal), what was told, how it ended. */
function stopping(steps: Record<string, Partial<StopStep> | StopStep['run']>, options: StopOptions = {}) {
  const signals = new EventEmitter();
  const ran: string[] = [];
  const told: Notice[] = [];
  const codes: string[] = [];
  let began: number | null = null;
  const since = (what: string | number) => `${what} at ${Math.round(performance.now() - (began ?? 0))}`;
  const handle = onStop(
    Object.entries(steps).map(([name, step]) => {
      const { run = () => undefined, ...rest } = typeof step === 'function' ? { run: step } : step;
      return {
        name,
        ...rest,
        run: (late) => {
          ran.push(since(name));
          return run(late);
        },
      };
    }),
    { signals, exit: (code) => codes.push(since(code)), notify: (notice) => told.push(notice), ...options },
  );
  return {
    handle,
    signals,
    ran,
    told,
    codes,
    signal(name: 'SIGTERM' | 'SIGINT') {
      began ??= performance.now();
      signals.emit(name, name);
    },
  };
}

describe('stopping', () => {
  beforeEach(() => {
    vi.useFakeTimers();
  });
  afterEach(() => {
    vi.useRealTimers();
  });

  it.each(['SIGTERM', 'SIGINT'] as const)(
    'runs the steps one after the other at %s, then exits with 0',
    async (name) => {
      const { signal, signals, ran, told, codes } = stopping({
        intake: () => undefined,
        finish: () => takes(1000),
        close: () => takes(200),
      });
      await vi.advanceTimersByTimeAsync(10_000);
      expect(ran).toEqual([]);
      signal(name);
      await vi.advanceTimersByTimeAsync(10_000);
      expect(ran).toEqual(['intake at 0', 'finish at 0', 'close at 1000']);
      expect(codes).toEqual(['0 at 1200']);
      expect(told).toEqual([]);
      expect(signals.eventNames()).toEqual([]);
    },
  );

  it('has one time limit in all, and leaves the later steps some of it', async () => {
    const aborted: string[] = [];
    const run = (name: string) => (late: AbortSignal) => {
      late.addEventListener('abort', () => aborted.push(name));
      return never();
    };
    const { signal, ran, codes, told } = stopping({ one: run('one'), two: run('two'), three: run('three') });
    signal('SIGTERM');
    await vi.advanceTimersByTimeAsync(20_000);
    expect(ran).toEqual(['one at 0', 'two at 3500', 'three at 4000']);
    expect(aborted).toEqual(['one', 'two', 'three']);
    expect(codes).toEqual(['1 at 4500']);
    expect(told).toEqual(
      ['one', 'two', 'three'].map((name) => ({
        kind: 'problem',
        what: `Stopping: ${name} took too long and was left behind`,
      })),
    );
  });

  it('exits with 0 when a later step released what was left behind', async () => {
    const { signal, codes } = stopping({ finish: never, close: { run: () => takes(10), releases: true } });
    signal('SIGTERM');
    await vi.advanceTimersByTimeAsync(20_000);
    expect(codes).toEqual(['0 at 4010']);
  });

  it.each([
    [
      'the releasing step fails',
      { finish: never, close: { run: () => Promise.reject(new Error('x')), releases: true } },
    ],
    ['a step after it is left behind', { close: { releases: true }, last: never }],
    ['nothing released it', { finish: never, close: () => undefined }],
  ] as const)('exits with 1 when %s', async (_, steps) => {
    const { signal, codes } = stopping(steps);
    signal('SIGTERM');
    await vi.advanceTimersByTimeAsync(20_000);
    expect(codes).toEqual([expect.stringMatching(/^1 at/)]);
  });

  it('goes on after a step that failed, and tells it', async () => {
    const cause = new Error('away');
    const { signal, ran, told, codes } = stopping({
      thrown: () => {
        throw cause;
      },
      rejected: () => Promise.reject(cause),
      close: { releases: true },
    });
    signal('SIGTERM');
    await vi.advanceTimersByTimeAsync(1);
    expect(ran).toEqual(['thrown at 0', 'rejected at 0', 'close at 0']);
    expect(told).toEqual(
      ['thrown', 'rejected'].map((name) => ({ kind: 'problem', what: `Stopping: ${name} failed`, cause })),
    );
    expect(codes).toEqual(['0 at 0']);
  });

  it('stops at once at a second signal', async () => {
    const { signal, codes } = stopping({ finish: never });
    signal('SIGTERM');
    await vi.advanceTimersByTimeAsync(1000);
    signal('SIGINT');
    expect(codes).toEqual(['130 at 1000']);
    await vi.advanceTimersByTimeAsync(20_000);
    expect(codes).toHaveLength(1);
    const other = stopping({ finish: never });
    other.signal('SIGINT');
    await vi.advanceTimersByTimeAsync(600);
    other.signal('SIGTERM');
    expect(other.codes).toEqual(['143 at 600']);
  });

  it('takes two signals at almost the same time for one: npm passes on what the terminal sent already', async () => {
    const { signal, codes, ran } = stopping({ finish: () => takes(2000) });
    signal('SIGINT');
    await vi.advanceTimersByTimeAsync(20);
    signal('SIGINT');
    await vi.advanceTimersByTimeAsync(20_000);
    expect(ran).toEqual(['finish at 0']);
    expect(codes).toEqual(['0 at 2000']);
  });

  it('can be begun without a signal, once', async () => {
    const { handle, signal, ran, codes } = stopping({ finish: () => takes(2000) });
    const both = [handle.stop(), handle.stop()];
    await vi.advanceTimersByTimeAsync(1000);
    // The first signal: it is stopping already.
    signal('SIGTERM');
    await vi.advanceTimersByTimeAsync(20_000);
    await Promise.all(both);
    expect(ran).toHaveLength(1);
    expect(codes).toEqual(['0 at 1000']);
  });

  it('leaves signals alone when told to forget them', () => {
    const { handle, signals } = stopping({ finish: never });
    expect(signals.eventNames()).toEqual(['SIGTERM', 'SIGINT']);
    handle.forget();
    expect(signals.eventNames()).toEqual([]);
  });
});

describe('a real program', () => {
  type Child = ChildProcessByStdio<null, Readable, Readable>;
  /** The program once it serves, with what it said so far. */
  async function program(...args: string[]) {
    const child: Child = spawn(
      process.execPath,
      [join(import.meta.dirname, 'stopping-program.ts'), ...args],
      {
        stdio: ['ignore', 'pipe', 'pipe'],
      },
    );
    const said: string[] = [];
    let logged = '';
    child.stderr.on('data', (data) => {
      logged += data;
    });
    const lines = createInterface(child.stdout);
    lines.on('line', (line) => said.push(line));
    const ended = once(child, 'close');
    await once(lines, 'line');
    return { child, said, ended, url: new URL(said[0] ?? ''), logged: () => logged };
  }

  it.each(['SIGTERM', 'SIGINT'] as const)(
    'stops at %s in order, in time and with 0, although a connection is open',
    async (signal) => {
      const { child, said, ended, url, logged } = await program();
      expect((await fetch(new URL('/readyz', url))).status).toBe(200);
      expect(await (await fetch(new URL('/metrics', url))).text()).toContain('mendthread_outbox_waiting 0');
      const socket = connect(Number(url.port), url.hostname);
      await once(socket, 'connect');
      const before = performance.now();
      child.kill(signal);
      expect(await ended).toEqual([0, null]);
      expect(performance.now() - before).toBeLessThan(1500);
      expect(said.slice(1)).toEqual(['drain', 'finish', 'close']);
      expect(logged()).toBe('');
      socket.destroy();
    },
  );

  it('is not ready while it finishes, and stops at once at a second signal', async () => {
    const { child, said, ended, url } = await program('hang');
    const before = performance.now();
    child.kill('SIGTERM');
    await takes(600);
    expect((await fetch(new URL('/readyz', url))).status).toBe(503);
    child.kill('SIGTERM');
    expect(await ended).toEqual([143, null]);
    expect(performance.now() - before).toBeLessThan(2500);
    expect(said.slice(1)).toEqual(['drain', 'finish']);
  });

  it('leaves behind what hangs, and says so', async () => {
    const { child, said, ended, logged } = await program('hang');
    const before = performance.now();
    child.kill('SIGTERM');
    expect(await ended).toEqual([1, null]);
    expect(performance.now() - before).toBeLessThan(5500);
    expect(said.slice(1)).toEqual(['drain', 'finish', 'close']);
    expect(JSON.parse(logged())).toMatchObject({
      level: 'error',
      msg: 'Stopping: finish took too long and was left behind',
    });
  });
});
