import type { z } from 'zod';
import type { Inbound } from './inbound.ts';
import type { Form, Outbound, Paper, Picture, Whisper } from './outbound.ts';
import type { Person } from './person.ts';

/** What a platform can do, declared instead of asked for by name. */
export interface Abilities {
  /** Answers that can be tapped under one message. */
  readonly buttons: number;
  /** Characters in one message. */
  readonly length: number;
  readonly pictures: boolean;
  readonly forms: boolean;
  /** Messages a second that the platform lets pass, in all and in one thread; absent: as many as come. */
  readonly pace?: { readonly all?: number; readonly thread?: number };
}

/** A message on its way out. */
export interface Delivery {
  /** The same at every try, so that a platform with the means can drop the double. */
  readonly id: string;
  readonly thread: string;
  readonly outbound: Outbound;
  /** Of an `amend` or a `bench`: the platform's reference of the message to change; absent when there is none. */
  readonly amends?: string;
}

/**
 * What became of an inbound message. It is kept for good when this comes back; only then may the platform be told so.
 * `seen`: it had been taken in before. `busy`: too much was waiting, and it was not taken in.
 */
export type Received = 'taken' | 'seen' | 'busy';

/** What is for one person only, and at once: a platform shows it in answer to what the person did. */
export type Answer = Form | Whisper;

/**
 * With `answer`, forms and private words are handed to it before this resolves, and do not go through the outbox. Without
 * it they come through `deliver`.
 */
export type Receive = (inbound: Inbound, answer?: (one: Answer) => void) => Promise<Received>;

/** What somebody wants that belongs to no one case. */
export type Wish =
  | { readonly what: 'mine' }
  /** Erases only when `sure`. */
  | { readonly what: 'forget'; readonly sure: boolean }
  | { readonly what: 'list' }
  /** What was learnt, of all flows or one; `sure`: use what was shown of it. */
  | { readonly what: 'numbers'; readonly flow: string | null; readonly sure: boolean };
export type Request = { readonly by: Person; readonly platform: string; readonly at: number } & Wish;

/** For the one who asked, privately. */
export interface Reply {
  readonly words: string;
  /** A line for each case, most pressing first. */
  readonly cases: readonly { readonly thread: string; readonly words: string; readonly danger: boolean }[];
  /** Offers to go through with it; `label` is what the button says, `flow` whose numbers are meant. */
  readonly confirm?: { readonly label: string; readonly flow?: string };
}

/** What a platform may ask the desk. */
export interface Desk {
  /**
   * The latest case at a place: of the thread with that name, or of one whose name is the place, a slash and more (where a
   * platform has no threads of its own, as in direct messages). Null where there never was one. `asks`: it is settled, and
   * asked how it went on, so that what is said in its thread may answer that.
   */
  latest(
    place: string,
  ): Promise<{ readonly thread: string; readonly settled: boolean; readonly asks?: true } | null>;
  request(request: Request): Promise<Reply>;
}

/** A picture as PNG, with its size in pixels. */
export type Draw = (
  picture: z.infer<typeof Picture>,
) => Promise<{ readonly png: Uint8Array; readonly width: number; readonly height: number }>;

/** A job card of a thread's case as PDF, and what the file is called. Rejects where it cannot be made. */
export type Print = (
  paper: Pick<Paper, 'card' | 'picture'>,
  thread: string,
) => Promise<{ readonly pdf: Uint8Array; readonly name: string }>;

/** A platform: it translates what people do into inbound messages and renders outbound ones. It decides nothing. */
export interface Adapter {
  /** Its threads' names begin with this, and a colon where more follows. */
  readonly name: string;
  readonly abilities: Abilities;
  /** Begins to listen. Resolves when messages can arrive. */
  start(receive: Receive, desk: Desk): Promise<void>;
  /**
   * Posts one message; resolves with the platform's reference of it. Rejects with a `DeliveryFailure` where it knows what
   * went wrong; it is tried again in any case, so many times.
   */
  deliver(delivery: Delivery): Promise<string>;
  /** Takes in nothing more; resolves when what is under way is finished. */
  stop(): Promise<void>;
}

/**
 * Why a message could not be posted. `refused`: the platform will not take this message, now or later. `away`: the
 * platform cannot be reached. `slow-down`: it asks to wait for `after` milliseconds, with this thread or with everything.
 */
export class DeliveryFailure extends Error {
  readonly code: 'refused' | 'away' | 'slow-down';
  readonly after: number;
  readonly scope: 'thread' | 'platform';

  constructor(
    code: DeliveryFailure['code'],
    message: string,
    options: {
      readonly after?: number;
      readonly scope?: 'thread' | 'platform';
      readonly cause?: unknown;
    } = {},
  ) {
    super(message, { cause: options.cause });
    this.name = 'DeliveryFailure';
    this.code = code;
    this.after = options.after ?? 0;
    this.scope = options.scope ?? 'thread';
  }
}
