import { Client, Events, GatewayIntentBits, Partials, PermissionFlagsBits, type RawFile } from 'discord.js';
import type { Adapter, Answer, Delivery, Desk, Draw, Receive } from '../../shared/adapter.ts';
import { DeliveryFailure } from '../../shared/adapter.ts';
import type { DiscordPlace } from '../../shared/community.ts';
import type { Inbound } from '../../shared/inbound.ts';
import type { Person } from '../../shared/person.ts';
import { type Answering, answering } from './answer.ts';
import { createApi, failure, isGone, nonceOf } from './api.ts';
import { type Body, ephemeral, limits, row, silent } from './body.ts';
import { commands, sameCommands } from './commands.ts';
import { forgetId, offerId } from './ids.ts';
import { type Meant, meantBy, saidIn } from './inbound.ts';
import { bodies } from './outbound.ts';
import { Channel, Deleted, Edited, Interaction, Member, Message, Role, type User } from './payload.ts';
import { person, type Standing, standing } from './people.ts';
import { cut, plain } from './text.ts';

export interface DiscordOptions {
  readonly token: string;
  /** Where the API is, without a version; absent: Discord's own. */
  readonly apiUrl?: string;
  readonly place: DiscordPlace;
  readonly draw: Draw;
  /** Told in a sentence what the bot lacks. */
  readonly notice: (words: string) => void;
  readonly now: () => number;
}

const threadTypes: readonly number[] = [10, 11, 12];
const forumTypes: readonly number[] = [15, 16];
/** People's roles in direct messages are looked up again after this, milliseconds. */
const memberAge = 60_000;
const rememberedAtMost = 5000;
const system: Person = { id: 'discord:system', name: '', roles: [] };
const notTaken = 'Something went wrong on my side, and I did not take that in. Please send it again.';

