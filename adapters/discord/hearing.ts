import type { Answer } from '../../shared/adapter.ts';
import type { Inbound } from '../../shared/inbound.ts';
import type { Person } from '../../shared/person.ts';
import { cut, wakes } from '../words.ts';
import { nonceOf } from './api.ts';
import { limits, silent } from './body.ts';
import { type Context, notTaken, placeOf, threadName } from './context.ts';
import { isThread } from './guild.ts';
import { saidIn } from './inbound.ts';
import { createOffers } from './offers.ts';
import type { Deleted, Edited, Message } from './payload.ts';
import { plain } from './text.ts';

/** What people write, and what becomes of it. */
export interface Hearing {
  written(message: Message): Promise<void>;
  edited(message: Edited): Promise<void>;
  deleted(message: Deleted): Promise<void>;
  /** A thread or channel is gone. */
  gone(channel: string): Promise<void>;
}

const system: Person = { id: 'discord:system', name: '', roles: [] };
const notKept = 'I can keep photos only, up to 10 MB each. Please send a photo, or tell it in words.';
const longest = 20_000;

export function createHearing(context: Context): Hearing {
  const { api, guild, desk, me, give, stamp } = context;
  const offer = createOffers(context);

  async function written(message: Message): Promise<void> {
    const { author, channel_id: channel } = message;
    if (!author || author.bot || message.webhook_id || (message.type !== 0 && message.type !== 19)) return;
    if (message.guild_id !== undefined && message.guild_id !== guild.id) return;
    const inGuild = message.guild_id !== undefined;
    const said = saidIn(message, me);
    const named = message.mentions.some(({ id }) => id === me);
    const at = inGuild ? await guild.channel(channel) : null;
    const inThread = isThread(at);
    if (inGuild && !inThread && !named && !guild.help.has(channel)) return;
    const by = await guild.person(author, message.member, inGuild);
    const latest = !inGuild || inThread ? await desk.latest(placeOf(channel)) : null;

    // In a direct message, words after the end begin another case.
    const asked = inGuild && latest?.asks === true;
    if (latest && (!latest.settled || wakes(said.words) || named || asked))
      return heard(message, latest.thread, by, said);
    if (latest?.settled && inGuild) return;
    if (!inGuild) return opens(message, `${placeOf(channel)}/${message.id}`, by, said);
    if (named) {
      const thread = inThread ? channel : await api.newThread(channel, threadName(said.words), message.id);
      return opens(message, placeOf(thread), by, said);
    }
    const post = inThread && at.parent_id != null && guild.help.has(at.parent_id) && message.id === channel;
    if (post || (!inThread && guild.help.has(channel))) await offer(message);
  }

  const photo = (message: Message, thread: string, by: Person, references: readonly string[]): Inbound => ({
    ...stamp(`${message.id}:photo`, thread, by),
    kind: 'photo',
    references: [...references],
  });

  async function opens(
    message: Message,
    thread: string,
    by: Person,
    { words, photos }: ReturnType<typeof saidIn>,
  ): Promise<void> {
    await speak(message, async (answer) => {
      const place = guild.nameOf(message.channel_id);
      await give({ ...stamp(message.id, thread, by), kind: 'opened', words, place }, answer);
      if (photos.length > 0) await give(photo(message, thread, by, photos), answer);
    });
  }

  async function heard(
    message: Message,
    thread: string,
    by: Person,
    { words, aside, photos, others }: ReturnType<typeof saidIn>,
  ): Promise<void> {
    await speak(message, async (answer) => {
      if (words !== '') {
        const content = { kind: 'said' as const, words, ...(aside ? { aside: true as const } : {}) };
        await give({ ...stamp(message.id, thread, by), ...content }, answer);
      }
      if (photos.length > 0) await give(photo(message, thread, by, photos), answer);
      if (others > 0) answer({ kind: 'whisper', to: by.id, words: notKept });
    });
  }

  /** Private words where Discord has nothing private: a reply that pings nobody. */
  async function speak(
    message: Message,
    work: (answer: (one: Answer) => void) => Promise<void>,
  ): Promise<void> {
    const words: string[] = [];
    const reply = async (text: string): Promise<void> => {
      const body = {
        ...silent,
        content: cut(plain(text), limits.content),
        message_reference: { message_id: message.id, fail_if_not_exists: false },
      };
      await api.post(message.channel_id, body, nonceOf(`reply:${message.id}:${text}`, 0));
    };
    try {
      await work((one) => {
        if (one.kind === 'whisper') words.push(one.words);
      });
    } catch {
      await reply(notTaken);
      return;
    }
    for (const one of words) await reply(one);
  }

  /** Told to a case that is open at that place; nowhere else does it matter. */
  async function changed(channel: string, inbound: (thread: string) => Inbound): Promise<void> {
    const latest = await desk.latest(placeOf(channel));
    if (latest && !latest.settled) await give(inbound(latest.thread));
  }

  return {
    written,
    async edited({ id, channel_id: channel, author, member, guild_id: of, content, edited_timestamp: when }) {
      if (!author || author.bot || content === undefined || !when) return;
      const by = await guild.person(author, member, of !== undefined);
      await changed(channel, (thread) => ({
        ...stamp(`${id}:${when}`, thread, by),
        kind: 'changed',
        what: 'edited',
        words: content.slice(0, longest),
      }));
    },
    deleted: ({ id, channel_id: channel }) =>
      changed(channel, (thread) => ({
        ...stamp(`${id}:deleted`, thread, system),
        kind: 'changed',
        what: 'deleted',
      })),
    async gone(channel) {
      guild.forget(channel);
      // A case that ended may still be asked after.
      const latest = await desk.latest(placeOf(channel));
      if (!latest) return;
      const inbound = { kind: 'changed' as const, what: 'gone' as const };
      await give({ ...stamp(`${channel}:gone`, latest.thread, system), ...inbound });
    },
  };
}
