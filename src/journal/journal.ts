import type { Event } from '../../shared/case.ts';
import type { Outbound } from '../../shared/outbound.ts';

/** The port of the journal: what happened, kept; the truth from which a case is rebuilt. */
export interface Journal {
  /** Every event of a thread's case, in order; empty for a thread nobody has written in. */
  read(thread: string): Promise<readonly Event[]>;
  /**
   * One turn, all of it or nothing: its events, its messages on their way out, its timers. `seen`: this inbound was
   * taken in before. `conflict`: somebody else wrote after `after`; read again and decide again.
   */
  append(turn: JournalTurn): Promise<'done' | 'seen' | 'conflict'>;
  /** Messages not delivered yet, oldest first. */
  undelivered(thread: string): Promise<readonly Waiting[]>;
  /** `reference` is the platform's name for what it posted. */
  delivered(id: string, reference: string): Promise<void>;
  /** Timers due by now, soonest first. They stay until a turn with `rung` removes them. */
  due(now: number): Promise<readonly Timer[]>;
  /** When the next timer is due; null without timers. */
  nextDue(): Promise<number | null>;
}

export interface JournalTurn {
  readonly thread: string;
  /** Id of the inbound message. */
  readonly inbound: string;
  /** The sequence number the decision was made on. */
  readonly after: number;
  readonly events: readonly Event[];
  readonly outbound: readonly Outbound[];
  /** The timer that this turn answers. */
  readonly rung?: string;
}

export interface Waiting {
  /** The same at every try. */
  readonly id: string;
  readonly outbound: Outbound;
}

export interface Timer {
  readonly thread: string;
  readonly key: string;
  readonly due: number;
}
