import { createHash } from 'node:crypto';
import {
  DiscordAPIError,
  HTTPError,
  RateLimitError,
  type RawFile,
  REST,
  type RESTOptions,
  Routes,
} from 'discord.js';
import { DeliveryFailure } from '../../shared/adapter.ts';
import type { Body } from './body.ts';

/** The calls of Discord's API that we make. Each rejects with what the client says; `failure` reads it. */
export function createApi({
  token,
  apiUrl,
  makeRequest,
}: {
  readonly token: string;
  readonly apiUrl?: string;
  /** How requests leave, as the library has it; absent: its own way. */
  readonly makeRequest?: RESTOptions['makeRequest'];
}) {
  const base = {
    version: '10',
    timeout: 7000,
    ...(apiUrl === undefined ? {} : { api: apiUrl }),
    ...(makeRequest === undefined ? {} : { makeRequest }),
  };
  // Our outbox tries again by itself, and waits where it is told to.
  const rest = new REST({ ...base, retries: 0, rejectOnRateLimit: () => true }).setToken(token);
  // Files leave by Node's own fetch: where Slack's library has put an undici of its own in place, the client's refuses every form.
  const carrying = new REST({
    ...base,
    retries: 0,
    rejectOnRateLimit: () => true,
    makeRequest: makeRequest ?? ((url, init) => fetch(url, init as RequestInit) as never),
  }).setToken(token);
  // What a person waits for is tried again at once; a second answer to the same tap is refused by the platform.
  const quick = new REST({ ...base, retries: 2, timeout: 2500 }).setToken(token);

  // "Interaction endpoints are not bound to the bot's Global Rate Limit" (https://discord.com/developers/docs).
  const answers = new REST({ ...base, retries: 2, timeout: 2500, globalRequestsPerSecond: 1000 });

  const get = (route: `/${string}`): Promise<unknown> => persistent(() => quick.get(route));

  return {
    post: (channel: string, body: Body, nonce: string, files: readonly RawFile[] = []) =>
      (files.length > 0 ? carrying : rest).post(Routes.channelMessages(channel), {
        body: { ...body, nonce, enforce_nonce: true },
        ...(files.length > 0 ? { files: [...files] } : {}),
      }) as Promise<{ id: string }>,
    edit: (channel: string, message: string, body: Body) =>
      rest.patch(Routes.channelMessage(channel, message), { body }),
    /** A thread that was quiet for long is archived; it can be changed again after this. */
    wake: (thread: string) => rest.patch(Routes.channel(thread), { body: { archived: false } }),
    message: (channel: string, message: string) => get(Routes.channelMessage(channel, message)),
    channel: (channel: string) => get(Routes.channel(channel)),
    channels: (guild: string) => get(Routes.guildChannels(guild)),
    roles: (guild: string) => get(Routes.guildRoles(guild)),
    member: (guild: string, user: string) => get(Routes.guildMember(guild, user)),
    /** A thread in a channel, or on one of its messages; its id. */
    async newThread(channel: string, name: string, on?: string): Promise<string> {
      const body = { name, auto_archive_duration: 10_080 };
      const made = await (on === undefined
        ? quick.post(Routes.threads(channel), { body: { ...body, type: 11 } })
        : quick.post(Routes.threads(channel, on), { body })
      ).catch((cause) => {
        // The message has one already: a thread on a message has the message's id.
        if (on !== undefined && cause instanceof DiscordAPIError && cause.code === 160004) return { id: on };
        throw cause;
      });
      return (made as { id: string }).id;
    },
    /** Twice answered is answered. */
    async respond(interaction: string, secret: string, type: number, data?: object): Promise<void> {
      const body = { type, ...(data ? { data } : {}) };
      await persistent(() =>
        answers.post(Routes.interactionCallback(interaction, secret), { body, auth: false }),
      ).catch((cause) => {
        if (!(cause instanceof DiscordAPIError && cause.code === 40060)) throw cause;
      });
    },
    /** Changes the message that was tapped, once the tap was answered. */
    changeAnswered: (application: string, secret: string, body: Body) =>
      persistent(() => answers.patch(Routes.webhookMessage(application, secret), { body, auth: false })),
    followUp: (application: string, secret: string, body: Body) =>
      persistent(() => answers.post(Routes.webhook(application, secret), { body, auth: false })),
    commands: (application: string, guild: string) =>
      get(Routes.applicationGuildCommands(application, guild)),
    directCommands: (application: string) => get(Routes.applicationCommands(application)),
    putDirectCommands: (application: string, body: readonly object[]) =>
      quick.put(Routes.applicationCommands(application), { body: [...body] }),
    putCommands: (application: string, guild: string, body: readonly object[]) =>
      quick.put(Routes.applicationGuildCommands(application, guild), { body: [...body] }),
  };
}
/** The client itself tries again after a bad answer, but not where the line was closed under the request. */
async function persistent<T>(work: () => Promise<T>): Promise<T> {
  for (let left = 2; ; left -= 1) {
    try {
      return await work();
    } catch (cause) {
      const said =
        cause instanceof DiscordAPIError || cause instanceof HTTPError || cause instanceof RateLimitError;
      if (said || left === 0) throw cause;
    }
  }
}

export type Api = ReturnType<typeof createApi>;

/** The same for the same message at every try, and short enough for Discord: it drops the double. */
export const nonceOf = (delivery: string, part: number): string =>
  createHash('sha256').update(`${delivery}#${part}`).digest('base64url').slice(0, 25);

/** Unknown channel or message. */
const gone: readonly (number | string)[] = [10003, 10008];

export const isGone = (cause: unknown): boolean =>
  cause instanceof DiscordAPIError && gone.includes(cause.code);

/** The three seconds of a tap are over, or the fifteen minutes in which it can be answered. */
export const isExpired = (cause: unknown): boolean =>
  cause instanceof DiscordAPIError && [10015, 10062, 50027].includes(Number(cause.code));

/** "Tried to perform an operation on an archived thread, such as editing a message". */
export const isAsleep = (cause: unknown): boolean => cause instanceof DiscordAPIError && cause.code === 50083;

/** What went wrong, in the words of the desk. Never the body of what was sent. */
export function failure(cause: unknown): DeliveryFailure {
  if (cause instanceof DeliveryFailure) return cause;
  if (cause instanceof RateLimitError) {
    const after = Math.max(cause.retryAfter || cause.timeToReset || 1000, 50);
    return new DeliveryFailure('slow-down', 'Discord asks to wait.', {
      after,
      scope: cause.global ? 'platform' : 'thread',
    });
  }
  if (cause instanceof DiscordAPIError && cause.status !== 401 && cause.status < 500) {
    return new DeliveryFailure('refused', `Discord refuses it (${cause.status}, code ${cause.code}).`);
  }
  const status = cause instanceof HTTPError || cause instanceof DiscordAPIError ? ` (${cause.status})` : '';
  return new DeliveryFailure('away', `Discord cannot be reached${status}.`);
}
