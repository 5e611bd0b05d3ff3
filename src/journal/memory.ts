import type { Event } from '../../shared/case.ts';
import type { Journal, Timer, Waiting } from './journal.ts';

/** A journal that lives as long as the program: for tests and the terminal. */
export function memoryJournal(): Journal {
  const events = new Map<string, Event[]>();
  const outbox = new Map<string, Map<string, Waiting>>();
  const timers = new Map<string, Timer>();
  const seen = new Set<string>();
  const timerId = (thread: string, key: string): string => JSON.stringify([thread, key]);

  return {
    async read(thread) {
      return [...(events.get(thread) ?? [])];
    },
    async append({ thread, inbound, after, events: fresh, outbound, rung }) {
      const inboundId = JSON.stringify([thread, inbound]);
      if (seen.has(inboundId)) return 'seen';
      const log = events.get(thread) ?? [];
      if ((log.at(-1)?.seq ?? 0) !== after) return 'conflict';
      seen.add(inboundId);
      events.set(thread, [...log, ...fresh]);
      const waiting = outbox.get(thread) ?? new Map<string, Waiting>();
      outbox.set(thread, waiting);
      if (rung !== undefined) timers.delete(timerId(thread, rung));
      outbound.forEach((one, i) => {
        const id = JSON.stringify([thread, inbound, i]);
        waiting.set(id, { id, outbound: one });
        if (one.kind === 'remind')
          timers.set(timerId(thread, one.key), { thread, key: one.key, due: one.due });
        if (one.kind === 'unremind') timers.delete(timerId(thread, one.key));
      });
      return 'done';
    },
    async undelivered(thread) {
      return [...(outbox.get(thread)?.values() ?? [])];
    },
    async delivered(id) {
      for (const waiting of outbox.values()) waiting.delete(id);
    },
    async due(now) {
      return [...timers.values()].filter((timer) => timer.due <= now).sort((a, b) => a.due - b.due);
    },
    async nextDue() {
      const all = [...timers.values()].map((timer) => timer.due);
      return all.length === 0 ? null : Math.min(...all);
    },
  };
}
