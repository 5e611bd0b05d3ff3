import type { Gateway } from './gateway.ts';
import type { Interactions, Modal, Pending } from './interactions.ts';
import { patience } from './interactions.ts';
import type { Messages } from './messages.ts';
import { buttonOf, menuOf, type Shown, shown } from './shown.ts';
import { addThread } from './threads.ts';
import type { Attachment, Component, Member, Message } from './wire.ts';
import { tagIds, type World } from './world.ts';

/** What came back to whoever did something. */
export interface Came {
  readonly privately: readonly string[];
  readonly shown: readonly Shown[];
  readonly modal?: Modal;
  readonly updated?: Shown;
  /** False where the platform said "did not respond". */
  readonly answered: boolean;
}

export interface Written {
  readonly mention?: boolean;
  readonly replyTo?: string;
  readonly attachments?: readonly { readonly name: string; readonly type: string; readonly size: number }[];
}

interface RegisteredCommand {
  readonly id: string;
  readonly name: string;
  readonly type: number;
  readonly options?: readonly {
    readonly type: number;
    readonly name: string;
    readonly options?: readonly { readonly type: number; readonly name: string }[];
  }[];
}

export interface Around {
  readonly world: World;
  readonly gateway: Gateway;
  readonly messages: Messages;
  readonly interactions: Interactions;
  quiet(ms?: number): Promise<void>;
}

