import type { Delivery, Received } from '../../shared/adapter.ts';
import type { Inbound } from '../../shared/inbound.ts';
import type { Place } from '../../src/journal/open-journal.ts';

/** What the world and a desk tell each other, and where a desk may die. */

/** Calls of `passing` in the program, in the order in which a message meets them. */
export const points = [
  'key:before',
  'key:after',
  'write:before',
  'write:within',
  'write:after',
  'take:before',
  'take:after',
  'claim:before',
  'claim:after',
  'send:before',
  'send:after',
  'mark:after',
] as const;
export type Point = (typeof points)[number];

export type ToDesk =
  | {
      readonly kind: 'open';
      readonly journal: Place;
      readonly keys: Place;
      readonly claimAge: number;
      /** How far the desk's clock is ahead of the machine's, milliseconds. */
      readonly ahead: number;
    }
  /** Die at the `pass`-th time that this point is passed from now on. */
  | { readonly kind: 'die'; readonly at: Point; readonly pass: number }
  | { readonly kind: 'clock'; readonly ahead: number }
  | { readonly kind: 'inbound'; readonly inbound: Inbound }
  | { readonly kind: 'posted'; readonly call: number; readonly reference: string }
  | {
      readonly kind: 'not-posted';
      readonly call: number;
      readonly code: 'away' | 'slow-down';
      readonly after: number;
    }
  | { readonly kind: 'tell'; readonly threads: readonly string[] };

export type FromDesk =
  | { readonly kind: 'loaded' }
  | { readonly kind: 'opened' }
  | {
      readonly kind: 'received';
      readonly id: string;
      readonly thread: string;
      readonly result: Received | 'failed';
    }
  | { readonly kind: 'deliver'; readonly call: number; readonly delivery: Delivery }
  /** Cases as JSON text. */
  | {
      readonly kind: 'told';
      readonly cases: readonly { readonly thread: string; readonly text: string }[];
    }
  | { readonly kind: 'problem'; readonly what: string };

export const platform = 'crash';

/** A desk's exit code when its database could not be opened. */
export const notOpened = 3;
