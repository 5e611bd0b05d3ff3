import { Client, Events, GatewayIntentBits, Partials } from 'discord.js';
import type { Adapter, Desk, Draw, Print, Receive } from '../../shared/adapter.ts';
import { DeliveryFailure } from '../../shared/adapter.ts';
import type { DiscordPlace } from '../../shared/community.ts';
import { createOrder, type Order } from '../order.ts';
import { createApi, failure } from './api.ts';
import { limits } from './body.ts';
import { commands, directCommands, sameCommands } from './commands.ts';
import type { Context } from './context.ts';
import { deliverTo } from './delivering.ts';
import { createEvents, type Packet } from './events.ts';
import { type Guild, readGuild } from './guild.ts';
import { lackingIn } from './permissions.ts';

export interface DiscordOptions {
  readonly token: string;
  /** Where the API is, without a version; absent: Discord's own. */
  readonly apiUrl?: string;
  readonly place: DiscordPlace;
  readonly draw: Draw;
  /** Absent: a job card to print is shown in words. */
  readonly print?: Print;
  /** Told in a sentence what the bot lacks. */
  readonly notice: (words: string) => void;
  readonly now: () => number;
}

/** Discord as a platform: a gateway that hears, and an API that posts. */
export function createDiscord(options: DiscordOptions): Adapter {
  const { token, place, draw, print = null, notice, now } = options;
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
  const all = createOrder();
  /** What fails is told to the operator: nobody waits for it. */
  const order = {
    ...all,
    in: (channel: string, work: () => Promise<void>): Promise<void> =>
      all.in(channel, work).catch((cause) => notice(`Discord: ${failure(cause).message}`)),
  } as Order;
  let guild: Guild | null = null;
  let stopped = false;

  async function connect(): Promise<void> {
    client.on(Events.Error, (cause) =>
      notice(`Discord: the connection had a fault. ${failure(cause).message}`),
    );
    client.on(Events.ShardDisconnect, ({ code }) =>
      notice(`Discord has closed the connection for good (code ${code}). ${closed[code] ?? ''}`.trim()),
    );
    const ready = new Promise<void>((resolve) => client.once(Events.ClientReady, () => resolve()));
    await client.login(token).catch((cause) => {
      throw startFailure(cause);
    });
    await ready;
  }

  async function begin(receive: Receive, desk: Desk): Promise<Context> {
    const me = client.user?.id ?? '';
    const application = client.application?.id ?? me;
    const there = await readGuild(place, api, notice, now);
    if (!sameCommands(await api.commands(application, place.guild), commands))
      await api.putCommands(application, place.guild, commands);
    await registerDirect(application);
    for (const id of [...there.help, ...(there.review === null ? [] : [there.review])]) {
      const lacking = lackingIn(client, place.guild, id);
      if (lacking !== null) notice(lacking);
    }
    guild = there;
    return {
      api,
      guild: there,
      desk,
      me,
      application,
      notice,
      now,
      async give(inbound, answer) {
        if (stopped) throw new DeliveryFailure('away', 'not listening');
        await receive(inbound, answer);
      },
      stamp: (id, thread, by) => ({ id: `discord:${id}`, thread, at: now(), by }),
    };
  }

  /** The same words in direct messages; the desk works without them. */
  async function registerDirect(application: string): Promise<void> {
    try {
      if (!sameCommands(await api.directCommands(application), directCommands))
        await api.putDirectCommands(application, directCommands);
    } catch (cause) {
      notice(`Discord: there are no commands in direct messages. ${failure(cause).message}`);
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
    async start(receive, desk) {
      // What is said while the server is still being read waits until it can be understood.
      const early: Packet[] = [];
      let hear = (packet: Packet): void => void early.push(packet);
      client.on(Events.Raw, (packet: Packet) => {
        if (!stopped) hear(packet);
      });
      await connect();
      const context = await begin(receive, desk).catch((cause) => {
        throw new Error(
          `Discord: the server ${place.guild} could not be read. ${failure(cause).message} Is the bot invited to it, and is “guild” its id?`,
        );
      });
      hear = createEvents(context, order);
      for (const packet of early) hear(packet);
    },
    async deliver(delivery) {
      if (!guild) throw new DeliveryFailure('away', 'Discord is not connected yet.');
      return deliverTo({ api, review: guild.review, draw, print }, delivery);
    },
    async stop() {
      stopped = true;
      await order.idle();
      await client.destroy();
    },
  };
}

const noToken =
  'DISCORD_TOKEN: Discord does not know this token. Make a new one on the page of your application in the Discord developer portal, under Bot.';
const noContent =
  'Discord does not let the bot read messages. Switch “Message Content Intent” on, on the page of your application in the Discord developer portal, under Bot.';
/** Why the gateway closes for good, as far as the operator can mend it. */
const closed: Readonly<{ [code: number]: string }> = { 4004: noToken, 4014: noContent };

/** Never with the token in it. */
function startFailure(cause: unknown): Error {
  const { code, status, message } = (cause ?? {}) as { code?: unknown; status?: unknown; message?: unknown };
  if (code === 'TokenInvalid' || status === 401 || /authentication failed/i.test(String(message)))
    return new Error(noToken);
  if (code === 'DisallowedIntents' || /disallowed intents/i.test(String(message)))
    return new Error(noContent);
  return new Error(`Discord could not be reached. ${failure(cause).message}`);
}
