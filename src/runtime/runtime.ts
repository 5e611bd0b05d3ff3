import type { Adapter, Answer, Receive, Received } from '../../shared/adapter.ts';
import type { Case, Event } from '../../shared/case.ts';
import type { Flow } from '../../shared/flow.ts';
import type { Inbound } from '../../shared/inbound.ts';
import type { Outbound } from '../../shared/outbound.ts';
import type { Cache } from '../cache/cache.ts';
import { noCache } from '../cache/cache.ts';
import { noGuide } from '../core/no-guide.ts';
import { libraryOf, type Settings } from '../core/settings.ts';
import { step } from '../core/step.ts';
import { unchosen } from '../core/unchosen.ts';
import { type Journal, platformOf, type Timer } from '../journal/journal.ts';
import type { Notify } from '../notice.ts';
import { createDeliveries } from './delivery.ts';
import { liveCases } from './live-cases.ts';
import { type Manners, tooMuch } from './manners.ts';
import { createPlans, type Solve } from './plans.ts';
import { solveHere } from './solver.ts';

/** Receive, read, step, append, deliver: what the core decides is done here, in order within a thread. */
export interface Runtime {
  /** Takes in one message; resolves once its turn is kept. Delivery follows by itself. */
  readonly receive: Receive;
  /** Rings every timer that is due by now. */
  ring(): Promise<void>;
  /** The flow that a case follows, as it is now. */
  flowOf(kase: Case): Flow;
  /** From the next turn on these flows and settings count, both together. */
  use(now: { readonly flows: readonly Flow[]; readonly settings: Settings }): void;
  /** Something waits for delivery in a thread that no turn of this desk has told of. */
  wake(thread: string): void;
  /** The case of a thread as its events tell it. */
  caseOf(thread: string): Promise<Case>;
  /** What this instance remembers of a case, in memory and in the cache, is dropped. */
  forgetCached(thread: string): Promise<'gone' | 'unsure'>;
  /** Resolves when no turn and no delivery is under way. */
  idle(): Promise<void>;
  /** Messages that wait for their turn or are in it. */
  readonly waiting: number;
  /** Takes in nothing more; resolves when the turns and deliveries under way are finished. What waits stays in the journal. */
  stop(): Promise<void>;
}

export interface RuntimeOptions {
  readonly journal: Journal;
  /** The first one leads every case where the settings have no library to choose from. */
  readonly flows: readonly Flow[];
  readonly settings: Settings;
  readonly now: () => number;
  /**
   * The machine's clock, as the journal has it, where `now` may be moved away from it: what waits for a platform, and
   * since when, goes by this one. Absent: the same.
   */
  readonly machine?: () => number;
  /** True once the clock was moved for a demonstration: timers then ring on that clock. */
  readonly moved: () => boolean;
  readonly adapters: readonly Adapter[];
  readonly notify: Notify;
  readonly cache?: Cache;
  readonly solve?: Solve;
  readonly chance?: () => number;
  /** Told of every turn that is kept. */
  readonly turned?: (after: Case, events: readonly Event[]) => void;
  /** What one person may send; absent: as much as they like. */
  readonly manners?: Manners;
  /** Messages that may wait at the same time, in all and in one thread. */
  readonly room?: { readonly all: number; readonly thread: number };
  /** The journal's: how long a claim counts, milliseconds. */
  readonly claimAge?: number;
  /** Called at the places where a crash would hurt most, by name: a test may end the process there. */
  readonly passing?: (point: string) => void;
}

/** Tries again when somebody else wrote first; more than this in a row is a bug, not bad luck. */
const tries = 20;
/** How often timers and the outbox are looked at, milliseconds. */
const beat = 1000;
/** Timers claimed at once. */
const handful = 256;
const room = { all: 1000, thread: 50 };
/** How often a thread is told that there is too much, milliseconds. */
const tellBusyEvery = 30_000;
const busyWords =
  'There is more to do here than I can answer just now. I did not take that in: please send it again in a minute.';

const slowerWords =
  'That was a lot at once, and I could not take this one in. Please wait a few seconds and send it again.';

