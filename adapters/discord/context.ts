import type { Answer, Desk } from '../../shared/adapter.ts';
import type { Inbound } from '../../shared/inbound.ts';
import type { Person } from '../../shared/person.ts';
import { cut } from '../words.ts';
import type { Api } from './api.ts';
import { limits } from './body.ts';
import type { Guild } from './guild.ts';

/** What everything that hears needs: the server, the desk, and ways to both. */
export interface Context {
  readonly api: Api;
  readonly guild: Guild;
  readonly desk: Desk;
  /** Ids of the bot and of its application. */
  readonly me: string;
  readonly application: string;
  readonly notice: (words: string) => void;
  readonly now: () => number;
  /** Rejects when it could not be taken in. */
  give(inbound: Inbound, answer?: (one: Answer) => void): Promise<void>;
  stamp(
    id: string,
    thread: string,
    by: Person,
  ): { readonly id: string; readonly thread: string; readonly at: number; readonly by: Person };
}

/** A thread's name here: in direct messages a slash and more follows, since there are no threads. */
export const placeOf = (channel: string): string => `discord:${channel}`;
/** Where a thread stands. */
export const channelOf = (thread: string): string => thread.replace(/^discord:/, '').split('/')[0] ?? '';

export const threadName = (words: string): string =>
  cut(words.replace(/\s+/g, ' ').trim(), limits.threadName) || 'A repair';

export const notTaken = 'Something went wrong on my side, and I did not take that in. Please send it again.';
