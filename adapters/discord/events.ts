import type { Order } from '../order.ts';
import { createActing } from './acting.ts';
import type { Context } from './context.ts';
import { createHearing } from './hearing.ts';
import { Channel, Deleted, Edited, Interaction, Message } from './payload.ts';

/** What the gateway sends. */
export interface Packet {
  readonly t?: string | null;
  readonly d?: unknown;
}

/** Every event has one place where it goes, and nothing of it is believed before it was parsed. */
export function createEvents(context: Context, order: Order): (packet: Packet) => void {
  const { guild } = context;
  const hearing = createHearing(context);
  const gone = parsed(Channel.pick({ id: true }), ({ id }) => order.in(id, () => hearing.gone(id)));
  const remember = parsed(Channel, guild.remember);
  const handlers = new Map<string, (data: unknown) => void>([
    ['MESSAGE_CREATE', parsed(Message, (one) => order.in(one.channel_id, () => hearing.written(one)))],
    ['MESSAGE_UPDATE', parsed(Edited, (one) => order.in(one.channel_id, () => hearing.edited(one)))],
    ['MESSAGE_DELETE', parsed(Deleted, (one) => order.in(one.channel_id, () => hearing.deleted(one)))],
    ['INTERACTION_CREATE', parsed(Interaction, createActing(context, order))],
    ['CHANNEL_CREATE', remember],
    ['CHANNEL_UPDATE', remember],
    ['THREAD_CREATE', remember],
    ['THREAD_UPDATE', remember],
    ['CHANNEL_DELETE', gone],
    ['THREAD_DELETE', gone],
  ]);
  return ({ t, d }) => {
    if (typeof t === 'string') handlers.get(t)?.(d);
  };
}

function parsed<T>(
  schema: { safeParse(data: unknown): { readonly success: boolean; readonly data?: T | undefined } },
  then: (one: T) => void,
): (data: unknown) => void {
  return (data) => {
    const read = schema.safeParse(data);
    if (read.success) then(read.data as T);
  };
}
