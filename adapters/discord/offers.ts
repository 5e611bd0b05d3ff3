import { forgetOldest } from '../words.ts';
import { nonceOf } from './api.ts';
import { type Body, row, silent } from './body.ts';
import type { Context } from './context.ts';
import { offerId } from './ids.ts';
import type { Message } from './payload.ts';

/** One quiet message under a new post; nothing more unless its author wants it. */
export function createOffers({ api }: Context): (message: Message) => Promise<void> {
  const offered = new Set<string>();
  return async (message) => {
    if (offered.has(message.id)) return;
    offered.add(message.id);
    forgetOldest(offered);
    const { id, channel_id: channel } = message;
    const author = message.author?.id ?? '';
    const button = (label: string, yes: boolean) =>
      ({ type: 2, style: yes ? 1 : 2, label, custom_id: offerId(yes, author, id) }) as const;
    const body: Body = {
      ...silent,
      content: 'I can help to find the fault, step by step, and call people when it needs them. Shall I?',
      components: [row([button('Yes, please', true), button('No, thanks', false)])],
      // The first message of a post stands right above already.
      ...(id === channel ? {} : { message_reference: { message_id: id, fail_if_not_exists: false } }),
    };
    await api.post(channel, body, nonceOf(`offer:${id}`, 0));
  };
}
