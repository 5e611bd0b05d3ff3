import type { Abilities } from '../../shared/adapter.ts';

/** How fast a platform lets messages pass: its declared pace, and the pauses it asks for. */
export interface Pace {
  /**
   * How long the next message of this thread has to wait, milliseconds. Counts it as sent then, unless that is longer than
   * `most`: whoever does not wait so long takes nobody's place.
   */
  wait(thread: string, now: number, most?: number): number;
  /** Nothing passes until then: in one thread, or, with null, at all. */
  pause(thread: string | null, until: number): void;
}

/** Threads whose pace is remembered. */
const most = 10_000;

export function createPace(pace: Abilities['pace'] = {}): Pace {
  const gapInAll = pace.all ? 1000 / pace.all : 0;
  const gapInThread = pace.thread ? 1000 / pace.thread : 0;
  let next = 0;
  const nextIn = new Map<string, number>();
  const set = (thread: string, at: number): void => {
    nextIn.delete(thread);
    nextIn.set(thread, at);
    if (nextIn.size > most) nextIn.delete(nextIn.keys().next().value as string);
  };

  return {
    wait(thread, now, longest = Number.POSITIVE_INFINITY) {
      const at = Math.max(now, next, nextIn.get(thread) ?? 0);
      if (at - now > longest) return at - now;
      // A thread that waits for its own turn holds up nobody else.
      if (gapInAll > 0) next = Math.max(now, next) + gapInAll;
      if (gapInThread > 0) set(thread, at + gapInThread);
      return at - now;
    },
    pause(thread, until) {
      if (thread === null) next = Math.max(next, until);
      else set(thread, Math.max(nextIn.get(thread) ?? 0, until));
    },
  };
}
