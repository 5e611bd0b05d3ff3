import type { Inbound } from './inbound.ts';
import type { Outbound } from './outbound.ts';

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
  /** Of an `amend`: the platform's reference of the message to change; absent when it was never posted. */
  readonly amends?: string;
}

/**
 * What became of an inbound message. It is kept for good when this comes back; only then may the platform be told so.
 * `seen`: it had been taken in before. `busy`: too much was waiting, and it was not taken in.
 */
export type Received = 'taken' | 'seen' | 'busy';
export type Receive = (inbound: Inbound) => Promise<Received>;

/** A platform: it translates what people do into inbound messages and renders outbound ones. It decides nothing. */
export interface Adapter {
  /** Its threads' names begin with this, and a colon where more follows. */
  readonly name: string;
  readonly abilities: Abilities;
  /** Begins to listen. Resolves when messages can arrive. */
  start(receive: Receive): Promise<void>;
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
