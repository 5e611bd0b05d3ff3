import type { AddressInfo } from 'node:net';
import { type Fault, newFaults } from './discord/faults.ts';
import { type Gateway, openGateway } from './discord/gateway.ts';
import { openHttp } from './discord/http.ts';
import { newInteractions, patience } from './discord/interactions.ts';
import { newMessages } from './discord/messages.ts';
import { newPerson, type Someone } from './discord/person.ts';
import { type Route, routes } from './discord/rest.ts';
import { type Shown, shown } from './discord/shown.ts';
import { archive } from './discord/threads.ts';
import { newUser, newWorld, places, roleIds } from './discord/world.ts';

/**
 * A Discord of one's own, on this machine: an API and a gateway with an invented server behind them. It refuses what the
 * real one refuses, by its published limits and its own OpenAPI description, and keeps what it refused for tests to find.
 */
export interface DiscordServer {
  /** What an adapter is given as `apiUrl`. */
  readonly url: string;
  readonly token: string;
  readonly guild: string;
  readonly places: typeof places;
  readonly roles: typeof roleIds;
  readonly botId: string;
  readonly gateway: Gateway;
  /** Bodies that broke a limit; a test that ends well has none. */
  readonly violations: readonly string[];
  /** Mentions that would have called somebody. */
  readonly pings: readonly string[];
  /** Nonces under which more than one message was posted: while the platform remembers a nonce, and after it. */
  readonly doubles: readonly string[];
  readonly doublesBeyond: readonly string[];
  /** What was tapped or commanded and not answered in time. */
  readonly unacknowledged: readonly string[];
  /** Milliseconds until each answer. */
  readonly acknowledgedAfter: readonly number[];
  readonly commandsWritten: number;
  /** Requests so far, as `METHOD /path status`. */
  requests(): readonly string[];
  person(about: {
    readonly name: string;
    readonly roles?: readonly ('mender' | 'moderator')[];
    readonly nick?: string;
  }): Someone;
  messages(channel: string): readonly Shown[];
  /** Threads of a channel or forum, oldest first. */
  threads(channel: string): readonly string[];
  removeThread(id: string): Promise<void>;
  /** As the platform does by itself with a thread that was quiet for long. */
  archiveThread(id: string): void;
  fail(fault: Fault): void;
  heal(): void;
  /** Cuts the gateway's line, with Discord's own code: 4000 can be resumed, 4004 not. */
  drop(code?: number): void;
  invalidSession(): void;
  /** Resolves when nothing was asked for so many milliseconds. */
  quiet(ms?: number): Promise<void>;
  close(): Promise<void>;
}

export async function startDiscord(
  options: {
    readonly token?: string;
    /** Where the gateway knows another token than the API. */
    readonly gatewayToken?: string;
    /** Permissions that the bot's role is without. */
    readonly lacking?: bigint;
    /** Intents that the application was not granted. */
    readonly intentsWithheld?: number;
  } = {},
): Promise<DiscordServer> {
  const world = newWorld({ token: options.token, lacking: options.lacking });
  const record = {
    violations: [] as string[],
    pings: [] as string[],
    doubles: [] as string[],
    doublesBeyond: [] as string[],
  };
  const faults = newFaults();
  let list: readonly Route[] = [];
  const http = openHttp(world.token, faults, () => list);
  await new Promise<void>((resolve) => http.server.listen(0, '127.0.0.1', resolve));
  const { port } = http.server.address() as AddressInfo;
  const gatewayUrl = () => `ws://127.0.0.1:${port}/gateway`;
  const opened = openGateway(http.server, world, gatewayUrl, options);
  const gateway: Gateway = Object.create(opened, {
    dispatch: {
      value(event: string, data: unknown) {
        http.touch();
        opened.dispatch(event, data);
      },
    },
  });
  const messages = newMessages(world, gateway, record);
  const interactions = newInteractions(world, gateway, messages);
  list = routes({ world, gateway, messages, interactions, faults, gatewayUrl });
  const around = { world, gateway, messages, interactions, quiet: http.quiet };

  return {
    url: `http://127.0.0.1:${port}/api`,
    token: world.token,
    guild: world.guild,
    places,
    roles: roleIds,
    botId: world.me.id,
    gateway,
    violations: record.violations,
    pings: record.pings,
    doubles: record.doubles,
    doublesBeyond: record.doublesBeyond,
    get unacknowledged() {
      return interactions.all
        .filter(({ answered, at }) => !answered && Date.now() - at > patience)
        .map(({ what }) => what);
    },
    get acknowledgedAfter() {
      return interactions.all.flatMap(({ answered }) => answered?.after ?? []);
    },
    get commandsWritten() {
      return world.commandsWritten;
    },
    requests: () => http.log.map(({ method, path, status }) => `${method} ${path} ${status}`),
    person({ name, roles = [], nick }) {
      const id = world.newId();
      const member = {
        user: newUser(id, name),
        nick: nick ?? null,
        roles: roles.map((role) => roleIds[role]),
      };
      world.members.set(id, member);
      return newPerson(member, around);
    },
    messages: (channel) =>
      (world.messages.get(channel) ?? []).filter(({ type }) => type === 0 || type === 19).map(shown),
    threads: (channel) =>
      [...world.channels.values()].filter(({ parent_id: parent }) => parent === channel).map(({ id }) => id),
    async removeThread(id) {
      const thread = world.channels.get(id);
      world.channels.delete(id);
      world.messages.delete(id);
      gateway.dispatch('THREAD_DELETE', {
        id,
        guild_id: world.guild,
        parent_id: thread?.parent_id ?? null,
        type: thread?.type,
      });
      await http.quiet(60);
    },
    archiveThread: (id) => void archive(world, gateway, id, true),
    fail: faults.add,
    heal: faults.clear,
    drop: (code) => opened.drop(code),
    invalidSession: () => opened.invalidate(),
    quiet: http.quiet,
    async close() {
      await opened.close();
      http.server.closeAllConnections();
      await new Promise<void>((resolve) => http.server.close(() => resolve()));
    },
  };
}
