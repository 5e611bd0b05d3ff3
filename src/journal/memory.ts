import type { CaseState, Event } from '../../shared/case.ts';
import { keyOf } from '../../shared/outbound.ts';
import { personal, withoutPersonal } from '../core/personal.ts';
import { claimAge, type Journal, type Mark, platformOf, type Waiting } from './journal.ts';
import { timersOf } from './turn-timers.ts';

interface Kept {
  readonly event: Event;
  readonly id: string;
}

interface Message extends Waiting {
  readonly n: number;
  readonly next: number;
  readonly aside: boolean;
}

interface Log {
  events: readonly Kept[];
  messages: readonly Message[];
  sent: number;
  state: CaseState;
  readonly seen: Set<string>;
  readonly timers: Map<string, { readonly due: number; claimedUntil: number }>;
  /** References of questions, by key. */
  readonly references: Map<string, string>;
  readonly keyOf: Map<string, string>;
  lease: { readonly owner: string; readonly until: number } | null;
}

/** What several instances in one process share. */
export interface MemoryStore {
  readonly logs: Map<string, Log>;
}
export const memoryStore = (): MemoryStore => ({ logs: new Map() });

/** A journal that lives as long as the program: for tests and demonstrations. */
export function memoryJournal(
  options: { readonly store?: MemoryStore; readonly owner?: string; readonly now?: () => number } = {},
): Journal {
  const { logs } = options.store ?? memoryStore();
  const owner = options.owner ?? 'one';
  const now = options.now ?? Date.now;

  const logOf = (thread: string): Log => {
    const log = logs.get(thread) ?? {
      events: [],
      messages: [],
      sent: 0,
      state: 'asking',
      seen: new Set(),
      timers: new Map(),
      references: new Map(),
      keyOf: new Map(),
      lease: null,
    };
    logs.set(thread, log);
    return log;
  };
  const markOf = (kept: Kept | undefined): Mark | null =>
    kept ? { seq: kept.event.seq, id: kept.id } : null;
  const mine = ({ lease }: Log): boolean => lease === null || lease.owner === owner || lease.until < now();
  const lease = (): { owner: string; until: number } => ({ owner, until: now() + claimAge });
  const logWith = (id: string): Log | undefined =>
    [...logs.values()].find(({ messages }) => messages.some((message) => message.id === id));
  const change = (id: string, changed: Partial<Message>): void => {
    const log = logWith(id);
    if (log)
      log.messages = log.messages.map((message) =>
        message.id === id ? { ...message, ...changed } : message,
      );
  };
  const waitingIn = ({ messages }: Log): Message[] => messages.filter(({ aside }) => !aside);
  const redact = (thread: Log, which: (event: Event) => boolean): void => {
    thread.events = thread.events.map((kept) =>
      which(kept.event) ? { ...kept, event: withoutPersonal(kept.event) } : kept,
    );
  };

  return {
    async read(thread, after) {
      const events = logs.get(thread)?.events ?? [];
      const at = after ? events.findIndex(({ id }) => id === after.id) : -1;
      return {
        from: at < 0 ? 0 : (after?.seq ?? 0),
        events: events.slice(at + 1).map(({ event }) => event),
        mark: markOf(events.at(-1)),
      };
    },
    async append(turn) {
      const { thread, inbound, after, events, outbound, state } = turn;
      const log = logOf(thread);
      if (log.seen.has(inbound)) return { kind: 'seen' };
      if ((log.events.at(-1)?.event.seq ?? 0) !== after) return { kind: 'conflict' };
      log.seen.add(inbound);
      log.state = state;
      log.events = [
        ...log.events,
        ...events.map((event) => ({
          event,
          id: `${JSON.stringify([thread, event.seq])} ${crypto.randomUUID()}`,
        })),
      ];
      const behind = waitingIn(log).length > 0;
      const messages = outbound.map((one, i): Message => {
        const n = log.sent + 1 + i;
        const id = JSON.stringify([thread, n]);
        const key = keyOf(one);
        if (key !== null) log.keyOf.set(id, key);
        return { id, outbound: one, tries: 0, since: now(), n, next: 0, aside: false };
      });
      log.sent += messages.length;
      log.messages = [...log.messages, ...messages];
      for (const [key, due] of timersOf(turn)) {
        if (due === null) log.timers.delete(key);
        else log.timers.set(key, { due, claimedUntil: 0 });
      }
      const ours = mine(log);
      if (ours && messages.length > 0) log.lease = lease();
      for (const event of events)
        if (event.kind === 'forgotten') {
          redact(log, () => true);
          log.messages = waitingIn(log);
        }
      return {
        kind: 'done',
        mark: markOf(log.events.at(-1)),
        messages: messages.map(plain),
        mine: ours,
        behind,
      };
    },

    async take(thread) {
      const log = logs.get(thread);
      if (!log) return [];
      if (!mine(log)) return null;
      log.lease = lease();
      return waitingIn(log).map(plain);
    },
    async release(thread) {
      const log = logs.get(thread);
      if (log?.lease?.owner === owner) log.lease = null;
    },
    async waiting({ now: at, platforms, limit }) {
      return [...logs]
        .filter(([thread, log]) => {
          const [first] = waitingIn(log);
          return first && first.next <= at && mine(log) && platforms.includes(platformOf(thread));
        })
        .map(([thread]) => thread)
        .slice(0, limit);
    },
    async delivered(id, reference) {
      const log = logWith(id);
      if (!log) return;
      const key = log.keyOf.get(id);
      if (key !== undefined) log.references.set(key, reference);
      log.messages = log.messages.filter((message) => message.id !== id);
    },
    async failed(id, tries, next) {
      change(id, { tries, next });
    },
    async setAside(id) {
      change(id, { aside: true });
    },
    async reference(thread, key) {
      return logs.get(thread)?.references.get(key) ?? null;
    },
    async backlog() {
      const all = [...logs.values()].flatMap(({ messages }) => messages);
      const waiting = all.filter(({ aside }) => !aside);
      return {
        waiting: waiting.length,
        oldest: waiting.length === 0 ? null : Math.min(...waiting.map(({ since }) => since)),
        setAside: all.length - waiting.length,
      };
    },

    async claim({ now: at, platforms, limit }) {
      const due = [...logs]
        .filter(([thread]) => platforms.includes(platformOf(thread)))
        .flatMap(([thread, { timers }]) => [...timers].map(([key, timer]) => ({ thread, key, timer })))
        .filter(({ timer }) => timer.due <= at && timer.claimedUntil < now())
        .sort((a, b) => a.timer.due - b.timer.due)
        .slice(0, limit);
      return due.map(({ thread, key, timer }) => {
        timer.claimedUntil = now() + claimAge;
        return { thread, key, due: timer.due };
      });
    },
    async latest(place) {
      const found = [...logs].findLast(
        ([thread, { events }]) => events.length > 0 && (thread === place || thread.startsWith(`${place}/`)),
      );
      return found ? { thread: found[0], settled: found[1].state === 'settled' } : null;
    },
    async withPeople(platform, limit) {
      return [...logs]
        .filter(([thread, { state }]) => state === 'with people' && platformOf(thread) === platform)
        .map(([thread]) => thread)
        .slice(0, limit);
    },
    async settled(after, limit) {
      return [...logs]
        .map(([thread, { state, events }], i) => ({ thread, state, events, mark: i + 1 }))
        .filter(({ state, mark }) => state === 'settled' && mark > (after ?? 0))
        .slice(0, limit)
        .map(({ thread, mark, events }) => ({
          thread,
          mark,
          events: events.map(({ event }) => withoutPersonal(event)),
        }));
    },
    async nextDue() {
      const all = [...logs.values()].flatMap(({ timers }) => [...timers.values()].map(({ due }) => due));
      return all.length === 0 ? null : Math.min(...all);
    },

    async threadsOf(person) {
      return [...logs]
        .filter(([, { events }]) => events.some(({ event }) => holdsWordsOf(event, person)))
        .map(([thread]) => thread);
    },
    async takenIn(prefix) {
      return [...logs]
        .filter(([, { seen }]) => [...seen].some((inbound) => inbound.startsWith(prefix)))
        .map(([thread]) => thread);
    },
    async forget(person) {
      for (const log of logs.values()) {
        if (log.events.some(({ event }) => holdsWordsOf(event, person))) log.messages = waitingIn(log);
        redact(log, (event) => personal(event)?.person === person);
      }
    },
    async wordsOlderThan(before, limit) {
      return [...logs]
        .filter(
          ([, { events, state }]) =>
            state === 'settled' &&
            (events.at(-1)?.event.at ?? 0) < before &&
            events.some(({ event }) => JSON.stringify(event) !== JSON.stringify(withoutPersonal(event))),
        )
        .map(([thread]) => thread)
        .slice(0, limit);
    },
    async close() {
      for (const log of logs.values()) if (log.lease?.owner === owner) log.lease = null;
    },
  };
}

const holdsWordsOf = (event: Event, person: string): boolean =>
  personal(event)?.person === person && JSON.stringify(event) !== JSON.stringify(withoutPersonal(event));

const plain = ({ id, outbound, tries, since }: Message): Waiting => ({ id, outbound, tries, since });
