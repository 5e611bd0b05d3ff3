import type { Answer, Desk } from '../../shared/adapter.ts';
import type { Inbound } from '../../shared/inbound.ts';
import type { Person } from '../../shared/person.ts';
import type { Order } from '../order.ts';
import type { Api } from './api.ts';
import type { createDirectory } from './directory.ts';

/** What the parts of a connected bot share. */
export interface Context {
  readonly api: Api;
  readonly directory: ReturnType<typeof createDirectory>;
  readonly desk: Desk;
  /** Our own user id. */
  readonly me: string;
  /** Channels in which help is offered under a new post. */
  readonly help: ReadonlySet<string>;
  readonly order: Order;
  readonly notice: (words: string) => void;
  readonly now: () => number;
  /** Rejects when the desk could not keep it. */
  give(inbound: Inbound, answer?: (one: Answer) => void): Promise<void>;
  stamp(
    id: string,
    thread: string,
    by: Person,
  ): { readonly id: string; readonly thread: string; readonly at: number; readonly by: Person };
}

export const threadOf = (channel: string, ts: string): string => `slack:${channel}/${ts}`;

/** Channel and time stamp of a thread. */
export const partsOf = (thread: string): readonly [string, string] => {
  const [channel = '', ts = ''] = thread.replace(/^slack:/, '').split('/');
  return [channel, ts];
};
