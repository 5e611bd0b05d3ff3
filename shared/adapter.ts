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
}

/** A message on its way out: `id` is the same at every try, so that a platform with the means can drop the double. */
export interface Delivery {
  readonly id: string;
  readonly thread: string;
  readonly outbound: Outbound;
}

/** What became of an inbound message: `false` when it had been taken in before. */
export type Receive = (inbound: Inbound) => Promise<boolean>;

/** A platform: it translates what people do into inbound messages and renders outbound ones. It decides nothing. */
export interface Adapter {
  readonly name: string;
  readonly abilities: Abilities;
  /** Begins to listen. Resolves when messages can arrive. */
  start(receive: Receive): Promise<void>;
  /** Posts one message; resolves with the platform's reference of it. Rejects when it should be tried again. */
  deliver(delivery: Delivery): Promise<string>;
  /** Takes in nothing more; resolves when what is under way is finished. */
  stop(): Promise<void>;
}
