import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { createDiscord } from '../../adapters/discord/discord.ts';
import type { Inbound } from '../../shared/inbound.ts';
import { commandsProblems, messageProblems, modalProblems } from './discord/limits.ts';
import { pingsIn } from './discord/pings.ts';
import { type DiscordServer, startDiscord } from './discord-server.ts';

/** The loopback Discord refuses what the real one refuses, by the documentation of Discord's API version 10. */

let server: DiscordServer;
const closing: (() => Promise<void>)[] = [];
beforeEach(async () => {
  server = await startDiscord();
  closing.push(() => server.close());
});
afterEach(async () => {
  for (const close of closing.splice(0).reverse()) await close();
});

async function connected(answer?: Parameters<ReturnType<typeof createDiscord>['start']>[0]) {
  const received: Inbound[] = [];
  const adapter = createDiscord({
    token: server.token,
    apiUrl: server.url,
    place: {
      guild: server.guild,
      help_channels: ['help'],
      review_channel: 'bench',
      mender_roles: ['mender'],
      moderator_roles: ['moderator'],
    },
    draw: async () => ({ png: new Uint8Array([1]), width: 1, height: 1 }),
    notice: () => undefined,
    now: Date.now,
  });
  closing.push(() => adapter.stop());
  await adapter.start(
    answer ??
      (async (inbound) => {
        received.push(inbound);
        return 'taken';
      }),
    { latest: async () => null, request: async () => ({ words: 'nothing', cases: [] }) },
  );
  return received;
}

async function call(method: string, path: string, body?: object, token = server.token) {
  const response = await fetch(`${server.url}/v10${path}`, {
    method,
    headers: { authorization: `Bot ${token}`, 'content-type': 'application/json' },
    ...(body ? { body: JSON.stringify(body) } : {}),
  });
  const text = await response.text();
  return { status: response.status, ...(text === '' ? {} : (JSON.parse(text) as object)) };
}
const post = (body: object) => call('POST', `/channels/${server.places.talk}/messages`, body);

test('a bot connects, hears a command and answers it', async () => {
  const received = await connected();
  const ann = server.person({ name: 'Ann' });
  const came = await ann.command(server.places.repairs, 'mend', 'start', { about: 'It hums' });
  expect(came.answered).toBe(true);
  expect(received).toMatchObject([{ kind: 'opened', words: 'It hums' }]);
  expect(server.violations).toEqual([]);
  expect(server.acknowledgedAfter).toHaveLength(1);
});

test('nobody without the token is answered', async () => {
  expect(await call('GET', '/users/@me', undefined, 'other')).toMatchObject({ status: 401 });
  expect(await call('GET', '/users/@me')).toMatchObject({ status: 200, id: server.botId });
});

describe('a message', () => {
  test('with the same nonce is the first one, where that is wanted', async () => {
    const body = { content: 'one', nonce: 'n1', enforce_nonce: true };
    const first = await post(body);
    expect(await post({ ...body, content: 'two' })).toEqual(first);
    await post({ content: 'three', nonce: 'n1' });
    expect(server.messages(server.places.talk).map(({ content }) => content)).toEqual(['one', 'three']);
  });

  test.each([
    ['too long', { content: 'x'.repeat(2001) }],
    ['with an embed too long', { embeds: [{ description: 'x'.repeat(4097) }] }],
    [
      'with embeds too long together',
      { embeds: [{ description: 'x'.repeat(4000) }, { description: 'x'.repeat(2001) }] },
    ],
    [
      'with an unknown kind of component',
      { content: 'x', components: [{ type: 1, components: [{ type: 77 }] }] },
    ],
    ['with a nonce too long', { content: 'x', nonce: 'n'.repeat(26) }],
    ['with a number where text belongs', { content: 5 }],
  ])('%s is refused, and remembered', async (_, body) => {
    expect(await post(body)).toMatchObject({ status: 400, code: 50035 });
    expect(server.violations).toHaveLength(1);
    expect(server.messages(server.places.talk)).toEqual([]);
  });

  test('that is empty is refused', async () => {
    expect(await post({ content: ' ' })).toMatchObject({ status: 400, code: 50006 });
    expect(server.violations).toHaveLength(1);
  });

  test('of somebody else cannot be changed; one that is gone neither', async () => {
    const ann = server.person({ name: 'Ann' });
    const { id } = await ann.write(server.places.talk, 'hello');
    const path = `/channels/${server.places.talk}/messages`;
    expect(await call('PATCH', `${path}/${id}`, { content: 'x' })).toMatchObject({
      status: 403,
      code: 50005,
    });
    expect(await call('PATCH', `${path}/1`, { content: 'x' })).toMatchObject({ status: 404, code: 10008 });
    expect(await call('PATCH', '/channels/1/messages/1', { content: 'x' })).toMatchObject({ code: 10003 });
  });

  test('that calls somebody is remembered', async () => {
    await post({ content: 'hello @everyone' });
    await post({ content: 'hello <@1>', allowed_mentions: { parse: [] } });
    expect(server.pings).toEqual(['@everyone']);
  });
});

test('a thread on a message is made once', async () => {
  const { id } = await server.person({ name: 'Ann' }).write(server.places.talk, 'hello');
  const path = `/channels/${server.places.talk}/messages/${id}/threads`;
  expect(await call('POST', path, { name: 'one' })).toMatchObject({ status: 200, id });
  expect(await call('POST', path, { name: 'two' })).toMatchObject({ status: 400, code: 160004 });
  expect(await call('POST', `/channels/${id}/threads`, { name: 'three' })).toMatchObject({ code: 50024 });
});

