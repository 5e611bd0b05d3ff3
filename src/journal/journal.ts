import type { CaseState, Event } from '../../shared/case.ts';
import type { Outbound } from '../../shared/outbound.ts';

/**
 * The ports of the journal: what happened, kept; the truth from which a case is rebuilt. All of it is plain data, and one
 * contract (`tests/journal.contract.ts`) holds for every implementation.
 */
export interface Journal extends CaseLog, Outbox, Timers, Lists, Keeping {
  /** Writes what is still held back, gives back what this instance had claimed, and closes. */
  close(): Promise<void>;
}

export interface CaseLog {
  /**
   * The events of a thread's case, in order: those after `after`, or all of them (`from` 0) where the journal does not
   * know that mark. None for a thread nobody has written in.
   */
  read(thread: string, after?: Mark): Promise<Stretch>;
  /** One turn, all of it or nothing: its events, its messages on their way out, its timers. */
  append(turn: JournalTurn): Promise<Appended>;
}

/** A place in a case's log; the id tells it from the same place in another history, as after a restore. */
export interface Mark {
  readonly seq: number;
  /** The event's own id, unique and ordered by time. */
  readonly id: string;
}

export interface Stretch {
  /** The number after which these events come. */
  readonly from: number;
  readonly events: readonly Event[];
  /** Where the log ends; null for an empty one. */
  readonly mark: Mark | null;
}

export interface JournalTurn {
  readonly thread: string;
  /** Id of the inbound message. */
  readonly inbound: string;
  /** The sequence number the decision was made on. */
  readonly after: number;
  readonly events: readonly Event[];
  readonly outbound: readonly Outbound[];
  /** Where the case stands after this turn. */
  readonly state: CaseState;
  /** The timer that this turn answers. */
  readonly rung?: string;
}

export type Appended =
  | {
      readonly kind: 'done';
      readonly mark: Mark | null;
      readonly messages: readonly Waiting[];
      /** False: another instance delivers in this thread just now, and will deliver these, too. */
      readonly mine: boolean;
      /** Messages written before these are not delivered yet. */
      readonly behind: boolean;
    }
  /** This inbound was taken in before. */
  | { readonly kind: 'seen' }
  /** Somebody else wrote after `after`; read again and decide again. */
  | { readonly kind: 'conflict' };

/** Messages on their way out. In a thread one instance delivers at a time: `append` and `take` say whether it is this one. */
export interface Outbox {
  /** Messages not delivered yet, oldest first, for this instance to deliver; null when another one does. */
  take(thread: string): Promise<readonly Waiting[] | null>;
  /** Nothing more is delivered here just now; another instance may. Written a little later, with the next turn. */
  release(thread: string): Promise<void>;
  /** Threads whose oldest message may be tried by `now` and that no instance is delivering in. */
  waiting(which: Which): Promise<readonly string[]>;
  /**
   * `reference` is the platform's name for what it posted. It may be written a little later, with the next turn: after a
   * crash in between the message goes out again, under the same id.
   */
  delivered(id: string, reference: string): Promise<void>;
  /** It failed `tries` times that count and is not to be tried before `next`. */
  failed(id: string, tries: number, next: number): Promise<void>;
  /** Not tried any more; it stays, with the reason, for people to look at. */
  setAside(id: string, why: string): Promise<void>;
  /** The platform's reference of the question with this key, once it was delivered. */
  reference(thread: string, key: string): Promise<string | null>;
  /** How many messages wait, and since when the oldest does, milliseconds. */
  backlog(): Promise<Backlog>;
}

export interface Waiting {
  /** The same at every try. */
  readonly id: string;
  readonly outbound: Outbound;
  /** Tries that count so far. */
  readonly tries: number;
  /** When it was written, milliseconds. */
  readonly since: number;
}

export interface Backlog {
  readonly waiting: number;
  readonly oldest: number | null;
  readonly setAside: number;
}

export interface Which {
  readonly now: number;
  /** Names of the platforms this instance serves; a thread's platform is what stands before its first colon. */
  readonly platforms: readonly string[];
  readonly limit: number;
}

export interface Timers {
  /**
   * Timers due by `now`, soonest first, claimed for this instance: nobody gets them again until the claim is old. They
   * stay until a turn with `rung` removes them.
   */
  claim(which: Which): Promise<readonly Timer[]>;
  /** When the next timer is due; null without timers. */
  nextDue(): Promise<number | null>;
}

export interface Timer {
  readonly thread: string;
  readonly key: string;
  readonly due: number;
}

/** Cases by where they are and how they stand. */
export interface Lists {
  /** The latest case of the thread `place`, or of one whose name is `place`, a slash and more; null where there is none. */
  latest(place: string): Promise<{ readonly thread: string; readonly settled: boolean } | null>;
  /** Threads of a platform whose cases people have, oldest case first. */
  withPeople(platform: string, limit: number): Promise<readonly string[]>;
  /**
   * Settled cases with their events, whose personal text is left empty, a page at a time; `after`: the mark of the last one
   * that was read, null at first.
   */
  settled(
    after: number | null,
    limit: number,
  ): Promise<
    readonly { readonly thread: string; readonly mark: number; readonly events: readonly Event[] }[]
  >;
}

/** What is kept of people, and for how long. */
export interface Keeping {
  /** Threads in which words, names or pictures of this person are kept. */
  threadsOf(person: string): Promise<readonly string[]>;
  /** Threads that took in an inbound message whose id begins so; plain letters, digits and signs only. */
  takenIn(prefix: string): Promise<readonly string[]>;
  /** Makes all words, names and pictures of this person unreadable, in every case, for ever. */
  forget(person: string): Promise<void>;
  /** Settled cases without an event since `before`, of which words are still kept. */
  wordsOlderThan(before: number, limit: number): Promise<readonly string[]>;
}

/** A claim that is older than this counts no more: its instance is taken for dead. Milliseconds. */
export const claimAge = 10_000;

export const platformOf = (thread: string): string => thread.split(':', 1)[0] as string;
