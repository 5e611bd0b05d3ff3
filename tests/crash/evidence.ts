import type { Case, Event } from '../../shared/case.ts';
import type { Inbound } from '../../shared/inbound.ts';
import type { Outbound } from '../../shared/outbound.ts';

/** What is known at the end of a run: the world's own record, and what stands in the database, read from outside. */
export interface Evidence {
  readonly sent: readonly Sent[];
  /** In the order in which they reached the platform. */
  readonly posts: readonly Post[];
  readonly ends: readonly End[];
  /** When the database was away, by the machine's clock. */
  readonly outages: readonly { readonly from: number; readonly to: number }[];
  readonly cases: readonly CaseRow[];
  readonly turns: readonly { readonly thread: string; readonly inbound: string }[];
  /** The numbers of the events, as they stand in the table. */
  readonly numbers: readonly { readonly thread: string; readonly seq: number }[];
  /** The events, as the journal reads them. */
  readonly events: ReadonlyMap<string, readonly Event[]>;
  readonly outbox: readonly { readonly id: string; readonly state: 'waiting' | 'set aside' }[];
  readonly timers: readonly { readonly thread: string; readonly key: string; readonly due: number }[];
  /** Each case as the last desk told it, as JSON text. */
  readonly told: ReadonlyMap<string, string>;
  readonly snapshots: ReadonlyMap<string, Snapshot>;
}

/** An asker's message, and what the desks said to it each time it was sent. */
export interface Sent {
  readonly inbound: Inbound;
  readonly answers: readonly ('taken' | 'seen')[];
}

/** A message that reached the platform. */
export interface Post {
  readonly id: string;
  readonly thread: string;
  readonly outbound: Outbound;
  readonly amends?: string;
  /** By the desk's clock, and by the machine's. */
  readonly at: number;
  readonly real: number;
  /** Number of the desk that sent it. */
  readonly desk: number;
  /** What it was told: the message's name on the platform, or that it could not be posted; null: nothing. */
  readonly answer: { readonly reference: string | null; readonly real: number } | null;
}

/** A desk's end, by the machine's clock; in order, or in the midst of whatever it did. */
export interface End {
  readonly desk: number;
  readonly real: number;
  readonly inOrder: boolean;
}

export interface CaseRow {
  readonly id: number;
  readonly thread: string;
  readonly seq: number;
  readonly sent: number;
}

/** A case as it stood in the cache, and what the journal has after it. */
export interface Snapshot {
  readonly kase: Case;
  readonly from: number;
  readonly after: readonly Event[];
}
