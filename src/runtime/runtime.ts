import type { Adapter, Receive } from '../shared/adapter.ts';
import type { Case } from '../shared/case.ts';
import type { Flow } from '../shared/flow.ts';
import type { Inbound } from '../shared/inbound.ts';
import { emptyCase, fold } from './core/reduce.ts';
import type { Settings } from './core/settings.ts';
import { step } from './core/step.ts';
import type { Journal } from './journal/journal.ts';

/** Receive, read, step, append, deliver: what the core decides is done here, in order within a thread. */
export interface Runtime {
  /** Takes in one message; resolves once its turn is kept and its messages are delivered. False: taken in before. */
  readonly receive: Receive;
  /** Rings every timer that is due by now. */
  ring(): Promise<void>;
  /** The case of a thread as its events tell it. */
  caseOf(thread: string): Promise<Case>;
  stop(): Promise<void>;
}

export interface RuntimeOptions {
  readonly journal: Journal;
  readonly flow: Flow;
  readonly settings: Settings;
  readonly now: () => number;
  /** True once the clock was moved for a demonstration: timers then ring on that clock. */
  readonly moved: () => boolean;
  readonly adapter: Adapter;
  /** Told of what went wrong inside, with what to do about it. */
  readonly report: (problem: string) => void;
}

/** Tries again when somebody else wrote first; more than this in a row is a bug, not bad luck. */
const tries = 20;
/** How often timers are looked at, milliseconds. */
const beat = 1000;

export function createRuntime(options: RuntimeOptions): Runtime {
  const { journal, flow, settings, adapter, report } = options;
  /** The work under way in each thread: the next message waits for it. */
  const queues = new Map<string, Promise<unknown>>();
  /** Threads whose messages could not be delivered: how often in a row, and the beats until they are tried again. */
  const behind = new Map<string, { readonly failures: number; beats: number }>();

  const caseOf = async (thread: string): Promise<Case> =>
    fold(emptyCase(thread), await journal.read(thread), flow);

  /** One after the other within a thread; threads do not wait for each other. */
  function queued<T>(thread: string, work: () => Promise<T>): Promise<T> {
    const turn = (queues.get(thread) ?? Promise.resolve()).then(work, work);
    const settled = turn.catch(() => undefined);
    queues.set(thread, settled);
    void settled.then(() => {
      if (queues.get(thread) === settled) queues.delete(thread);
    });
    return turn;
  }

  async function turn(inbound: Inbound): Promise<boolean> {
    for (let attempt = 0; attempt < tries; attempt++) {
      const kase = await caseOf(inbound.thread);
      const { events, outbound } = step(kase, inbound, flow, settings);
      const kept = await journal.append({
        thread: inbound.thread,
        inbound: inbound.id,
        after: kase.seq,
        events,
        outbound,
        ...(inbound.kind === 'rang' ? { rung: inbound.key } : {}),
      });
      if (kept === 'conflict') continue;
      await deliver(inbound.thread);
      return kept === 'done';
    }
    throw new Error(
      `The case of thread ${inbound.thread} kept changing under this turn; it was not taken in.`,
    );
  }

  /** Everything that waits in a thread, oldest first. Never rejects for what a platform does. */
  async function deliver(thread: string): Promise<void> {
    for (const { id, outbound } of await journal.undelivered(thread)) {
      try {
        await journal.delivered(id, await adapter.deliver({ id, thread, outbound }));
      } catch (cause) {
        // It stays in the outbox, and everything behind it, so that the order holds; the next turn or a later beat tries
        // again, less and less often while it fails.
        const failures = (behind.get(thread)?.failures ?? 0) + 1;
        behind.set(thread, { failures, beats: 2 ** Math.min(failures, 6) });
        report(
          `A message could not be delivered yet: ${cause instanceof Error ? cause.message : String(cause)}`,
        );
        return;
      }
    }
    behind.delete(thread);
  }

  /** A thread that is slow or fails holds up no other thread's timers. */
  async function ring(may: (thread: string) => boolean = () => true): Promise<void> {
    const timers = (await journal.due(options.now())).filter(({ thread }) => may(thread));
    const rung = await Promise.allSettled(
      timers.map(({ thread, key, due }) =>
        queued(thread, () =>
          turn({
            kind: 'rang',
            id: `rang:${key}:${due}`,
            thread,
            key,
            // A clock set back meanwhile does not make it early: it was due.
            at: Math.max(options.now(), due),
            by: { id: 'desk', name: 'desk', roles: [] },
            ...(options.moved() ? { demonstration: true as const } : {}),
          }),
        ),
      ),
    );
    for (const one of rung) if (one.status === 'rejected') throw one.reason;
  }

  function tryAgain(): void {
    for (const [thread, waits] of behind) {
      waits.beats -= 1;
      if (waits.beats > 0 || queues.has(thread)) continue;
      queued(thread, () => deliver(thread)).catch(failed('A delivery'));
    }
  }

  const failed =
    (what: string) =>
    (cause: unknown): void =>
      report(`${what} failed: ${cause instanceof Error ? cause.message : String(cause)}`);

  const timer = setInterval(() => {
    // A thread at work is left alone: its timer is still there at the next beat.
    ring((thread) => !queues.has(thread)).catch(failed('A timer'));
    tryAgain();
  }, beat);
  timer.unref();

  return {
    receive: (inbound) => queued(inbound.thread, () => turn(inbound)),
    ring: () => ring(),
    caseOf,
    async stop() {
      clearInterval(timer);
      await Promise.all(queues.values());
    },
  };
}