/** Discord as a platform: a gateway that hears, and an API that posts. */
export function createDiscord(options: DiscordOptions): Adapter {
  const { token, place, draw, notice, now } = options;
  const api = createApi(options.apiUrl === undefined ? { token } : { token, apiUrl: options.apiUrl });
  const client = new Client({
    intents: [
      GatewayIntentBits.Guilds,
      GatewayIntentBits.GuildMessages,
      GatewayIntentBits.DirectMessages,
      GatewayIntentBits.MessageContent,
    ],
    partials: [Partials.Channel],
    allowedMentions: { parse: [] },
    ...(options.apiUrl === undefined ? {} : { rest: { api: options.apiUrl } }),
  });
  let receive: Receive | null = null;
  let desk: Desk | null = null;
  let me = '';
  let application = '';
  let review: string | null = null;
  let help: ReadonlySet<string> = new Set();
  let roles: Standing = { menders: new Set(), moderators: new Set() };
  const known = new Map<string, Channel>();
  const members = new Map<string, { readonly at: number; readonly member: Promise<Member | undefined> }>();
  const handled = new Set<string>();
  const offered = new Set<string>();
  /** What is under way, in order within a channel. */
  const queues = new Map<string, Promise<void>>();
  let stopped = false;

  function inOrder(channel: string, work: () => Promise<void>): void {
    const before = queues.get(channel) ?? Promise.resolve();
    const turn = before.then(work).catch((cause) => notice(`Discord: ${failure(cause).message}`));
    queues.set(channel, turn);
    void turn.then(() => {
      if (queues.get(channel) === turn) queues.delete(channel);
    });
  }

  async function channelOf(id: string): Promise<Channel | null> {
    const there = known.get(id);
    if (there) return there;
    const found = Channel.safeParse(await api.channel(id).catch(() => null));
    if (!found.success) return null;
    remember(found.data);
    return found.data;
  }

  /** In a server the member comes along; in a direct message it is looked up. */
  async function who(user: User, member: Member | undefined, inGuild: boolean): Promise<Person> {
    if (inGuild) return person(user, member, roles);
    const before = members.get(user.id);
    if (before && now() - before.at < memberAge) return person(user, await before.member, roles);
    const asked = api.member(place.guild, user.id).then(
      (found) => Member.safeParse(found).data,
      () => undefined,
    );
    members.set(user.id, { at: now(), member: asked });
    forgetOldest(members);
    return person(user, await asked, roles);
  }

  async function give(inbound: Inbound, answer?: (one: Answer) => void): Promise<void> {
    if (!receive || stopped) throw new DeliveryFailure('away', 'not listening');
    await receive(inbound, answer);
  }
  const stamp = (id: string, thread: string, by: Person) => ({ id: `discord:${id}`, thread, at: now(), by });
  const placeOf = (channel: string): string => `discord:${channel}`;

  // What people write.

  async function written(message: Message): Promise<void> {
    const { author, channel_id: channel } = message;
    if (!author || author.bot || message.webhook_id || (message.type !== 0 && message.type !== 19)) return;
    if (message.guild_id !== undefined && message.guild_id !== place.guild) return;
    const inGuild = message.guild_id !== undefined;
    const said = saidIn(message, me);
    const named = message.mentions.some(({ id }) => id === me);
    const at = inGuild ? await channelOf(channel) : null;
    const isThread = at !== null && threadTypes.includes(at.type);
    if (inGuild && !isThread && !named && !help.has(channel)) return;
    const by = await who(author, message.member, inGuild);
    const latest = !inGuild || isThread ? await (desk as Desk).latest(placeOf(channel)) : null;

    if (latest && (!latest.settled || wakes(said.words) || named))
      return heard(message, latest.thread, by, said);
    if (latest?.settled && inGuild) return;
    if (!inGuild) return opens(message, `${placeOf(channel)}/${message.id}`, by, said.words);
    if (named) {
      const thread = isThread ? channel : await api.newThread(channel, threadName(said.words), message.id);
      return opens(message, placeOf(thread), by, said.words);
    }
    const post = isThread && at?.parent_id != null && help.has(at.parent_id) && message.id === channel;
    if (post || (!isThread && help.has(channel))) await offer(message, channel);
  }

  /** A settled case is left alone by talk that goes on in its thread. */
  const wakes = (words: string): boolean => /^(again|take it up again)[.!]?$/i.test(words);

  async function opens(message: Message, thread: string, by: Person, words: string): Promise<void> {
    await speak(message, (answer) =>
      give(
        { ...stamp(message.id, thread, by), kind: 'opened', words, place: nameOf(message.channel_id) },
        answer,
      ),
    );
    const { photos } = saidIn(message, me);
    if (photos.length > 0)
      await give({ ...stamp(`${message.id}:photo`, thread, by), kind: 'photo', references: [...photos] });
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
      if (photos.length > 0)
        await give(
          { ...stamp(`${message.id}:photo`, thread, by), kind: 'photo', references: [...photos] },
          answer,
        );
      if (others > 0)
        answer({
          kind: 'whisper',
          to: by.id,
          words: 'I can keep photos only, up to 10 MB each. Please send a photo, or tell it in words.',
        });
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

  const nameOf = (channel: string): string => (known.get(channel)?.name ?? '').slice(0, 200);
  const threadName = (words: string): string =>
    cut(words.replace(/\s+/g, ' ').trim(), limits.threadName) || 'A repair';

  /** One quiet message under a new post; nothing more unless its author wants it. */
  async function offer(message: Message, channel: string): Promise<void> {
    if (offered.has(message.id)) return;
    offered.add(message.id);
    forgetOldest(offered);
    const author = message.author?.id ?? '';
    const button = (label: string, yes: boolean) =>
      ({ type: 2, style: yes ? 1 : 2, label, custom_id: offerId(yes, author, message.id) }) as const;
    await api.post(
      channel,
      {
        ...silent,
        content: 'I can help to find the fault, step by step, and call people when it needs them. Shall I?',
        components: [row([button('Yes, please', true), button('No, thanks', false)])],
        ...(message.id === channel
          ? {}
          : { message_reference: { message_id: message.id, fail_if_not_exists: false } }),
      } as Body,
      nonceOf(`offer:${message.id}`, 0),
    );
  }

  // What people tap and command.

  /** The three seconds run from here, whatever else is under way in the channel. */
  function arrived(interaction: Interaction): void {
    const user = interaction.member?.user ?? interaction.user;
    const channel = interaction.channel_id ?? interaction.channel?.id;
    if (!user || user.bot || channel === undefined) return;
    if (interaction.guild_id !== undefined && interaction.guild_id !== place.guild) return;
    if (handled.has(interaction.id)) return;
    handled.add(interaction.id);
    forgetOldest(handled);
    const answer = answering(interaction, application, api);
    inOrder(channel, () => acted(interaction, channel, user, answer));
  }

  async function acted(
    interaction: Interaction,
    channel: string,
    user: User,
    answer: Answering,
  ): Promise<void> {
    try {
      const by = await who(user, interaction.member, interaction.guild_id !== undefined);
      await means(meantBy(interaction), interaction, channel, by, answer);
    } catch (cause) {
      notice(`Discord: something that was tapped could not be taken in. ${failure(cause).message}`);
      answer.whisper(notTaken);
    }
    await answer.end();
  }

  async function means(
    meant: Meant,
    interaction: Interaction,
    channel: string,
    by: Person,
    answer: Answering,
  ): Promise<void> {
    switch (meant.kind) {
      case 'give': {
        const thread = meant.thread ?? (await (desk as Desk).latest(placeOf(channel)))?.thread;
        if (thread === undefined) {
          answer.whisper('There is no case here. “/mend start” begins one.');
          return;
        }
        await give({ ...stamp(interaction.id, thread, by), ...meant.content } as Inbound, (one) =>
          answer.give(one, thread),
        );
        return;
      }
      case 'start':
        return start(meant, interaction, channel, by, answer);
      case 'request':
        return request(meant, by, answer);
      case 'offer':
        return offerAnswered(meant, interaction, channel, by, answer);
      case 'nothing':
        answer.whisper(meant.words);
        return;
      default:
        return meant satisfies never;
    }
  }

  async function start(
    { words, on }: Extract<Meant, { kind: 'start' }>,
    interaction: Interaction,
    channel: string,
    by: Person,
    answer: Answering,
  ): Promise<void> {
    const inGuild = interaction.guild_id !== undefined;
    const at = inGuild ? await channelOf(channel) : null;
    const isThread = at !== null && threadTypes.includes(at.type);
    if (!inGuild || isThread) {
      const latest = await (desk as Desk).latest(placeOf(channel));
      if (latest && (!latest.settled || isThread)) {
        answer.whisper(
          latest.settled
            ? 'The case in this thread is settled. “/mend again” takes it up again; for another appliance, begin outside this thread.'
            : 'There is a case here already. “/mend where” shows where it stands.',
        );
        return;
      }
    }
    const thread = !inGuild
      ? `${placeOf(channel)}/${interaction.id}`
      : placeOf(isThread ? channel : await api.newThread(channel, threadName(words), on));
    await give(
      { ...stamp(interaction.id, thread, by), kind: 'opened', words, place: nameOf(channel) },
      (one) => answer.give(one, thread),
    );
    if (inGuild && !isThread) answer.replace(openedIn(thread));
  }

  const openedIn = (thread: string): Body => ({
    ...silent,
    content: `Good. It goes on here: <#${thread.replace('discord:', '')}>`,
    flags: ephemeral,
  });

  async function request(
    { what, sure }: Extract<Meant, { kind: 'request' }>,
    by: Person,
    answer: Answering,
  ): Promise<void> {
    const asked = { by, platform: 'discord', at: now() };
    const reply = await (desk as Desk).request(
      what === 'forget' ? { ...asked, what, sure } : { ...asked, what },
    );
    const lines = reply.cases.map((one, i) => `${i + 1}. ${one.danger ? 'DANGER. ' : ''}${one.words}`);
    answer.whisper(
      [reply.words, ...lines].join('\n'),
      reply.confirm
        ? [row([{ type: 2, style: 4, label: cut(reply.confirm.label, limits.label), custom_id: forgetId }])]
        : [],
    );
  }

  /** Only whoever wrote the post says whether help is wanted. */
  async function offerAnswered(
    { yes, to, message }: Extract<Meant, { kind: 'offer' }>,
    interaction: Interaction,
    channel: string,
    by: Person,
    answer: Answering,
  ): Promise<void> {
    if (by.id !== placeOf(to)) {
      answer.whisper('Thank you. Only whoever wrote the post can answer this.');
      return;
    }
    const done = (content: string): void => answer.replace({ ...silent, content, components: [] });
    if (!yes) {
      done('All right, I keep quiet. “/mend start” calls me.');
      return;
    }
    const post = Message.safeParse(await api.message(channel, message)).data;
    const at = await channelOf(channel);
    const isThread = at !== null && threadTypes.includes(at.type);
    const thread = placeOf(
      isThread ? channel : await api.newThread(channel, threadName(post?.content ?? ''), message),
    );
    const title = isThread ? [at?.name ?? '', ...(await tagsOf(at as Channel))] : [];
    const words = [...title, post?.content ?? ''].filter((one) => one.trim() !== '').join('\n');
    await give(
      {
        ...stamp(interaction.id, thread, by),
        kind: 'opened',
        words: words.slice(0, 20_000),
        place: nameOf(channel),
      },
      (one) => answer.give(one, thread),
    );
    done(isThread ? 'Good. We begin.' : `Good. It goes on here: <#${thread.replace('discord:', '')}>`);
  }

  async function tagsOf(post: Channel): Promise<string[]> {
    const forum = post.parent_id ? await channelOf(post.parent_id) : null;
    return (post.applied_tags ?? []).flatMap(
      (id) => forum?.available_tags?.find((tag) => tag.id === id)?.name ?? [],
    );
  }

  // What becomes of messages and threads.

  async function changed(channel: string, inbound: (thread: string) => Inbound): Promise<void> {
    const latest = await (desk as Desk).latest(placeOf(channel));
    if (latest && !latest.settled) await give(inbound(latest.thread));
  }

  async function edited(message: Edited): Promise<void> {
    const { author, content, edited_timestamp: when } = message;
    if (!author || author.bot || content === undefined || !when) return;
    const by = await who(author, message.member, message.guild_id !== undefined);
    await changed(message.channel_id, (thread) => ({
      ...stamp(`${message.id}:${when}`, thread, by),
      kind: 'changed',
      what: 'edited',
      words: content.slice(0, 20_000),
    }));
  }

  const vanished = (channel: string, what: 'deleted' | 'gone', id: string) =>
    changed(channel, (thread) => ({ ...stamp(`${id}:${what}`, thread, system), kind: 'changed', what }));

  /** Everything that the gateway sends arrives here, and nothing of it is believed before it was parsed. */
  function packet({ t, d }: { readonly t?: string | null; readonly d?: unknown }): void {
    if (receive && !stopped && typeof t === 'string') heardOf[t]?.(d);
  }

  const heardOf: Readonly<Record<string, (data: unknown) => void>> = {
    MESSAGE_CREATE: parsed(Message, (one) => inOrder(one.channel_id, () => written(one))),
    MESSAGE_UPDATE: parsed(Edited, (one) => inOrder(one.channel_id, () => edited(one))),
    MESSAGE_DELETE: parsed(Deleted, (one) =>
      inOrder(one.channel_id, () => vanished(one.channel_id, 'deleted', one.id)),
    ),
    INTERACTION_CREATE: parsed(Interaction, arrived),
    CHANNEL_CREATE: parsed(Channel, remember),
    CHANNEL_UPDATE: parsed(Channel, remember),
    THREAD_CREATE: parsed(Channel, remember),
    THREAD_UPDATE: parsed(Channel, remember),
    CHANNEL_DELETE: parsed(Gone, lost),
    THREAD_DELETE: parsed(Gone, lost),
  };

  function remember(channel: Channel): void {
    known.set(channel.id, channel);
    forgetOldest(known);
  }
  function lost({ id }: { readonly id: string }): void {
    known.delete(id);
    inOrder(id, () => vanished(id, 'gone', id));
  }

  // Start, deliver, stop.

  async function begin(): Promise<void> {
    const channels = Channel.array().parse(await api.channels(place.guild));
    for (const one of channels) known.set(one.id, one);
    const find = (name: string): Channel | undefined =>
      channels.find((one) => one.id === name || one.name === name.replace(/^#/, ''));
    help = new Set(
      place.help_channels.flatMap((name) => {
        const found = find(name);
        if (!found) notice(`Discord: there is no channel ${name} that I can see; help_channels names it.`);
        return found ? [found.id] : [];
      }),
    );
    if (place.review_channel !== undefined) {
      review = find(place.review_channel)?.id ?? null;
      if (review === null)
        notice(
          `Discord: there is no channel ${place.review_channel} that I can see; review_channel names it.`,
        );
    }
    const found = standing(place, Role.array().parse(await api.roles(place.guild)));
    roles = found.standing;
    for (const name of found.missing) notice(`Discord: there is no role ${name} on the server.`);
    const there = await api.commands(application, place.guild);
    if (!sameCommands(there)) await api.putCommands(application, place.guild, commands);
    for (const id of [...help, ...(review === null ? [] : [review])]) sayWhatIsMissing(id);
  }

  const needed = {
    'View Channel': PermissionFlagsBits.ViewChannel,
    'Send Messages': PermissionFlagsBits.SendMessages,
    'Send Messages in Threads': PermissionFlagsBits.SendMessagesInThreads,
    'Create Public Threads': PermissionFlagsBits.CreatePublicThreads,
    'Embed Links': PermissionFlagsBits.EmbedLinks,
    'Attach Files': PermissionFlagsBits.AttachFiles,
    'Read Message History': PermissionFlagsBits.ReadMessageHistory,
  };

  function sayWhatIsMissing(id: string): void {
    const guild = client.guilds.cache.get(place.guild);
    const channel = guild?.channels.cache.get(id);
    const mine = guild?.members.me;
    if (!channel || !mine) return;
    const has = channel.permissionsFor(mine);
    const missing = Object.entries(needed).flatMap(([name, flag]) => (has.has(flag) ? [] : [name]));
    if (missing.length > 0) notice(`Discord: in #${channel.name} the bot lacks: ${missing.join(', ')}.`);
  }

  const isForum = (id: string): boolean => forumTypes.includes(known.get(id)?.type ?? 0);

  /** Where a message of a thread goes; null: nowhere. */
  function target({ thread, outbound }: Delivery): string | null {
    if (outbound.kind === 'bench' || thread === 'discord:bench')
      return review !== null && !isForum(review) ? review : null;
    return thread.replace(/^discord:/, '').split('/')[0] ?? null;
  }

  async function picture(delivery: Delivery, channel: string): Promise<string | null> {
    const { outbound, id } = delivery;
    if (outbound.kind !== 'show') return null;
    const drawn = await draw(outbound.picture).catch(() => null);
    if (drawn === null) return null;
    const name = 'where-we-are.png';
    const files: RawFile[] = [{ name, data: Buffer.from(drawn.png), contentType: 'image/png' }];
    const body: Body = {
      ...silent,
      embeds: [{ image: { url: `attachment://${name}` } }],
      attachments: [{ id: 0, filename: name, description: cut(outbound.alt, 1024) }],
    };
    const posted = await api.post(channel, body, nonceOf(id, 0), files);
    return `${channel}/${posted.id}`;
  }

  async function deliver(delivery: Delivery): Promise<string> {
    if (!receive) throw new DeliveryFailure('away', 'Discord is not connected yet.');
    const { id, outbound, thread, amends } = delivery;
    if (outbound.kind === 'amend' && amends === undefined) return '';
    const channel = target(delivery);
    if (channel === null) return '';
    try {
      const shown = await picture(delivery, channel);
      if (shown !== null) return shown;
      const made = bodies(outbound, thread);
      if (amends !== undefined && made[0]) {
        const [where = '', message = ''] = amends.split('/');
        try {
          await api.edit(where, message, made[0]);
          return amends;
        } catch (cause) {
          if (!isGone(cause)) throw cause;
          if (outbound.kind === 'amend') return '';
        }
      }
      let reference = '';
      for (const [part, body] of made.entries()) {
        const posted = await api.post(channel, body, nonceOf(id, part));
        reference ||= `${channel}/${posted.id}`;
      }
      return reference;
    } catch (cause) {
      throw failure(cause);
    }
  }

  return {
    name: 'discord',
    abilities: {
      buttons: 15,
      length: limits.content,
      pictures: true,
      forms: true,
      pace: { all: 40, thread: 4 },
    },
    async start(hear, ask) {
      client.on(Events.Error, (cause) =>
        notice(`Discord: the connection had a fault. ${failure(cause).message}`),
      );
      client.on(Events.Raw, packet);
      const ready = new Promise<void>((resolve) => client.once(Events.ClientReady, () => resolve()));
      await client.login(token).catch((cause) => {
        throw startFailure(cause);
      });
      await ready;
      me = client.user?.id ?? '';
      application = client.application?.id ?? me;
      desk = ask;
      await begin().catch((cause) => {
        throw new Error(
          `Discord: the server ${place.guild} could not be read. ${failure(cause).message} Is the bot invited to it, and is “guild” its id?`,
        );
      });
      receive = hear;
    },
    deliver,
    async stop() {
      stopped = true;
      await Promise.all(queues.values());
      await client.destroy();
    },
  };
}

/** Never with the token in it. */
function startFailure(cause: unknown): Error {
  const code = (cause as { code?: unknown } | null)?.code;
  if (code === 'TokenInvalid' || (cause as { status?: unknown } | null)?.status === 401)
    return new Error(
      'DISCORD_TOKEN: Discord does not know this token. Make a new one on the page of your application in the Discord developer portal, under Bot.',
    );
  if (code === 'DisallowedIntents' || /disallowed intents/i.test(String((cause as Error)?.message)))
    return new Error(
      'Discord does not let the bot read messages. Switch “Message Content Intent” on, on the page of your application in the Discord developer portal, under Bot.',
    );
  return new Error(`Discord could not be reached. ${failure(cause).message}`);
}

function forgetOldest(known: Map<string, unknown> | Set<string>): void {
  if (known.size > rememberedAtMost) known.delete(known.keys().next().value as string);
}

const Gone = Channel.pick({ id: true });

function parsed<T>(
  schema: { safeParse(data: unknown): { readonly success: boolean; readonly data?: T | undefined } },
  then: (one: T) => void,
): (data: unknown) => void {
  return (data) => {
    const read = schema.safeParse(data);
    if (read.success) then(read.data as T);
  };
}
