import { deskId } from '../core/turn.ts';
import type { Journal } from '../journal/journal.ts';
import { happen } from './again.ts';

export interface Sweep {
  /** Milliseconds. */
  readonly now: number;
  /** A settled case keeps its words so long after its last event. */
  readonly days: number;
  /** At most so many cases at once. */
  readonly limit: number;
  /** Removes the snapshot of a case from the cache; one that stays there expires by itself. */
  readonly forgetCached?: (thread: string) => Promise<unknown>;
  /** Told of a case that could not be swept; the others are. */
  readonly report?: (problem: string) => void;
}

const day = 24 * 60 * 60_000;

/**
 * Takes the words out of settled cases that are old enough, a few at a time; whoever calls decides when, and calls again
 * while it resolves to `limit`. Resolves to how many there were.
 */
export async function sweep(journal: Journal, options: Sweep): Promise<number> {
  const { now, days, limit, forgetCached, report = () => undefined } = options;
  const before = now - days * day;
  let swept = 0;
  for (const thread of await journal.wordsOlderThan(before, limit)) {
    try {
      const { mark } = await journal.read(thread);
      const done = await happen(journal, thread, `retention:${mark?.seq ?? 0}`, (kase) => {
        // Taken up again, or written in, since it was looked up.
        return kase.state === 'settled' && kase.seq === mark?.seq
          ? { kind: 'forgotten', by: deskId, at: now }
          : null;
      });
      if (!done) continue;
      swept += 1;
      await forgetCached?.(thread);
    } catch (cause) {
      report(`Thread ${thread} keeps its words: ${cause instanceof Error ? cause.message : String(cause)}`);
    }
  }
  return swept;
}
