import { type Adapter, DeliveryFailure } from '../../shared/adapter.ts';
import { changes, keyOf, type Outbound } from '../../shared/outbound.ts';
import { boundedMap } from '../cache/bounded-map.ts';
import {
  type Appended,
  type Outbox,
  platformOf,
  claimAge as usualClaimAge,
  type Waiting,
} from '../journal/journal.ts';
import type { Notify } from '../notice.ts';
import { createPace, type Pace } from './pace.ts';

/**
 * Brings what the journal's outbox holds to the platforms: in order within a thread, each thread by itself, again and again
 * until it is posted or set aside. It never rejects for what a platform does.
 */
export interface Deliveries {
  /** What a turn has just written. */
  hand(thread: string, written: Extract<Appended, { kind: 'done' }>): void;
  /** Looks in the journal for what waits in a thread. */
  wake(thread: string): void;
  /** Looks for threads in which something waits and nobody delivers: after a restart, a failure, another's death. */
  poll(): Promise<void>;
  /** Resolves when nothing is under way. What failed and waits for its next try does not count. */
  idle(): Promise<void>;
  /** Finishes the messages under way and takes no more. */
  stop(): Promise<void>;
}

export interface DeliveryOptions {
  readonly outbox: Outbox;
  readonly adapters: readonly Adapter[];
  /** The machine's clock, as the journal has it. */
  readonly now: () => number;
  /** A number from 0 to 1, for what must not happen to all at the same moment. */
  readonly chance: () => number;
  readonly notify: Notify;
  /** Told of a message that was set aside, so that people look at its case. */
  readonly undeliverable: (thread: string, id: string, outbound: Outbound) => void;
  /** The journal's: how long a claim counts, milliseconds. */
  readonly claimAge?: number;
  readonly passing?: (point: string) => void;
}

/** Tries that count before a message is set aside; fewer where the platform says no. */
const triesAtMost = 8;
const triesWhenRefused = 3;
/** A message that nobody could be given for so long is set aside, whatever the reason. */
const ageAtMost = 24 * 60 * 60_000;
/**
 * Shares of the time that a claim on a thread holds. A platform that has not answered by then counts as away; and a claim
 * older than this is renewed before something is posted. Together less than the whole.
 */
const answerShare = 0.8;
const freshShare = 0.15;
const firstWait = 1000;
const longestWait = 60_000;
/** Another instance delivers in this thread: it is looked at again after this. */
const othersWait = 150;
/** References of messages posted lately. */
const recentAtMost = 5000;

interface Pump {
  queue: Waiting[];
  /** The claim on the thread holds from then. */
  since: number;
  /** Something may wait that the queue does not know of, and that comes first: another instance wrote it. */
  stale: boolean;
}