export function createRuntime(options: RuntimeOptions): Runtime {
  const { journal, adapters, notify, now } = options;
  let inUse: Pick<RuntimeOptions, 'flows' | 'settings'> = options;
  const cache = options.cache ?? noCache;
  const chance = options.chance ?? Math.random;
  const space = options.room ?? room;
  const cases = liveCases(journal, cache);
  const plans = createPlans({ settings: options.settings, cache, solve: options.solve ?? solveHere, notify });
  const platforms = adapters.map(({ name }) => name);
  const rude = options.manners ? tooMuch(options.manners, options.machine ?? now) : () => false;
  /** The work under way in each thread: the next message waits for it. */
  const queues = new Map<string, { readonly last: Promise<unknown>; count: number }>();
  let waiting = 0;
  let stopped = false;
  const toldBusy = new Map<string, number>();

  const deliveries = createDeliveries({
    outbox: journal,
    adapters,
    now: options.machine ?? now,
    chance,
    notify,
    undeliverable,
    ...(options.claimAge === undefined ? {} : { claimAge: options.claimAge }),
    ...(options.passing ? { passing: options.passing } : {}),
  });

  /** One after the other within a thread; threads do not wait for each other. */
  function queued<T>(thread: string, work: () => Promise<T>): Promise<T> {
    const before = queues.get(thread);
    const turn = (before?.last ?? Promise.resolve()).then(work, work);
    const last = turn.catch(() => undefined);
    const entry = { last, count: (before?.count ?? 0) + 1 };
    queues.set(thread, entry);
    waiting += 1;
    void last.then(() => {
      waiting -= 1;
      const now = queues.get(thread);
      if (now?.last === last) queues.delete(thread);
      else if (now) now.count -= 1;
    });
    return turn;
  }

  async function receive(inbound: Inbound, answer?: (one: Answer) => void): Promise<Received> {
    const { thread } = inbound;
    if (stopped) return 'busy';
    if (rude(inbound)) {
      notify({ kind: 'turn', thread, inbound: inbound.kind, result: 'busy', took: 0 });
      answer?.({ kind: 'whisper', to: inbound.by.id, words: slowerWords });
      return 'busy';
    }
    if (waiting >= space.all || (queues.get(thread)?.count ?? 0) >= space.thread) {
      notify({ kind: 'turn', thread, inbound: inbound.kind, result: 'busy', took: 0 });
      tellBusy(inbound, answer);
      return 'busy';
    }
    return queued(thread, () => turn(inbound, answer));
  }

  async function turn(inbound: Inbound, answer?: (one: Answer) => void): Promise<Received> {
    const { thread } = inbound;
    const began = performance.now();
    const told = (result: 'taken' | 'seen'): Received => {
      notify({ kind: 'turn', thread, inbound: inbound.kind, result, took: performance.now() - began });
      return result;
    };
    try {
      for (let attempt = 0; attempt < tries; attempt++) {
        const live = await (attempt === 0 ? cases.known(thread) : cases.current(thread));
        const { kase } = live;
        const flow = flowOf(kase);
        const { events, outbound, after } = await plans.decided(
          flow,
          (given) => step(kase, inbound, flow, given),
          inUse.settings,
        );
        const privately = answer ? outbound.filter(isAnswer) : [];
        const appended = await journal.append({
          thread,
          inbound: inbound.id,
          after: kase.seq,
          events,
          outbound: answer ? outbound.filter((one) => !isAnswer(one)) : outbound,
          state: after.state,
          ...(inbound.kind === 'rang' ? { rung: inbound.key } : {}),
        });
        if (appended.kind === 'conflict') continue;
        if (appended.kind === 'seen') {
          deliveries.wake(thread);
          return told('seen');
        }
        for (const one of privately) answer?.(one);
        cases.moved(thread, { kase: after, mark: appended.mark ?? live.mark });
        options.turned?.(after, events);
        deliveries.hand(thread, appended);
        return told('taken');
      }
      throw new Error(`The case of thread ${thread} kept changing under this turn; it was not taken in.`);
    } catch (cause) {
      notify({ kind: 'turn-failed', thread, cause });
      throw cause;
    }
  }

  const gone = new Map<string, Flow>();
  function flowOf({ flow: id }: Case): Flow {
    const { flows, settings } = inUse;
    if (id === null) return libraryOf(settings) ? unchosen : (flows[0] as Flow);
    const flow = flows.find((one) => one.flow === id) ?? gone.get(id) ?? noGuide(id);
    if (flow.version === 0) gone.set(id, flow);
    return flow;
  }

  const desk = { id: 'desk', name: 'desk', roles: [] };
  const marked = () => (options.moved() ? { demonstration: true as const } : {});

  /** People look at a case in which something could not be said; a change to an old message is not worth it. */
  function undeliverable(thread: string, id: string, outbound: Outbound): void {
    if (['amend', 'bench', 'remind', 'unremind'].includes(outbound.kind)) return;
    queued(thread, () =>
      turn({
        kind: 'changed',
        what: 'undelivered',
        id: `undelivered:${id}`,
        thread,
        at: now(),
        by: desk,
        ...marked(),
      }),
    ).catch(() => undefined);
  }

  /** Outside the outbox, and not for sure: it is no part of the case. */
  function tellBusy({ thread, by, id }: Inbound, answer?: (one: Answer) => void): void {
    if (answer) {
      answer({ kind: 'whisper', to: by.id, words: busyWords });
      return;
    }
    const at = now();
    if (at - (toldBusy.get(thread) ?? 0) < tellBusyEvery) return;
    toldBusy.set(thread, at);
    if (toldBusy.size > space.all) toldBusy.delete(toldBusy.keys().next().value as string);
    adapters
      .find(({ name }) => name === platformOf(thread))
      ?.deliver({ id: `busy:${id}`, thread, outbound: { kind: 'whisper', to: by.id, words: busyWords } })
      .catch(() => undefined);
  }

  const rung = ({ thread, key, due }: Timer): Promise<unknown> =>
    queued(thread, () => {
      notify({ kind: 'timer', thread, late: Math.max(0, now() - due) });
      return turn({
        kind: 'rang',
        id: `rang:${key}:${due}`,
        thread,
        key,
        // A clock set back meanwhile does not make it early: it was due.
        at: Math.max(now(), due),
        by: desk,
        ...marked(),
      });
    });

  /** Until none is due, a handful at a time, as far as there is room: people come first. A thread that fails holds up no other. */
  async function ring(): Promise<void> {
    for (;;) {
      const limit = Math.min(handful, space.all - waiting);
      if (limit <= 0 || stopped) return;
      const timers = await journal.claim({ now: now(), platforms, limit });
      const results = await Promise.allSettled(timers.map(rung));
      for (const one of results) if (one.status === 'rejected') throw one.reason;
      if (timers.length < limit) return;
    }
  }

  let ringing = false;
  let polling = false;
  const failed =
    (what: string) =>
    (cause: unknown): void =>
      notify({ kind: 'problem', what, cause });

  const timer = setInterval(() => {
    if (!ringing) {
      ringing = true;
      ring()
        .catch(failed('Timers could not be rung'))
        .finally(() => {
          ringing = false;
        });
    }
    if (!polling) {
      polling = true;
      deliveries
        .poll()
        .catch(failed('The outbox could not be read'))
        .finally(() => {
          polling = false;
        });
    }
  }, beat);
  timer.unref();

  async function idle(): Promise<void> {
    do {
      await Promise.all([...queues.values()].map(({ last }) => last));
      await deliveries.idle();
    } while (queues.size > 0);
  }

  return {
    receive,
    ring,
    flowOf,
    use({ flows, settings }) {
      inUse = { flows, settings };
    },
    wake: (thread) => deliveries.wake(thread),
    caseOf: async (thread) => (await cases.current(thread)).kase,
    forgetCached: (thread) => cases.drop(thread),
    idle,
    get waiting() {
      return waiting;
    },
    async stop() {
      stopped = true;
      clearInterval(timer);
      await Promise.all([...queues.values()].map(({ last }) => last));
      await deliveries.stop();
    },
  };
}

/** What is for one person, at once. */
const isAnswer = (outbound: Outbound): outbound is Answer =>
  outbound.kind === 'whisper' || outbound.kind === 'form';
