import type { Unnumbered } from '../../shared/case.ts';
import type { Outbound } from '../../shared/outbound.ts';

/** Who did something, when, and on which clock: the stamp of every event. */
export interface Who {
  readonly by: string;
  readonly at: number;
  readonly demonstration?: true;
}

/** Who the desk itself is, in events and in what it tells itself. Nobody else counts under that name. */
export const deskId = 'desk';

/** What an inbound message amounts to. */
export interface Turn {
  readonly events: readonly Unnumbered[];
  readonly outbound: readonly Outbound[];
}

export const turn = (events: readonly Unnumbered[], ...outbound: readonly Outbound[]): Turn => ({
  events,
  outbound,
});

export const say = (words: string, list?: readonly string[]): Outbound => ({
  kind: 'say',
  words,
  ...(list && list.length > 0 ? { list: [...list] } : {}),
});
