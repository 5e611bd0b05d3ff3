import nock from 'nock';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { createApi, failure, isAsleep, isExpired, isGone, nonceOf } from '../../../adapters/discord/api.ts';
import { bodies, modal } from '../../../adapters/discord/outbound.ts';

/** The calls of Discord's API as they leave, and its errors as they are understood (https://discord.com/developers/docs). */

const token = 'test-token';
const newApi = () =>
  createApi({ token, makeRequest: (url, init) => fetch(url, init as RequestInit) as never });
let api = newApi();
const discord = () => nock('https://discord.com');
const [hello] = bodies({ kind: 'say', words: 'Hello *there* @everyone' }, 'discord:1');
if (!hello) throw new Error('nothing to say');

beforeEach(() => {
  nock.disableNetConnect();
  // A client whose token was refused once has none any more.
  api = newApi();
});
afterEach(() => {
  expect(nock.pendingMocks()).toEqual([]);
  nock.cleanAll();
  nock.enableNetConnect();
});

describe('what leaves', () => {
  test('a message pings nobody and carries a nonce that is the same at every try', async () => {
    const sent: object[] = [];
    discord()
      .post('/api/v10/channels/1/messages', (body) => sent.push(body) > 0)
      .matchHeader('authorization', `Bot ${token}`)
      .reply(200, { id: '5' });
    const nonce = nonceOf('delivery-1', 0);
    expect(await api.post('1', hello, nonce)).toMatchObject({ id: '5' });
    expect(sent[0]).toMatchObject({ nonce, enforce_nonce: true, allowed_mentions: { parse: [] } });
    expect(JSON.stringify(sent[0])).toContain('Hello \\\\*there\\\\*');
    expect(nonce).toBe(nonceOf('delivery-1', 0));
    expect(nonce.length).toBeLessThanOrEqual(25);
    expect(nonceOf('delivery-1', 1)).not.toBe(nonce);
  });

  test('a change, a thread and an answer go where they belong; an answer needs no token', async () => {
    discord().patch('/api/v10/channels/1/messages/5').reply(200, {});
    await api.edit('1', '5', hello);
    discord()
      .post('/api/v10/channels/1/threads', (body) => body.type === 11 && body.name === 'A repair')
      .reply(200, { id: '9' });
    expect(await api.newThread('1', 'A repair')).toBe('9');
    const sent: { readonly type?: number }[] = [];
    discord()
      .post('/api/v10/interactions/7/secret/callback', (body) => sent.push(body) > 0)
      .reply(204);
    const field = { id: 'words', label: 'Your words', kind: 'words', example: '' } as const;
    const form = {
      kind: 'form',
      key: 'advise',
      to: 'x',
      form: 'advise',
      title: 'Advise',
      fields: [field],
    } as const;
    await api.respond('7', 'secret', 9, modal({ ...form, fields: [field] }, 'discord:1'));
    expect(sent[0]).toMatchObject({ type: 9, data: { title: 'Advise' } });
  });

  test('what was answered twice is answered', async () => {
    discord()
      .post('/api/v10/interactions/7/secret/callback')
      .reply(400, { code: 40060, message: 'Interaction has already been acknowledged.' });
    await expect(api.respond('7', 'secret', 6)).resolves.toBeUndefined();
  });
});

describe('what comes back', () => {
  const cause = async (
    status: number,
    body: object,
    headers: Record<string, string> = {},
  ): Promise<unknown> => {
    discord().post('/api/v10/channels/1/messages').reply(status, body, headers);
    return api.post('1', hello, 'n').then(
      () => null,
      (error: unknown) => error,
    );
  };

  test.each([
    [403, 50001, 'Missing Access'],
    [403, 50013, 'Missing Permissions'],
    [404, 10003, 'Unknown Channel'],
    [400, 50035, 'Invalid Form Body'],
  ])('%i with %i will not change: it is refused', async (status, code, message) => {
    expect(failure(await cause(status, { code, message }))).toMatchObject({ code: 'refused' });
  });

  test('what is gone, asleep or expired is told apart', async () => {
    expect(isGone(await cause(404, { code: 10003, message: 'Unknown Channel' }))).toBe(true);
    expect(isAsleep(await cause(400, { code: 50083, message: 'Thread is archived' }))).toBe(true);
    expect(isExpired(await cause(404, { code: 10062, message: 'Unknown interaction' }))).toBe(true);
  });

  test('500 and a token that was taken back are away, and the client does not try again by itself', async () => {
    expect(failure(await cause(500, {}))).toMatchObject({ code: 'away' });
    expect(failure(await cause(401, { code: 0, message: '401: Unauthorized' }))).toMatchObject({
      code: 'away',
    });
  });

  test('no failure holds what was said or the token', async () => {
    for (const error of [await cause(400, { code: 50035, message: 'Hello' }), await cause(500, {})])
      expect(failure(error).message).not.toMatch(/Hello|test-token/);
  });

  test('429 waits as long as it says', async () => {
    const limited = { message: 'You are being rate limited.', retry_after: 3, global: false };
    const error = await cause(429, limited, { 'retry-after': '3' });
    expect(failure(error)).toMatchObject({ code: 'slow-down', scope: 'thread' });
    expect(failure(error).after).toBeGreaterThanOrEqual(3000);
  });
});
