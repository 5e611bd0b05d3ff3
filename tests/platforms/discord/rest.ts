import type { Faults } from './faults.ts';
import type { Gateway } from './gateway.ts';
import type { Interactions } from './interactions.ts';
import { commandsProblems, threadProblems } from './limits.ts';
import type { Messages } from './messages.ts';
import { schemaProblems } from './schemas.ts';
import { addThread, archive } from './threads.ts';
import { type Channel, type File, type MessageBody, Refused } from './wire.ts';
import { memberWire, threadTypes, type World } from './world.ts';

/** Discord's API as far as it is answered here: https://discord.com/developers/docs/reference. */

export interface Asked {
  readonly body: never;
  readonly files: readonly File[];
  readonly ids: readonly string[];
}
type Handle = (asked: Asked) => unknown;
export interface Route {
  readonly method: string;
  readonly path: RegExp;
  /** Everything but what has a secret of its own wants the token. */
  readonly open: boolean;
  readonly handle: Handle;
}

export interface Parts {
  readonly world: World;
  readonly gateway: Gateway;
  readonly messages: Messages;
  readonly interactions: Interactions;
  readonly faults: Faults;
  readonly gatewayUrl: () => string;
}

export function routes({ world, gateway, messages, interactions, gatewayUrl }: Parts): readonly Route[] {
  const list: Route[] = [];
  const on = (method: string, path: string, handle: Handle, open = false): void => {
    const pattern = path.replace(/:\w+/g, '([^/]+)').replace(/@/g, '(?:@|%40)');
    list.push({ method, path: new RegExp(`^${pattern}$`), open, handle });
  };
  const guild = (id: string | undefined): void => {
    if (id !== world.guild) throw new Refused(404, 10004, 'Unknown Guild');
  };
  const channel = (id: string | undefined): Channel => {
    const found = world.channels.get(id ?? '');
    if (!found) throw new Refused(404, 10003, 'Unknown Channel');
    return found;
  };
  const application = {
    id: world.application,
    name: 'Mend',
    icon: null,
    description: '',
    bot_public: false,
    bot_require_code_grant: false,
    verify_key: '',
    flags: 1 << 18,
    bot: world.me,
  };

  on('GET', '/gateway/bot', () => ({
    url: gatewayUrl(),
    shards: 1,
    session_start_limit: { total: 1000, remaining: 999, reset_after: 14_400_000, max_concurrency: 1 },
  }));
  on('GET', '/users/@me', () => ({ ...world.me, verified: true, mfa_enabled: false, flags: 0 }));
  on('GET', '/oauth2/applications/@me', () => application);
  on('GET', '/applications/@me', () => application);

  on('GET', '/guilds/:g', ({ ids: [id] }) => {
    guild(id);
    return { id: world.guild, name: 'Repair café of Ostrey', roles: world.roles };
  });
  on('GET', '/guilds/:g/channels', ({ ids: [id] }) => {
    guild(id);
    return [...world.channels.values()].filter(
      ({ guild_id: of, type }) => of === world.guild && !threadTypes.includes(type),
    );
  });
  on('GET', '/guilds/:g/roles', ({ ids: [id] }) => {
    guild(id);
    return world.roles;
  });
  on('GET', '/guilds/:g/members/:u', ({ ids: [id, who] }) => {
    guild(id);
    const member = world.members.get(who ?? '');
    if (!member) throw new Refused(404, 10007, 'Unknown Member');
    return memberWire(member);
  });

  on('GET', '/channels/:c', ({ ids: [id] }) => channel(id));
  on('PATCH', '/channels/:c', ({ ids: [id], body }) => {
    const { archived } = body as { readonly archived?: boolean };
    messages.check('PATCH channel', archived === false ? [] : ['only waking a thread is known here']);
    return archive(world, gateway, channel(id).id, false);
  });
  on('POST', '/channels/:c/messages', ({ ids: [id], body, files }) =>
    messages.post(channel(id).id, body as MessageBody, files),
  );
  on('GET', '/channels/:c/messages/:m', ({ ids: [id, which] }) => {
    const found = messages.find(channel(id).id, which ?? '');
    if (!found) throw new Refused(404, 10008, 'Unknown Message');
    return found;
  });
  on('PATCH', '/channels/:c/messages/:m', ({ ids: [id, which], body }) =>
    messages.change(channel(id).id, which ?? '', body as MessageBody),
  );
  on('DELETE', '/channels/:c/messages/:m', ({ ids: [id, which] }) => {
    messages.remove(channel(id).id, which ?? '');
  });

  const newThread = (
    parent: Channel,
    body: { readonly name?: string; readonly type?: number },
    id = world.newId(),
  ): Channel => {
    if (parent.type !== 0) throw new Refused(400, 50024, 'Cannot execute action on this channel type');
    if (world.channels.has(id))
      throw new Refused(400, 160004, 'A thread has already been created for this message');
    return addThread(world, gateway, {
      id,
      name: body.name ?? '',
      parent,
      owner: world.me.id,
      type: body.type ?? 11,
    });
  };
  on('POST', '/channels/:c/threads', ({ ids: [id], body }) => {
    messages.check('POST thread', [...threadProblems(body), ...schemaProblems('thread', body)]);
    const parent = channel(id);
    const thread = newThread(parent, body);
    messages.add(
      messages.make({ content: thread.name ?? '' }, { channel: parent.id, author: world.me, type: 18 }),
    );
    return thread;
  });
  on('POST', '/channels/:c/messages/:m/threads', ({ ids: [id, which = ''], body }) => {
    messages.check('POST thread', [...threadProblems(body), ...schemaProblems('threadOnMessage', body)]);
    const parent = channel(id);
    const first = messages.find(parent.id, which);
    if (!first) throw new Refused(404, 10008, 'Unknown Message');
    const thread = newThread(parent, body, which);
    messages.add(messages.make({}, { channel: thread.id, author: first.author, type: 21 }));
    return thread;
  });

  on(
    'POST',
    '/interactions/:i/:t/callback',
    ({ ids: [id = '', token = ''], body }) => interactions.callback(id, token, body),
    true,
  );
  on(
    'POST',
    '/webhooks/:a/:t',
    ({ ids: [app = '', token = ''], body }) => interactions.followUp(app, token, body as MessageBody),
    true,
  );
  on(
    'PATCH',
    '/webhooks/:a/:t/messages/@original',
    ({ ids: [app = '', token = ''], body }) => interactions.changeOriginal(app, token, body as MessageBody),
    true,
  );

  let direct: readonly object[] = [];
  on('GET', '/applications/:a/commands', () => direct);
  on('PUT', '/applications/:a/commands', ({ body }) => {
    const wanted = body as readonly object[];
    messages.check('PUT commands', [
      ...commandsProblems(wanted),
      ...wanted.flatMap((one) => schemaProblems('command', one)),
    ]);
    direct = wanted.map((one) => ({ id: world.newId(), ...one }));
    return direct;
  });
  on('GET', '/applications/:a/guilds/:g/commands', ({ ids: [, id] }) => {
    guild(id);
    return world.commands;
  });
  on('PUT', '/applications/:a/guilds/:g/commands', ({ ids: [, id], body }) => {
    guild(id);
    const wanted = body as readonly object[];
    messages.check('PUT commands', [
      ...commandsProblems(wanted),
      ...wanted.flatMap((one) => schemaProblems('command', one)),
    ]);
    world.commandsWritten += 1;
    // `contexts` and `integration_types` are "only for globally-scoped commands".
    world.commands = wanted.map((one) => ({
      id: world.newId(),
      application_id: world.application,
      guild_id: world.guild,
      version: world.newId(),
      default_member_permissions: null,
      description: '',
      nsfw: false,
      ...one,
      contexts: null,
      integration_types: [0],
    }));
    return world.commands;
  });
  return list;
}
