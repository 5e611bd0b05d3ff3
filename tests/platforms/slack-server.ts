import { createHmac, randomUUID } from 'node:crypto';
import { createServer, type IncomingMessage, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { type WebSocket, WebSocketServer } from 'ws';
import { pings, wrongMessage, wrongView } from './slack/limits.ts';

/**
 * A Slack of our own on this machine, for the real client: Web API, socket mode or signed requests, people to act for, and
 * faults to have. It keeps the published limits and refuses what exceeds them.
 */
type Any = Record<string, unknown>;

export interface Posted {
  readonly channel: string;
  readonly ts: string;
  readonly thread: string | null;
  readonly user: string;
  text: string;
  blocks: Any[];
  metadata: Any | null;
  edited: number;
}

/** What came back to somebody alone. */
export interface Came {
  readonly privately: string[];
  readonly views: Any[];
  /** HTTP status, or 200 for an envelope that was acknowledged; null: not in three seconds. */
  readonly status: number | null;
}

export interface Fault {
  readonly method: string;
  times: number;
  /** `500-after`: the work was done. Anything else is an error code of Slack's. */
  readonly how: '429' | '500' | '500-after' | 'reset' | (string & {});
}

export type SlackServer = Awaited<ReturnType<typeof startSlack>>;
export type SlackPerson = ReturnType<SlackServer['person']>;

export const botUser = 'UBOT00001';

export async function startSlack(options: { readonly mode?: 'socket' | 'http' } = {}) {
  const mode = options.mode ?? 'socket';
  const botToken = 'xoxb-loopback';
  const appToken = 'xapp-loopback';
  const signingSecret = 'loopback-signing-secret';
  const messages: Posted[] = [];
  const violations: string[] = [];
  const pinged: string[] = [];
  const calls: string[] = [];
  const homes = new Map<string, Any>();
  const uploads: Any[] = [];
  const faults: Fault[] = [];
  const acknowledged: number[] = [];
  let unacknowledged = 0;
  const people = new Map<
    string,
    { readonly id: string; readonly name: string; readonly groups: readonly string[] }
  >();
  const channels = ['help', 'general', 'review'].map((name, i) => ({ id: `C0000000${i + 1}`, name }));
  const groups = ['menders', 'moderators'].map((handle, i) => ({ id: `S0000000${i + 1}`, handle }));
  /** What each person got privately since they last did something. */
  const inbox = new Map<string, { privately: string[]; views: Any[] }>();
  let clock = 1_900_000_000;
  let count = 0;
  const nextTs = (): string => `${++clock}.${String(++count).padStart(6, '0')}`;
  const boxOf = (user: string) => {
    const box = inbox.get(user) ?? { privately: [], views: [] };
    inbox.set(user, box);
    return box;
  };
  const shown = ({ text, blocks }: { text: string; blocks: Any[] }): string =>
    [text, ...blocks.map((block) => textOf(block))].filter((one) => one !== '').join('\n');

  // Web API.

  function post(call: Any): Any {
    const wrong = wrongMessage(call);
    if (wrong.length > 0) {
      violations.push(...wrong.map((one) => `chat.postMessage: ${one}`));
      return { ok: false, error: 'invalid_blocks', response_metadata: { messages: wrong } };
    }
    pinged.push(...pings(call));
    const ts = nextTs();
    messages.push({
      channel: String(call.channel),
      ts,
      thread: typeof call.thread_ts === 'string' ? call.thread_ts : null,
      user: botUser,
      text: String(call.text ?? ''),
      blocks: (call.blocks as Any[] | undefined) ?? [],
      metadata: (call.metadata as Any | undefined) ?? null,
      edited: 0,
    });
    return { ok: true, channel: call.channel, ts, message: { ts, text: call.text } };
  }

  const plain = (one: Posted): Any => ({
    type: 'message',
    user: one.user,
    text: one.text,
    ts: one.ts,
    ...(one.thread ? { thread_ts: one.thread } : {}),
    ...(one.metadata ? { metadata: one.metadata } : {}),
  });

  const methods: Record<string, (call: Any) => Any> = {
    'auth.test': () => ({
      ok: true,
      user_id: botUser,
      team_id: 'T1',
      bot_id: 'B1',
      url: 'https://example.org/',
    }),
    'apps.connections.open': () => ({ ok: true, url: socketUrl() }),
    'chat.postMessage': post,
    'chat.update': (call) => {
      const one = messages.find(({ channel, ts }) => channel === call.channel && ts === call.ts);
      if (!one) return { ok: false, error: 'message_not_found' };
      const wrong = wrongMessage(call);
      if (wrong.length > 0) {
        violations.push(...wrong.map((each) => `chat.update: ${each}`));
        return { ok: false, error: 'invalid_blocks' };
      }
      pinged.push(...pings(call));
      one.text = String(call.text ?? '');
      one.blocks = (call.blocks as Any[] | undefined) ?? [];
      one.edited += 1;
      return { ok: true, channel: one.channel, ts: one.ts };
    },
    'chat.postEphemeral': (call) => {
      const wrong = wrongMessage(call);
      if (wrong.length > 0) {
        violations.push(...wrong.map((one) => `chat.postEphemeral: ${one}`));
        return { ok: false, error: 'invalid_blocks' };
      }
      pinged.push(...pings(call));
      boxOf(String(call.user)).privately.push(
        shown({ text: String(call.text ?? ''), blocks: (call.blocks as Any[] | undefined) ?? [] }),
      );
      return { ok: true, message_ts: nextTs() };
    },
    'chat.getPermalink': ({ channel, message_ts }) => ({
      ok: true,
      permalink: `https://example.org/archives/${channel}/p${String(message_ts).replace('.', '')}`,
    }),
    'conversations.list': () => ({
      ok: true,
      channels: channels.map((one) => ({ ...one, is_member: true, is_channel: true })),
      response_metadata: { next_cursor: '' },
    }),
    'conversations.replies': ({ channel, ts }) => ({
      ok: true,
      messages: messages
        .filter((one) => one.channel === channel && (one.ts === ts || one.thread === ts))
        .map(plain),
    }),
    'conversations.history': ({ channel }) => ({
      ok: true,
      messages: messages
        .filter((one) => one.channel === channel && one.thread === null)
        .map(plain)
        .reverse()
        .slice(0, 100),
    }),
    'users.info': ({ user }) => {
      const found = people.get(String(user));
      return found
        ? {
            ok: true,
            user: { id: found.id, name: found.name.toLowerCase(), profile: { display_name: found.name } },
          }
        : { ok: false, error: 'user_not_found' };
    },
    'users.list': () => ({
      ok: true,
      members: [...people.values()].map(({ id, name }) => ({ id, name, profile: { display_name: name } })),
    }),
    'usergroups.list': () => ({ ok: true, usergroups: groups }),
    'usergroups.users.list': ({ usergroup }) => ({
      ok: true,
      users: [...people.values()]
        .filter((one) => one.groups.includes(groups.find(({ id }) => id === usergroup)?.handle ?? ''))
        .map(({ id }) => id),
    }),
    'views.open': ({ view, trigger_id }) => {
      const wrong = wrongView(view as Any);
      if (wrong.length > 0) {
        violations.push(...wrong.map((one) => `views.open: ${one}`));
        return { ok: false, error: 'invalid_arguments' };
      }
      boxOf(String(trigger_id).split(':')[1] ?? '').views.push({ ...(view as Any), id: `V${++count}` });
      return { ok: true, view: { id: `V${count}` } };
    },
    'views.publish': ({ view, user_id }) => {
      violations.push(...wrongView(view as Any).map((one) => `views.publish: ${one}`));
      homes.set(String(user_id), view as Any);
      return { ok: true };
    },
    'files.getUploadURLExternal': () => ({
      ok: true,
      upload_url: `${base()}/upload`,
      file_id: `F${++count}`,
    }),
    'files.completeUploadExternal': (call) => {
      uploads.push(call);
      return { ok: true, files: call.files };
    },
  };

  async function answer(request: IncomingMessage, response: ServerResponse): Promise<void> {
    const { pathname } = new URL(request.url ?? '/', 'http://localhost');
    const chunks: Buffer[] = [];
    for await (const chunk of request) chunks.push(chunk as Buffer);
    const raw = Buffer.concat(chunks).toString('utf8');
    const reply = (status: number, body: Any, headers: Record<string, string> = {}): void => {
      response.writeHead(status, { 'content-type': 'application/json', ...headers });
      response.end(JSON.stringify(body));
    };
    if (pathname === '/upload') return reply(200, { ok: true });
    const method = pathname.replace(/^\/api\//, '');
    calls.push(method);
    const token =
      (request.headers.authorization ?? '').replace(/^Bearer /, '') ||
      (new URLSearchParams(raw).get('token') ?? '');
    if (token !== (method === 'apps.connections.open' ? appToken : botToken))
      return reply(200, { ok: false, error: 'invalid_auth' });
    const fault = faults.find((one) => one.method === method && one.times > 0);
    if (fault) fault.times -= 1;
    if (fault?.how === 'reset') return void request.socket.destroy();
    if (fault?.how === '429') return reply(429, { ok: false, error: 'ratelimited' }, { 'retry-after': '1' });
    if (fault?.how === '500') return reply(500, {});
    if (fault && fault.how !== '500-after') return reply(200, { ok: false, error: fault.how });
    const known = methods[method];
    if (!known) {
      violations.push(`no method ${method}`);
      return reply(200, { ok: false, error: 'unknown_method' });
    }
    const done = known(parse(raw, request.headers['content-type'] ?? ''));
    if (fault) return reply(500, {});
    reply(200, done, {
      'x-oauth-scopes':
        'app_mentions:read,channels:history,channels:read,chat:write,commands,files:read,files:write,groups:history,groups:read,im:history,usergroups:read,users:read',
    });
  }

  const http = createServer((request, response) => {
    answer(request, response).catch(() => response.destroy());
  });
  const sockets = new WebSocketServer({ server: http });
  let socket: WebSocket | null = null;
  const waiting = new Map<string, (payload: unknown) => void>();
  sockets.on('connection', (one) => {
    socket = one;
    one.on('message', (data) => {
      const said = JSON.parse(String(data)) as { envelope_id?: string; payload?: unknown };
      waiting.get(said.envelope_id ?? '')?.(said.payload ?? null);
    });
    one.send(JSON.stringify({ type: 'hello', num_connections: 1, connection_info: { app_id: 'A1' } }));
  });
  await new Promise<void>((resolve) => http.listen(0, '127.0.0.1', resolve));
  const { port } = http.address() as AddressInfo;
  const base = (): string => `http://127.0.0.1:${port}`;
  const socketUrl = (): string => `ws://127.0.0.1:${port}/socket`;
  /** Where the bot listens, with `mode` http. */
  let botUrl = '';

  // What people do, brought to the bot.

  async function bring(
    type: 'events_api' | 'slash_commands' | 'interactive',
    payload: Any,
    again = false,
  ): Promise<number | null> {
    const began = performance.now();
    const status = await (mode === 'socket' ? overSocket(type, payload, again) : signed(type, payload));
    if (status === null) unacknowledged += 1;
    else acknowledged.push(performance.now() - began);
    return status;
  }

  async function overSocket(type: string, payload: Any, again: boolean): Promise<number | null> {
    const envelope_id = randomUUID();
    for (let tries = 0; socket?.readyState !== 1 && tries < 300; tries++) await later(20);
    const acked = new Promise<number | null>((resolve) => {
      waiting.set(envelope_id, () => resolve(200));
      setTimeout(() => resolve(null), 3000).unref();
    });
    const envelope = JSON.stringify({ type, envelope_id, payload, accepts_response_payload: true });
    socket?.send(envelope);
    if (again)
      socket?.send(
        JSON.stringify({ type, envelope_id: randomUUID(), payload, accepts_response_payload: true }),
      );
    const status = await acked;
    waiting.delete(envelope_id);
    return status;
  }

  /** As Slack signs its requests (https://docs.slack.dev/authentication/verifying-requests-from-slack). */
  async function signed(
    type: string,
    payload: Any,
    forge: { readonly secret?: string; readonly age?: number } = {},
  ): Promise<number | null> {
    const [path, body, content] =
      type === 'events_api'
        ? ['/slack/events', JSON.stringify(payload), 'application/json']
        : type === 'slash_commands'
          ? [
              '/slack/commands',
              new URLSearchParams(payload as Record<string, string>).toString(),
              'application/x-www-form-urlencoded',
            ]
          : [
              '/slack/interactive',
              new URLSearchParams({ payload: JSON.stringify(payload) }).toString(),
              'application/x-www-form-urlencoded',
            ];
    const stamp = String(Math.floor(Date.now() / 1000) - (forge.age ?? 0));
    const hash = createHmac('sha256', forge.secret ?? signingSecret)
      .update(`v0:${stamp}:${body}`)
      .digest('hex');
    const response = await fetch(`${botUrl}${path}`, {
      method: 'POST',
      body,
      headers: {
        'content-type': content as string,
        'x-slack-request-timestamp': stamp,
        'x-slack-signature': `v0=${hash}`,
      },
      signal: AbortSignal.timeout(3000),
    }).catch(() => null);
    return response?.status ?? null;
  }

  const event = (inner: Any, again = false): Promise<number | null> =>
    bring(
      'events_api',
      { type: 'event_callback', event_id: `Ev${++count}`, team_id: 'T1', event: inner },
      again,
    );

  function person({ name, groups: of = [] }: { readonly name: string; readonly groups?: readonly string[] }) {
    const id = `U${String(people.size + 1).padStart(8, '0')}`;
    people.set(id, { id, name, groups: of });
    const does = async (work: () => Promise<number | null>): Promise<Came> => {
      inbox.set(id, { privately: [], views: [] });
      const status = await work();
      await later(60);
      return { ...boxOf(id), status };
    };
    const trigger = (): string => `${++count}:${id}`;

    async function act(message: Posted, label: string, again = false): Promise<Came> {
      const elements = message.blocks.flatMap((block) => (block.elements as Any[] | undefined) ?? []);
      const tapped = elements.find((one) => one.type === 'button' && textOf(one.text as Any) === label);
      const chosen = elements
        .flatMap((one) =>
          one.type === 'static_select' ? (one.options as Any[]).map((option) => ({ one, option })) : [],
        )
        .find(({ option }) => textOf(option.text as Any) === label);
      if (!tapped && !chosen) throw new Error(`There is no “${label}” in: ${shown(message)}`);
      const action = tapped
        ? { type: 'button', action_id: tapped.action_id, value: tapped.value, action_ts: nextTs() }
        : {
            type: 'static_select',
            action_id: chosen?.one.action_id,
            selected_option: chosen?.option,
            action_ts: nextTs(),
          };
      return does(() =>
        bring(
          'interactive',
          {
            type: 'block_actions',
            user: { id, username: name },
            trigger_id: trigger(),
            channel: { id: message.channel },
            container: { type: 'message', message_ts: message.ts, channel_id: message.channel },
            message: { ts: message.ts, ...(message.thread ? { thread_ts: message.thread } : {}) },
            actions: [action],
          },
          again,
        ),
      );
    }

    return {
      id,
      /** A channel by name, or one's direct messages with the bot. */
      dm: `D${id.slice(1)}`,
      command: (channel: string, command: string, words: string): Promise<Came> =>
        does(() =>
          bring('slash_commands', {
            command,
            text: words,
            user_id: id,
            user_name: name,
            channel_id: channel,
            channel_name: 'x',
            trigger_id: trigger(),
            response_url: `${base()}/upload`,
            team_id: 'T1',
          }),
        ),
      write: (
        channel: string,
        words: string,
        more: { readonly thread?: string; readonly files?: readonly Any[]; readonly again?: boolean } = {},
      ): Promise<Came & { readonly ts: string }> => {
        const ts = nextTs();
        messages.push({
          channel,
          ts,
          thread: more.thread ?? null,
          user: id,
          text: words,
          blocks: [],
          metadata: null,
          edited: 0,
        });
        const inner = {
          type: 'message',
          channel,
          user: id,
          text: words,
          ts,
          ...(more.thread ? { thread_ts: more.thread } : {}),
          ...(more.files ? { files: more.files, subtype: 'file_share' } : {}),
        };
        return does(async () => {
          const status = await event(inner, more.again);
          if (words.includes(`<@${botUser}>`)) await event({ ...inner, type: 'app_mention' });
          return status;
        }).then((came) => ({ ...came, ts }));
      },
      tap: act,
      submit: (view: Any, values: Record<string, string>): Promise<Came> => {
        const blocks = view.blocks as Any[];
        const state = Object.fromEntries(
          blocks.map((block) => {
            const input = block.element as Any;
            const given = values[textOf(block.label as Any)] ?? '';
            const option = (input.options as Any[] | undefined)?.find(
              (one) => textOf(one.text as Any) === given || one.value === given,
            );
            if (input.type === 'static_select' && given !== '' && !option)
              throw new Error(`no option ${given}`);
            return [
              String(block.block_id),
              {
                [String(input.action_id)]:
                  input.type === 'static_select'
                    ? { selected_option: option ?? null }
                    : { value: given === '' ? null : given },
              },
            ];
          }),
        );
        return does(() =>
          bring('interactive', {
            type: 'view_submission',
            user: { id },
            trigger_id: trigger(),
            view: { ...view, hash: 'h', state: { values: state } },
          }),
        );
      },
      shortcut: (message: {
        readonly channel: string;
        readonly ts: string;
        readonly text: string;
      }): Promise<Came> =>
        does(() =>
          bring('interactive', {
            type: 'message_action',
            callback_id: 'mend_this',
            user: { id },
            channel: { id: message.channel },
            trigger_id: trigger(),
            action_ts: nextTs(),
            message: { ts: message.ts, text: message.text },
          }),
        ),
      home: async (): Promise<string> => {
        await does(() => event({ type: 'app_home_opened', user: id, tab: 'home' }));
        return textOf({ blocks: homes.get(id)?.blocks });
      },
      edit: (channel: string, ts: string, before: string, words: string, thread?: string): Promise<Came> =>
        does(() =>
          event({
            type: 'message',
            subtype: 'message_changed',
            channel,
            ts: nextTs(),
            message: { user: id, text: words, ts, ...(thread ? { thread_ts: thread } : {}) },
            previous_message: { user: id, text: before, ts },
          }),
        ),
    };
  }

  return {
    url: `${base()}/api/`,
    botToken,
    appToken,
    signingSecret,
    violations,
    pings: pinged,
    calls,
    uploads,
    acknowledged,
    /** Faults that are still to come. */
    get faultsLeft(): number {
      return faults.reduce((sum, { times }) => sum + times, 0);
    },
    get unacknowledged() {
      return unacknowledged;
    },
    get doubles(): number {
      const ids = messages.flatMap(({ metadata }) =>
        metadata ? [JSON.stringify(metadata.event_payload)] : [],
      );
      return ids.length - new Set(ids).size;
    },
    channel: (name: string): string => channels.find((one) => one.name === name)?.id ?? '',
    person,
    event,
    signed,
    listensAt(url: string) {
      botUrl = url;
    },
    fail(fault: Fault) {
      faults.push(fault);
    },
    /** The connection breaks, or Slack asks for a new one. */
    drop: () => socket?.terminate(),
    refresh: () => socket?.send(JSON.stringify({ type: 'disconnect', reason: 'refresh_requested' })),
    connected: () => socket?.readyState === 1,
    thread: (channel: string, ts: string): Posted[] =>
      messages.filter((one) => one.channel === channel && (one.ts === ts || one.thread === ts)),
    messages: (channel: string): Posted[] => messages.filter((one) => one.channel === channel),
    shown,
    async stop() {
      socket?.terminate();
      sockets.close();
      http.closeAllConnections();
      await new Promise((resolve) => http.close(resolve));
    },
  };
}

export const later = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));

/** All words of a part of a message. */
function textOf(part: unknown): string {
  if (typeof part !== 'object' || part === null) return '';
  const one = part as Any;
  if (typeof one.text === 'string') return one.text;
  return Object.entries(one)
    .flatMap(([name, value]) =>
      name === 'value' || name === 'action_id'
        ? []
        : Array.isArray(value)
          ? value.map(textOf)
          : [textOf(value)],
    )
    .filter((words) => words !== '')
    .join(' ');
}

function parse(raw: string, type: string): Any {
  if (type.startsWith('application/json')) return JSON.parse(raw) as Any;
  const call: Any = {};
  for (const [name, value] of new URLSearchParams(raw)) {
    call[name] = /^[[{]/.test(value) ? json(value) : value;
  }
  return call;
}

function json(value: string): unknown {
  try {
    return JSON.parse(value);
  } catch {
    return value;
  }
}
