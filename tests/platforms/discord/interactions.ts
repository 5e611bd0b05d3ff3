import { randomUUID } from 'node:crypto';
import type { Gateway } from './gateway.ts';
import { modalProblems } from './limits.ts';
import type { Messages } from './messages.ts';
import { schemaProblems } from './schemas.ts';
import { type Component, ephemeral, type Member, type Message, type MessageBody, Refused } from './wire.ts';
import { memberWire, type World } from './world.ts';

/** Taps, commands and forms, and what a bot answers: https://discord.com/developers/docs/interactions/receiving-and-responding. */

export interface Modal {
  readonly title: string;
  readonly custom_id: string;
  readonly components: readonly Component[];
  /** The message whose button brought it. */
  readonly message: Message | null;
  readonly channel: string;
}

export interface Pending {
  readonly id: string;
  readonly token: string;
  readonly type: number;
  readonly at: number;
  readonly what: string;
  readonly channel: string;
  readonly message: Message | null;
  answered: { readonly type: number; readonly after: number } | null;
  /** The platform shows that something is still to come. */
  loading: boolean;
  original: Message | null;
  readonly privately: Message[];
  modal: Modal | null;
  updated: Message | null;
}

/** A first answer has to come within three seconds, others within fifteen minutes. */
export const patience = 3000;

export function newInteractions(world: World, gateway: Gateway, messages: Messages) {
  const all: Pending[] = [];
  const secret = new Map<string, Message>();

  const by = (token: string): Pending => {
    const found = all.find((one) => one.token === token);
    if (!found) throw new Refused(404, 10015, 'Unknown Webhook');
    return found;
  };

  function shows(pending: Pending, body: MessageBody, flags: number): Message {
    messages.privately(body);
    const message = messages.make({ ...body, flags }, { channel: pending.channel, author: world.me });
    if ((flags & ephemeral) !== 0) {
      secret.set(message.id, message);
      pending.privately.push(message);
    } else messages.add(message);
    return message;
  }

  function update(pending: Pending, target: Message, body: MessageBody): Message {
    if (!secret.has(target.id)) return messages.change(target.channel_id, target.id, body);
    messages.privately({ flags: ephemeral, ...body, content: body.content ?? target.content });
    const after = {
      ...target,
      ...(body.content == null ? {} : { content: body.content }),
      ...(body.embeds == null ? {} : { embeds: body.embeds }),
      ...(body.components == null ? {} : { components: body.components }),
      edited_timestamp: new Date().toISOString(),
    };
    secret.set(after.id, after);
    const at = pending.privately.findIndex(({ id }) => id === after.id);
    if (at >= 0) pending.privately[at] = after;
    return after;
  }

  function answer(pending: Pending, type: number, data: unknown): void {
    const tapped = pending.message !== null;
    const body = (data ?? {}) as MessageBody;
    switch (type) {
      case 4:
        pending.original = shows(pending, body, body.flags ?? 0);
        return;
      case 5:
        pending.loading = true;
        return;
      case 6:
        messages.check('answer', tapped ? [] : ['only what was tapped can be put off so (type 6)']);
        return;
      case 7:
        messages.check('answer', tapped ? [] : ['only a message that was tapped can be changed (type 7)']);
        if (pending.message) pending.updated = update(pending, pending.message, body);
        return;
      case 9: {
        messages.check('modal', [
          ...(pending.type === 5 ? ['a form cannot follow a form'] : []),
          ...modalProblems((data ?? {}) as never),
          ...schemaProblems('modal', data),
        ]);
        pending.modal = { ...(data as Modal), message: pending.message, channel: pending.channel };
        return;
      }
      default:
        messages.check('answer', [`there is no answer of type ${type}`]);
    }
  }

  return {
    all,
    current: (message: Message): Message =>
      secret.get(message.id) ?? messages.find(message.channel_id, message.id) ?? message,
    /** Somebody does something; `twice` where the gateway stammers. */
    raise(
      who: Member,
      about: {
        readonly type: number;
        readonly data: object;
        readonly channel: string;
        readonly what: string;
        readonly message?: Message | null;
        readonly twice?: boolean | undefined;
      },
    ): Pending {
      const channel = world.channels.get(about.channel);
      if (!channel) throw new Error(`there is no channel ${about.channel}`);
      const inGuild = channel.guild_id !== undefined;
      const pending: Pending = {
        id: world.newId(),
        token: randomUUID(),
        type: about.type,
        at: Date.now(),
        what: about.what,
        channel: about.channel,
        message: about.message ?? null,
        answered: null,
        loading: false,
        original: null,
        privately: [],
        modal: null,
        updated: null,
      };
      all.push(pending);
      const member = { ...memberWire(who), permissions: '2147483648' };
      const wire = {
        id: pending.id,
        application_id: world.application,
        type: about.type,
        data: about.data,
        ...(inGuild
          ? { guild_id: world.guild, guild: { id: world.guild, locale: 'en-US', features: [] }, member }
          : { user: who.user }),
        channel_id: about.channel,
        channel,
        token: pending.token,
        version: 1,
        ...(about.message ? { message: about.message } : {}),
        app_permissions: '2147483648',
        locale: 'en-GB',
        ...(inGuild ? { guild_locale: 'en-US' } : {}),
        entitlements: [],
        authorizing_integration_owners: { '0': world.guild },
        context: inGuild ? 0 : 1,
        attachment_size_limit: 10_485_760,
      };
      gateway.dispatch('INTERACTION_CREATE', wire);
      if (about.twice) gateway.dispatch('INTERACTION_CREATE', wire);
      return pending;
    },
    callback(
      id: string,
      token: string,
      { type, data }: { readonly type: number; readonly data?: unknown },
    ): void {
      const pending = all.find((one) => one.id === id && one.token === token);
      if (!pending) throw new Refused(404, 10062, 'Unknown interaction');
      const after = Date.now() - pending.at;
      if (pending.answered) throw new Refused(400, 40060, 'Interaction has already been acknowledged.');
      if (after > patience) throw new Refused(404, 10062, 'Unknown interaction');
      answer(pending, type, data);
      pending.answered = { type, after };
    },
    followUp(application: string, token: string, body: MessageBody): Message {
      const pending = by(token);
      if (application !== world.application || !pending.answered)
        throw new Refused(404, 10015, 'Unknown Webhook');
      const message = shows(pending, body, body.flags ?? 0);
      // The first that follows takes the place of what was announced.
      if (pending.loading) pending.original = message;
      pending.loading = false;
      return message;
    },
    changeOriginal(application: string, token: string, body: MessageBody): Message {
      const pending = by(token);
      if (application !== world.application || !pending.answered)
        throw new Refused(404, 10015, 'Unknown Webhook');
      if (pending.answered.type === 6 || pending.answered.type === 7) {
        const after = update(pending, pending.message as Message, body);
        pending.updated = after;
        return after;
      }
      if (pending.loading) {
        pending.loading = false;
        pending.original = shows(pending, body, ephemeral);
        return pending.original;
      }
      if (!pending.original) throw new Refused(404, 10008, 'Unknown Message');
      pending.original = update(pending, pending.original, body);
      return pending.original;
    },
  };
}
export type Interactions = ReturnType<typeof newInteractions>;
