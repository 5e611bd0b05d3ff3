import type { Case, Event } from '../../shared/case.ts';
import type { Flow } from '../../shared/flow.ts';
import type { Inbound } from '../../shared/inbound.ts';
import type { Outbound } from '../../shared/outbound.ts';
import { emptyCase, fold } from '../../src/core/reduce.ts';
import type { Settings } from '../../src/core/settings.ts';
import { step } from '../../src/core/step.ts';

/**
 * A case told once more by the core alone: its events and messages are exactly what its inbound messages make, each taken
 * once, in some order. Whatever was doubled, lost or mixed up on the way leaves no such order.
 */
export interface Story {
  readonly thread: string;
  /** Found soonest where they stand in the order in which they were taken in; any order will do. */
  readonly inbounds: readonly Inbound[];
  readonly events: readonly Event[];
  readonly messages: readonly Outbound[];
}

/** Turns tried for one case before it is given up as untellable. */
const patience = 20_000;

/** Null when it can be told; else how far it went. */
export function retell(
  { thread, inbounds, events, messages }: Story,
  flow: Flow,
  settings: Settings,
): string | null {
  const wantedEvents = events.map((event) => JSON.stringify(event));
  const wantedMessages = messages.map((message) => JSON.stringify(message));
  /** Places from which, with what was left there, no way leads on. */
  const hopeless = new Set<string>();
  let tried = 0;
  let furthest = { told: 0, words: 'nothing of it' };

  interface Place {
    readonly kase: Case;
    /** Events and messages told so far. */
    readonly e: number;
    readonly m: number;
  }

  /** Where this message leads from here; null when it tells something else than what happened. */
  function after({ kase, e, m }: Place, inbound: Inbound): Place | null {
    tried += 1;
    const turn = step(kase, inbound, flow, settings);
    const fits =
      turn.events.every((event, i) => JSON.stringify(event) === wantedEvents[e + i]) &&
      turn.outbound.every((one, i) => JSON.stringify(one) === wantedMessages[m + i]);
    return fits
      ? { kase: fold(kase, turn.events), e: e + turn.events.length, m: m + turn.outbound.length }
      : null;
  }

  /** Of a timer it is not known when it rang: at the time of the next event, if it left one. */
  const attempts = (inbound: Inbound, e: number): Inbound[] => {
    const next = events[e]?.at;
    return inbound.kind === 'rang' && next !== undefined && next > inbound.at
      ? [{ ...inbound, at: next }, inbound]
      : [inbound];
  };

  /** A turn that changes and says nothing may have been anywhere. */
  const silent = (inbound: Inbound, visited: readonly Place[]): boolean =>
    visited.some((place) => {
      const to = after(place, inbound);
      return to !== null && to.e === place.e && to.m === place.m;
    });

  function follow(visited: readonly Place[], left: readonly Inbound[]): boolean {
    const place = visited.at(-1) as Place;
    if (place.e + place.m > furthest.told)
      furthest = {
        told: place.e + place.m,
        words: `${place.e} of ${events.length} events and ${place.m} of ${messages.length} messages; next would be ${
          wantedEvents[place.e]?.slice(0, 300) ?? 'no event'
        } and ${wantedMessages[place.m]?.slice(0, 300) ?? 'no message'}`,
      };
    if (place.e === events.length && place.m === messages.length) {
      const useless = left.filter((inbound) => !silent(inbound, visited));
      if (useless.length === 0) return true;
      furthest = {
        told: Number.MAX_SAFE_INTEGER,
        words: `all of it without ${useless.map(({ id }) => id).join(', ')}`,
      };
      return false;
    }
    const here = `${place.e} ${place.m} ${left.map(({ id }) => id).join(' ')}`;
    if (hopeless.has(here)) return false;
    for (const inbound of left) {
      for (const attempt of attempts(inbound, place.e)) {
        if (tried > patience) return false;
        const to = after(place, attempt);
        if (to === null || (to.e === place.e && to.m === place.m)) continue;
        if (
          follow(
            [...visited, to],
            left.filter((one) => one !== inbound),
          )
        )
          return true;
      }
    }
    hopeless.add(here);
    return false;
  }

  return follow([{ kase: emptyCase(thread), e: 0, m: 0 }], inbounds)
    ? null
    : `${thread}: its ${inbounds.length} messages do not tell it; they tell ${furthest.words}`;
}