export function createDeliveries(options: DeliveryOptions): Deliveries {
  const { outbox, now, chance, notify, claimAge = usualClaimAge, passing = () => undefined } = options;
  const answerWithin = answerShare * claimAge;
  const adapters = new Map(options.adapters.map((adapter) => [adapter.name, adapter]));
  const paces = new Map(options.adapters.map(({ name, abilities }) => [name, createPace(abilities.pace)]));
  const platforms = [...adapters.keys()];
  const pumps = new Map<string, Pump>();
  const running = new Set<Promise<void>>();
  /** Threads whose oldest message failed: how often in a row, and when it is tried again. */
  const failing = new Map<string, { readonly failures: number; readonly until: number }>();
  const retries = new Map<string, NodeJS.Timeout>();
  /** References by message, and by question. */
  const posted = boundedMap<string>(recentAtMost);
  const recent = boundedMap<string>(recentAtMost);
  let stopped = false;

  function newPump(thread: string): Pump {
    const pump: Pump = { queue: [], since: now(), stale: false };
    pumps.set(thread, pump);
    return pump;
  }

  function track(work: Promise<void>): void {
    const settled = work
      .catch((cause) => notify({ kind: 'problem', what: 'A delivery failed inside', cause }))
      .finally(() => running.delete(settled));
    running.add(settled);
  }

  async function run(thread: string, pump: Pump): Promise<void> {
    const end = (): void => {
      if (pumps.get(thread) === pump) pumps.delete(thread);
    };
    try {
      while (pump.queue.length > 0 && !stopped) {
        const after = await next(thread, pump);
        if (after !== null) {
          end();
          later(thread, after);
          return;
        }
      }
      // Before the thread is given back: what is handed over from now on begins anew.
      end();
      await outbox.release(thread);
    } catch (cause) {
      end();
      later(thread, firstWait);
      throw cause;
    }
  }

  /** Posts the oldest message. Null when the thread can go on, else how long to wait. */
  async function next(thread: string, pump: Pump): Promise<number | null> {
    const platform = platformOf(thread);
    const adapter = adapters.get(platform);
    const pace = paces.get(platform);
    if (!adapter || !pace) return longestWait;
    const longest = claimAge / 3;
    const wait = pace.wait(thread, now(), longest);
    // Longer than the claim on the thread holds: it is given back meanwhile.
    if (wait > longest) return wait;
    if (wait > 0) await sleep(wait);
    // The claim has to hold until the platform has answered, or another instance would post the same.
    if (pump.stale || now() - pump.since > freshShare * claimAge) {
      if (!(await renewed(thread, pump))) return othersWait;
      if (pump.stale) return null;
    }
    const [message] = pump.queue;
    if (!message) return null;
    // A turn's own hand-over may come after it was read from the journal and posted.
    const known = posted.get(message.id);
    const after =
      known === undefined
        ? await post(thread, message, adapter, pace)
        : await outbox.delivered(message.id, known).then(() => null);
    if (after === null) pump.queue.shift();
    return after;
  }

  /** The journal says whether the claim on the thread can be held on to, and what waits. */
  async function renewed(thread: string, pump: Pump): Promise<boolean> {
    const since = now();
    pump.stale = false;
    const before = new Set(pump.queue);
    const waiting = await outbox.take(thread);
    if (waiting === null) return false;
    // What was handed over since the journal was asked stands behind.
    const newer = pump.queue.filter((message) => !before.has(message));
    const read = new Set(waiting.map(({ id }) => id));
    pump.queue = [...waiting, ...newer.filter(({ id }) => !read.has(id))];
    pump.since = since;
    return true;
  }

  /** Null when the thread can go on with the next message, else how long to wait. */
  async function post(
    thread: string,
    message: Waiting,
    adapter: Adapter,
    pace: Pace,
  ): Promise<number | null> {
    const { id, outbound } = message;
    try {
      const changed = changes(outbound);
      const amends = changed === null ? null : await referenceOf(thread, changed);
      passing('send:before');
      const reference = await answered(
        // Where there was nothing to post, there is nothing to change.
        adapter.deliver({ id, thread, outbound, ...(amends ? { amends } : {}) }),
        answerWithin,
      );
      passing('send:after');
      failing.delete(thread);
      posted.set(id, reference);
      const key = keyOf(outbound);
      if (key !== null) recent.set(recentKey(thread, key), reference);
      await outbox.delivered(id, reference);
      passing('mark:after');
      notify({ kind: 'delivered', thread, outbound: outbound.kind, waited: now() - message.since });
      return null;
    } catch (cause) {
      return failed(thread, message, cause, pace);
    }
  }

  async function failed(
    thread: string,
    message: Waiting,
    cause: unknown,
    pace: Pace,
  ): Promise<number | null> {
    const { id, outbound } = message;
    const code = codeOf(cause);
    if (cause instanceof DeliveryFailure && code === 'slow-down') {
      pace.pause(cause.scope === 'thread' ? thread : null, now() + cause.after);
      await outbox.failed(id, message.tries, now() + cause.after);
      return cause.after;
    }
    const tries = message.tries + (code === 'away' ? 0 : 1);
    const most = code === 'refused' ? triesWhenRefused : triesAtMost;
    if (tries >= most || now() - message.since > ageAtMost) {
      await outbox.setAside(id, code);
      failing.delete(thread);
      notify({ kind: 'set-aside', thread, message: id, outbound: outbound.kind, cause });
      options.undeliverable(thread, id, outbound);
      return null;
    }
    const failures = (failing.get(thread)?.failures ?? 0) + 1;
    const wait = Math.min(longestWait, firstWait * 2 ** (failures - 1)) * (0.5 + chance());
    failing.set(thread, { failures, until: now() + wait });
    await outbox.failed(id, tries, now() + wait);
    notify({ kind: 'delivery-failed', thread, message: id, tries, again: wait, cause });
    return wait;
  }

  async function referenceOf(thread: string, key: string): Promise<string | null> {
    return recent.get(recentKey(thread, key)) ?? outbox.reference(thread, key);
  }

  /** Gives the thread back and looks at it again after `wait` milliseconds, if no poll of any instance does before. */
  function later(thread: string, wait: number): void {
    track(outbox.release(thread));
    if (stopped) return;
    clearTimeout(retries.get(thread));
    const timer = setTimeout(() => {
      retries.delete(thread);
      wake(thread);
    }, wait);
    timer.unref();
    retries.set(thread, timer);
  }

  function wake(thread: string): void {
    if (stopped || pumps.has(thread) || !adapters.has(platformOf(thread))) return;
    const pump = newPump(thread);
    track(
      (async () => {
        const taken = await renewed(thread, pump).catch((cause) => {
          pumps.delete(thread);
          later(thread, firstWait);
          throw cause;
        });
        if (!taken) {
          pumps.delete(thread);
          later(thread, othersWait);
          return;
        }
        await run(thread, pump);
      })(),
    );
  }

  return {
    hand(thread, { messages, mine, behind }) {
      if (messages.length === 0 || stopped || !adapters.has(platformOf(thread))) return;
      const pump = pumps.get(thread);
      if (pump && mine) {
        pump.queue.push(...messages);
        if (behind) pump.stale = true;
      }
      // It comes in its turn, when what is before it is tried again.
      else if (retries.has(thread) && failing.has(thread)) return;
      else if (mine && !behind) {
        const fresh = newPump(thread);
        fresh.queue.push(...messages);
        track(run(thread, fresh));
      } else if (mine) wake(thread);
      else later(thread, othersWait);
    },
    wake,
    async poll() {
      if (stopped) return;
      for (const thread of await outbox.waiting({ now: now(), platforms, limit: 200 })) {
        if ((failing.get(thread)?.until ?? 0) <= now()) wake(thread);
      }
    },
    async idle() {
      while (running.size > 0) await Promise.all(running);
    },
    async stop() {
      stopped = true;
      for (const timer of retries.values()) clearTimeout(timer);
      retries.clear();
      while (running.size > 0) await Promise.all(running);
    },
  };
}

const recentKey = (thread: string, key: string): string => JSON.stringify([thread, key]);

const sleep = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));

/** What did not answer in time may have been posted all the same: it goes out again under the same id. */
function answered(delivery: Promise<string>, within: number): Promise<string> {
  return new Promise((resolve, reject) => {
    const timer = setTimeout(
      () => reject(new DeliveryFailure('away', 'The platform did not answer in time.')),
      within,
    );
    delivery.then(resolve, reject).finally(() => clearTimeout(timer));
  });
}

/** Errors of the network are nobody's fault and count as no try of the message. */
function codeOf(cause: unknown): DeliveryFailure['code'] | 'unknown' {
  if (cause instanceof DeliveryFailure) return cause.code;
  const code = (cause as { code?: unknown } | null)?.code;
  return typeof code === 'string' && /^(E(CONN|PIPE|TIMEDOUT|HOST|NET|AI_)|UND_ERR)/.test(code)
    ? 'away'
    : 'unknown';
}
