import type { Gateway } from './gateway.ts';
import { isEmpty, messageProblems } from './limits.ts';
import { pingsIn } from './pings.ts';
import { schemaProblems } from './schemas.ts';
import { archive, isArchived } from './threads.ts';
import {
  type Attachment,
  ephemeral,
  type File,
  type Message,
  type MessageBody,
  Refused,
  type User,
} from './wire.ts';
import { memberWire, type World } from './world.ts';

/** Everything that went wrong in the eyes of the platform, for tests to look at. */
export interface Record {
  readonly violations: string[];
  readonly pings: string[];
  /** Nonces under which a second message was made. */
  readonly doubles: string[];
  /** The same, after the platform had forgotten the nonce. */
  readonly doublesBeyond: string[];
}

/** How long the platform remembers a nonce: "the past few minutes". */
const nonceWindow = 180_000;
export const pictures = new Map<string, Buffer>();

export function newMessages(world: World, gateway: Gateway, record: Record) {
  const nonces = new Map<string, { readonly at: number; readonly message: Message }>();

  /** Refuses what breaks a limit, and keeps it for the test to find. */
  function check(what: string, problems: readonly string[]): void {
    if (problems.length === 0) return;
    record.violations.push(`${what}: ${problems.join('; ')}`);
    throw new Refused(400, 50035, 'Invalid Form Body');
  }

  function make(
    body: MessageBody,
    about: { readonly channel: string; readonly author: User; readonly type?: number },
    files: readonly File[] = [],
  ): Message {
    const channel = world.channels.get(about.channel);
    const member = world.members.get(about.author.id);
    const id = world.newId();
    const content = (body.content ?? '').trim();
    const replied = body.message_reference
      ? find(about.channel, body.message_reference.message_id)
      : undefined;
    const mentioned = [...content.matchAll(/<@!?(\d+)>/g)].flatMap(
      ([, who = '']) => world.members.get(who)?.user ?? [],
    );
    return {
      id,
      channel_id: about.channel,
      ...(channel?.guild_id === undefined ? {} : { guild_id: channel.guild_id }),
      author: about.author,
      ...(member && channel?.guild_id !== undefined
        ? { member: (({ user: _, ...rest }) => rest)(memberWire(member)) }
        : {}),
      type: about.type ?? (replied ? 19 : 0),
      content,
      embeds: body.embeds ?? [],
      components: body.components ?? [],
      attachments: files.map((file, i): Attachment => {
        const own = world.newId();
        const url = `https://cdn.invalid/attachments/${about.channel}/${own}/${file.name}`;
        pictures.set(own, file.data);
        const description = body.attachments?.find(({ id: at }) => Number(at) === i)?.description;
        return {
          id: own,
          filename: file.name,
          content_type: /\.png$/.test(file.name) ? 'image/png' : 'application/octet-stream',
          size: file.data.length,
          url,
          proxy_url: url,
          ...(description === undefined ? {} : { description }),
        };
      }),
      mentions: mentioned,
      mention_roles: [...content.matchAll(/<@&(\d+)>/g)].map(([, who = '']) => who),
      mention_everyone: false,
      pinned: false,
      tts: false,
      flags: body.flags ?? 0,
      timestamp: new Date().toISOString(),
      edited_timestamp: null,
      ...(body.nonce === undefined ? {} : { nonce: body.nonce }),
      ...(body.message_reference
        ? {
            message_reference: { message_id: body.message_reference.message_id, channel_id: about.channel },
            referenced_message: replied ?? null,
          }
        : {}),
    };
  }

  function find(channel: string, id: string): Message | undefined {
    return (world.messages.get(channel) ?? []).find((one) => one.id === id);
  }

  function add(message: Message): Message {
    const list = world.messages.get(message.channel_id) ?? [];
    world.messages.set(message.channel_id, [...list, message]);
    gateway.dispatch('MESSAGE_CREATE', message);
    return message;
  }

  return {
    check,
    make,
    find,
    add,
    /** What the bot posts. */
    post(channel: string, body: MessageBody, files: readonly File[]): Message {
      check('POST message', [...messageProblems(body, files), ...schemaProblems('message', body)]);
      if (isEmpty(body, files)) {
        record.violations.push('POST message: it is empty');
        throw new Refused(400, 50006, 'Cannot send an empty message');
      }
      const at = world.channels.get(channel);
      if (!at) throw new Refused(404, 10003, 'Unknown Channel');
      if (at.type === 15) throw new Refused(400, 50008, 'Cannot send messages in a non-text channel');
      const reply = body.message_reference;
      if (reply && reply.fail_if_not_exists !== false && !find(channel, reply.message_id))
        throw new Refused(400, 50035, 'Unknown message');
      if (body.enforce_nonce && body.nonce !== undefined) {
        const before = nonces.get(String(body.nonce));
        if (before && Date.now() - before.at < nonceWindow) return before.message;
      }
      record.pings.push(...pingsIn(body));
      // Whoever writes in an archived thread wakes it.
      if (isArchived(at)) archive(world, gateway, channel, false);
      const message = add(make(body, { channel, author: world.me }, files));
      const posted = nonces.get(String(body.nonce));
      if (posted) {
        // What comes again after the window is new to the platform: no nonce helps there.
        const late = Date.now() - posted.at >= nonceWindow;
        (late ? record.doublesBeyond : record.doubles).push(String(body.nonce));
      }
      if (body.nonce !== undefined) nonces.set(String(body.nonce), { at: Date.now(), message });
      return message;
    },
    /** What the bot changes. Fields that are absent stay as they are. */
    change(channel: string, id: string, body: MessageBody): Message {
      const before = find(channel, id);
      const at = world.channels.get(channel);
      if (!at) throw new Refused(404, 10003, 'Unknown Channel');
      if (isArchived(at)) throw new Refused(400, 50083, 'Thread is archived');
      if (!before) throw new Refused(404, 10008, 'Unknown Message');
      if (before.author.id !== world.me.id)
        throw new Refused(403, 50005, 'Cannot edit a message authored by another user');
      const after: Message = {
        ...before,
        ...(body.content === undefined ? {} : { content: (body.content ?? '').trim() }),
        ...(body.embeds === undefined ? {} : { embeds: body.embeds ?? [] }),
        ...(body.components === undefined ? {} : { components: body.components ?? [] }),
        edited_timestamp: new Date().toISOString(),
      };
      check('PATCH message', [...messageProblems({ ...body }), ...schemaProblems('edit', body)]);
      check(
        'PATCH message',
        messageProblems({ content: after.content, embeds: after.embeds, components: after.components }),
      );
      if (isEmpty(after) && after.attachments.length === 0) {
        record.violations.push('PATCH message: it would be empty');
        throw new Refused(400, 50006, 'Cannot send an empty message');
      }
      record.pings.push(
        ...pingsIn({ content: body.content ?? '', allowed_mentions: body.allowed_mentions ?? null }),
      );
      replace(after);
      return after;
    },
    replace,
    remove(channel: string, id: string): void {
      if (!find(channel, id)) throw new Refused(404, 10008, 'Unknown Message');
      world.messages.set(
        channel,
        (world.messages.get(channel) ?? []).filter((one) => one.id !== id),
      );
      const guild = world.channels.get(channel)?.guild_id;
      gateway.dispatch('MESSAGE_DELETE', {
        id,
        channel_id: channel,
        ...(guild === undefined ? {} : { guild_id: guild }),
      });
    },
    /** Checks and counts what only one person sees. */
    privately(body: MessageBody): void {
      check('answer', [...messageProblems(body), ...schemaProblems('answer', body)]);
      if (isEmpty(body)) {
        record.violations.push('answer: it is empty');
        throw new Refused(400, 50006, 'Cannot send an empty message');
      }
      if (((body.flags ?? 0) & ephemeral) === 0) record.pings.push(...pingsIn(body));
    },
  };

  function replace(message: Message): void {
    world.messages.set(
      message.channel_id,
      (world.messages.get(message.channel_id) ?? []).map((one) => (one.id === message.id ? message : one)),
    );
    gateway.dispatch('MESSAGE_UPDATE', message);
  }
}
export type Messages = ReturnType<typeof newMessages>;
