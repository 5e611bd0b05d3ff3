import { pictures } from './messages.ts';
import type { Component, Message } from './wire.ts';
import { ephemeral } from './wire.ts';

/** A message as people see it, at the moment when it was looked at. */
export interface Shown {
  readonly id: string;
  readonly channel: string;
  readonly by: string;
  /** Words, boxes under each other, and what they carry, without the marks that lay it out. */
  readonly text: string;
  readonly content: string;
  readonly buttons: readonly string[];
  /** What a menu offers. */
  readonly options: readonly string[];
  readonly pictures: readonly Buffer[];
  readonly alt: readonly string[];
  readonly replyTo: string | null;
  readonly edited: boolean;
  readonly private: boolean;
  readonly wire: Message;
}

export function shown(message: Message): Shown {
  const inside = message.components.flatMap((row) => row.components ?? []);
  const boxes = message.embeds.flatMap(({ title, description, footer }) => [
    title,
    description,
    footer?.text,
  ]);
  const words = [message.content, ...boxes].filter((part) => part !== undefined && part !== '').join('\n');
  return {
    id: message.id,
    channel: message.channel_id,
    by: message.author.global_name ?? message.author.username,
    text: words.replace(/\\([\\*_~`|<>[\]#()+.@:-])/g, '$1'),
    content: message.content,
    buttons: inside.filter(({ type }) => type === 2).map(({ label }) => label ?? ''),
    options: inside.flatMap(({ options }) => options ?? []).map(({ label }) => label),
    pictures: message.attachments.flatMap(({ id }) => pictures.get(id) ?? []),
    alt: message.attachments.map(({ description }) => description ?? ''),
    replyTo: message.message_reference?.message_id ?? null,
    edited: message.edited_timestamp !== null,
    private: (message.flags & ephemeral) !== 0,
    wire: message,
  };
}

export function buttonOf(message: Message, label: string): Component {
  const found = message.components
    .flatMap((row) => row.components ?? [])
    .find((one) => one.type === 2 && one.label === label);
  if (!found)
    throw new Error(`there is no button “${label}”; there are: ${shown(message).buttons.join(', ')}`);
  return found;
}

export function menuOf(
  message: Message,
  label: string,
): { readonly menu: Component; readonly value: string } {
  for (const menu of message.components.flatMap((row) => row.components ?? [])) {
    const option = menu.options?.find((one) => one.label === label);
    if (option) return { menu, value: option.value };
  }
  throw new Error(`no menu offers “${label}”; there are: ${shown(message).options.join(', ')}`);
}