describe('what is tapped or commanded', () => {
  test('is answered once', async () => {
    await connected();
    const ann = server.person({ name: 'Ann' });
    await ann.command(server.places.talk, 'mend', 'mine');
    const [path = ''] = server.requests().flatMap((line) => /^POST (\S+\/callback)/.exec(line)?.[1] ?? []);
    expect(await call('POST', path, { type: 4, data: { content: 'again' } })).toMatchObject({
      status: 400,
      code: 40060,
    });
    expect(await call('POST', '/interactions/1/x/callback', { type: 6 })).toMatchObject({ code: 10062 });
    expect(await call('POST', `/webhooks/${server.botId}/x`, { content: 'x' })).toMatchObject({
      code: 10015,
    });
  });

  test('and not answered within three seconds is remembered', async () => {
    await connected();
    server.fail({ path: /callback$/, how: '403', times: 10 });
    const came = await server.person({ name: 'Ann' }).command(server.places.talk, 'mend', 'mine');
    expect(came.answered).toBe(false);
    expect(server.unacknowledged).toEqual(['/mend mine']);
  });

  test('is only what a client shows: commands that there are, in the server, and buttons that stand there', async () => {
    await connected();
    const ann = server.person({ name: 'Ann' });
    await expect(ann.command(server.places.talk, 'mend', 'fly')).rejects.toThrow('no command mend fly');
    await expect(ann.command(ann.dm(), 'mend', 'mine')).rejects.toThrow('direct message');
    await expect(ann.tap(await ann.write(server.places.talk, 'x'), 'Yes')).rejects.toThrow('no button');
  });
});

describe('limits that are checked by hand', () => {
  const button = (custom_id: string, label = 'x') => ({ type: 2, style: 1, label, custom_id });
  const row = (...components: object[]) => ({ type: 1, components });
  const menu = (...options: object[]) => ({ type: 3, custom_id: 'm', options });
  const option = (value: string) => ({ label: 'x', value });

  test.each([
    ['six rows', Array.from({ length: 6 }, (_, i) => row(button(`b${i}`)))],
    ['six buttons in a row', [row(...Array.from({ length: 6 }, (_, i) => button(`b${i}`)))]],
    ['an empty row', [row()]],
    ['the same custom_id twice', [row(button('a'), button('a'))]],
    ['a label too long', [row(button('a', 'x'.repeat(81)))]],
    ['a blank label', [row(button('a', ' '))]],
    ['a custom_id too long', [row(button('a'.repeat(101)))]],
    ['a menu beside a button', [row(menu(option('1')), button('a'))]],
    ['26 options', [row(menu(...Array.from({ length: 26 }, (_, i) => option(`${i}`))))]],
    ['no option', [row(menu())]],
    ['the same option twice', [row(menu(option('1'), option('1')))]],
  ])('%s', (_, components) => {
    expect(messageProblems({ content: 'x', components: components as never })).not.toEqual([]);
  });
  test('what is within them has no problem', () => {
    const rows = Array.from({ length: 5 }, (_, i) => row(button(`a${i}`), button(`b${i}`, 'x'.repeat(80))));
    expect(messageProblems({ content: 'x'.repeat(2000), components: rows as never })).toEqual([]);
  });

  const label = (component: object, words = 'x') => ({ type: 18, label: words, component });
  const input = { type: 4, custom_id: 'i', style: 1 };
  test.each([
    ['a title too long', { title: 'x'.repeat(46), custom_id: 'm', components: [label(input)] }],
    ['no field', { title: 'x', custom_id: 'm', components: [] }],
    ['a label too long', { title: 'x', custom_id: 'm', components: [label(input, 'x'.repeat(46))] }],
    ['the same field twice', { title: 'x', custom_id: 'm', components: [label(input), label(input)] }],
    [
      'a field that takes nothing',
      { title: 'x', custom_id: 'm', components: [label({ ...input, max_length: 0 })] },
    ],
    [
      'a menu that is required and takes none',
      {
        title: 'x',
        custom_id: 'm',
        components: [label({ ...menu(option('1')), required: true, min_values: 0 })],
      },
    ],
  ])('of a form: %s', (_, modal) => {
    expect(modalProblems(modal as never)).toHaveLength(1);
  });

  test('of commands: names and descriptions', () => {
    expect(commandsProblems([{ name: 'Mend', description: 'x' }])).toHaveLength(1);
    expect(commandsProblems([{ name: 'mend', description: '' }])).toHaveLength(1);
    expect(commandsProblems([{ name: 'mend', description: 'x' }])).toEqual([]);
  });

  test.each([
    [{ content: '@everyone' }, 1],
    [{ content: '<@1> <@!2> <@&3>' }, 3],
    [{ content: '\\<@1>' }, 1],
    [{ content: '<@1> <@2>', allowed_mentions: { users: ['1'] } }, 1],
    [{ content: '@everyone <@1>', allowed_mentions: { parse: [] } }, 0],
    [{ content: 'x', message_reference: { message_id: '1' } }, 1],
    [
      {
        content: 'x',
        message_reference: { message_id: '1' },
        allowed_mentions: { parse: [], replied_user: false },
      },
      0,
    ],
  ])('of calling: %j', (body, count) => {
    expect(pingsIn(body)).toHaveLength(count);
  });
});