/** Somebody with a Discord client in their hands: they can do what a client lets them do, and no more. */
export function newPerson(member: Member, around: Around) {
  const { world, gateway, messages, interactions, quiet } = around;
  const { user } = member;

  const raised: Pending[] = [];

  async function came(pending: Pending): Promise<Came> {
    raised.push(pending);
    const until = pending.at + patience + 200;
    while (!pending.answered && Date.now() < until) await new Promise((resolve) => setTimeout(resolve, 5));
    const announced = Date.now() + 15_000;
    while (pending.loading && Date.now() < announced) await new Promise((resolve) => setTimeout(resolve, 20));
    await quiet();
    const seen = pending.privately.map((one) => shown(interactions.current(one)));
    return {
      privately: seen.map(({ text }) => text),
      shown: seen,
      ...(pending.modal ? { modal: pending.modal } : {}),
      ...(pending.updated ? { updated: shown(pending.updated) } : {}),
      answered: pending.answered !== null,
    };
  }

  function registered(name: string, type: number, channel: string): RegisteredCommand {
    if (world.channels.get(channel)?.guild_id === undefined)
      throw new Error('commands of a server cannot be used in a direct message');
    const found = (world.commands as readonly RegisteredCommand[]).find(
      (one) => one.name === name && one.type === type,
    );
    if (!found) throw new Error(`there is no command ${name}`);
    return found;
  }

  function say(
    channel: string,
    words: string,
    { mention, replyTo, attachments = [] }: Written = {},
  ): Message {
    const made = messages.make(
      {
        content: mention ? `<@${world.me.id}> ${words}` : words,
        ...(replyTo === undefined ? {} : { message_reference: { message_id: replyTo } }),
      },
      { channel, author: user },
    );
    const files = attachments.map(({ name, type, size }): Attachment => {
      const id = world.newId();
      const url = `https://cdn.invalid/attachments/${channel}/${id}/${name}`;
      return { id, filename: name, content_type: type, size, url, proxy_url: url };
    });
    // A reply calls whoever is replied to.
    const replied = made.referenced_message?.author;
    const mentions =
      replied && !made.mentions.some(({ id }) => id === replied.id)
        ? [...made.mentions, replied]
        : made.mentions;
    return messages.add({ ...made, attachments: files, mentions });
  }

  return {
    id: user.id,
    name: user.global_name ?? user.username,
    user,
    /** Everything that only this person was shown, oldest first. */
    privately: (): readonly Shown[] =>
      raised.flatMap((pending) => pending.privately.map((one) => shown(interactions.current(one)))),
    /** Writes; resolves with the message after a short while of quiet. */
    async write(channel: string, words: string, more: Written = {}): Promise<Shown> {
      const message = say(channel, words, more);
      await quiet(60);
      return shown(message);
    },
    async edit(message: Shown, words: string): Promise<void> {
      const before = messages.find(message.channel, message.id);
      if (!before) throw new Error('that message is gone');
      messages.replace({ ...before, content: words, edited_timestamp: new Date().toISOString() });
      await quiet(60);
    },
    async remove(message: Shown): Promise<void> {
      messages.remove(message.channel, message.id);
      await quiet(60);
    },
    /** A post in a forum; resolves with its thread. */
    async post(
      forum: string,
      {
        title,
        text,
        tags = [],
        attachments = [],
      }: {
        readonly title: string;
        readonly text: string;
        readonly tags?: readonly (keyof typeof tagIds)[];
      } & Written,
    ): Promise<string> {
      const parent = world.channels.get(forum);
      if (parent?.type !== 15) throw new Error('posts are made in forums');
      const id = world.newId();
      addThread(world, gateway, {
        id,
        name: title,
        parent,
        owner: user.id,
        tags: tags.map((tag) => tagIds[tag]),
      });
      const first = messages.make({ content: text }, { channel: id, author: user });
      const files = attachments.map(({ name, type, size }): Attachment => {
        const own = world.newId();
        const url = `https://cdn.invalid/attachments/${id}/${own}/${name}`;
        return { id: own, filename: name, content_type: type, size, url, proxy_url: url };
      });
      // The first message of a post has the post's id.
      messages.add({ ...first, id, attachments: files });
      await quiet(60);
      return id;
    },
    /** A thread of this person's own in a text channel. */
    async thread(channel: string, name: string): Promise<string> {
      const parent = world.channels.get(channel);
      if (parent?.type !== 0) throw new Error('threads are made in text channels');
      const thread = addThread(world, gateway, { id: world.newId(), name, parent, owner: user.id });
      await quiet(20);
      return thread.id;
    },
    /** A direct message; its channel. */
    dm(): string {
      const there = [...world.channels.values()].find(
        (one) => one.type === 1 && one.recipients?.some(({ id }) => id === user.id),
      );
      if (there) return there.id;
      const id = world.newId();
      world.channels.set(id, { id, type: 1, recipients: [user], last_message_id: null, flags: 0 });
      return id;
    },
    async command(
      channel: string,
      name: string,
      sub: string,
      options: Readonly<{ [option: string]: string | boolean }> = {},
    ): Promise<Came> {
      const command = registered(name, 1, channel);
      const part = command.options?.find((one) => one.name === sub && one.type === 1);
      if (!part) throw new Error(`there is no command ${name} ${sub}`);
      const filled = Object.entries(options).map(([option, value]) => {
        const found = part.options?.find((one) => one.name === option);
        if (!found) throw new Error(`${name} ${sub} has no option ${option}`);
        return { name: option, type: found.type, value };
      });
      const data = {
        id: command.id,
        name,
        type: 1,
        guild_id: world.guild,
        options: [{ type: 1, name: sub, options: filled }],
      };
      return came(interactions.raise(member, { type: 2, data, channel, what: `/${name} ${sub}` }));
    },
    /** The menu of a message. */
    async menu(message: Shown, name: string): Promise<Came> {
      const command = registered(name, 3, message.channel);
      const target = messages.find(message.channel, message.id);
      const data = {
        id: command.id,
        name,
        type: 3,
        guild_id: world.guild,
        target_id: message.id,
        resolved: { messages: { [message.id]: target } },
      };
      return came(interactions.raise(member, { type: 2, data, channel: message.channel, what: name }));
    },
    /** Taps a button as it stood when the message was looked at, even if it is no longer there. */
    async tap(message: Shown, label: string, { twice }: { readonly twice?: boolean } = {}): Promise<Came> {
      const button = buttonOf(message.wire, label);
      const pending = interactions.raise(member, {
        type: 3,
        data: { custom_id: button.custom_id, component_type: 2, id: 1 },
        channel: message.channel,
        what: label,
        message: interactions.current(message.wire),
        twice,
      });
      return came(pending);
    },
    async choose(message: Shown, label: string): Promise<Came> {
      const { menu, value } = menuOf(message.wire, label);
      const pending = interactions.raise(member, {
        type: 3,
        data: { custom_id: menu.custom_id, component_type: 3, values: [value], id: 1 },
        channel: message.channel,
        what: label,
        message: interactions.current(message.wire),
      });
      return came(pending);
    },
    /** A forged tap: anybody's client can send any `custom_id`. */
    async forge(message: Shown, customId: string): Promise<Came> {
      const pending = interactions.raise(member, {
        type: 3,
        data: { custom_id: customId, component_type: 2, id: 1 },
        channel: message.channel,
        what: customId,
        message: interactions.current(message.wire),
      });
      return came(pending);
    },
    /** Fills in a form by its labels and sends it. */
    async submit(modal: Modal, values: Readonly<{ [label: string]: string }>): Promise<Came> {
      const labels = modal.components.map(({ label }) => label ?? '');
      for (const label of Object.keys(values))
        if (!labels.includes(label))
          throw new Error(`the form has no “${label}”; it has: ${labels.join(', ')}`);
      const components = modal.components.map((part, i) => ({
        type: 18,
        id: 2 * i + 1,
        component: { id: 2 * i + 2, ...filledIn(part, values[part.label ?? '']) },
      }));
      const pending = interactions.raise(member, {
        type: 5,
        data: { custom_id: modal.custom_id, components },
        channel: modal.channel,
        what: modal.title,
        message: modal.message,
      });
      return came(pending);
    },
  };
}
export type Someone = ReturnType<typeof newPerson>;

function filledIn({ label, component }: Component, written: string | undefined): object {
  const one = component as Component;
  const about = { type: one.type, custom_id: one.custom_id };
  if (one.type === 3) {
    const option = one.options?.find((found) => found.label === written);
    if (written !== undefined && !option)
      throw new Error(
        `“${label}” does not offer “${written}”; it offers: ${one.options?.map((each) => each.label).join(', ')}`,
      );
    if (!option && one.required !== false) throw new Error(`“${label}” has to be filled in`);
    return { ...about, values: option ? [option.value] : [] };
  }
  const value = written ?? one.value ?? '';
  if (value === '' && one.required !== false) throw new Error(`“${label}” has to be filled in`);
  if (value.length > (one.max_length ?? 4000)) throw new Error(`that is too long for “${label}”`);
  return { ...about, value };
}
