import nock from 'nock';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { createApi, failure, isGone, uncertain } from '../../../adapters/slack/api.ts';
import { body, view } from '../../../adapters/slack/outbound.ts';

/** The calls of Slack's Web API as they leave, and its errors as they are understood (https://docs.slack.dev/reference/methods). */

const api = createApi({ botToken: 'xoxb-test' });
const slack = () => nock('https://slack.com', { reqheaders: { authorization: 'Bearer xoxb-test' } });
const hello = body({ kind: 'say', words: 'Hello & <welcome>' }, '', null);
if (!hello) throw new Error('nothing to say');

beforeEach(() => nock.disableNetConnect());
afterEach(() => {
  expect(nock.pendingMocks()).toEqual([]);
  nock.cleanAll();
  nock.enableNetConnect();
});

/** What a call sent, by the name of its argument. */
function hears(method: string, answer: object, status = 200, headers: Record<string, string> = {}) {
  const sent: Record<string, string>[] = [];
  slack()
    .post(`/api/${method}`, (given: Record<string, string>) => {
      sent.push(given);
      return true;
    })
    .reply(status, answer, headers);
  return sent;
}

describe('what leaves', () => {
  test('a message is escaped, quiet, in its thread, and carries its id', async () => {
    const sent = hears('chat.postMessage', { ok: true, ts: '1.2' });
    expect(await api.post('C1', '1.1', hello, 'id-7')).toBe('1.2');
    expect(sent[0]).toMatchObject({
      channel: 'C1',
      thread_ts: '1.1',
      text: 'Hello &amp; &lt;welcome&gt;',
      parse: 'none',
      link_names: 'false',
      unfurl_links: 'false',
      unfurl_media: 'false',
    });
    expect(JSON.parse(sent[0]?.metadata ?? '')).toEqual({
      event_type: 'mendthread',
      event_payload: { id: 'id-7' },
    });
    expect(JSON.parse(sent[0]?.blocks ?? '')[0].text).toMatchObject({ type: 'mrkdwn', verbatim: true });
  });

  test('a change, a private word, a form, a home tab and a look for a message name their place', async () => {
    const changed = hears('chat.update', { ok: true });
    await api.update('C1', '1.2', hello);
    expect(changed[0]).toMatchObject({ channel: 'C1', ts: '1.2' });
    const alone = hears('chat.postEphemeral', { ok: true });
    await api.privately('C1', 'U1', null, hello);
    expect(alone[0]).toMatchObject({ channel: 'C1', user: 'U1' });
    const opened = hears('views.open', { ok: true });
    const field = { id: 'words', label: 'Your words', kind: 'words', example: '' } as const;
    const form = {
      kind: 'form',
      key: 'advise',
      to: 'U1',
      form: 'advise',
      title: 'Advise',
      fields: [field],
    } as const;
    await api.open('trigger', view({ ...form, fields: [field] }, 'slack:C1/1.1'));
    expect(opened[0]).toMatchObject({ trigger_id: 'trigger' });
    const home = hears('views.publish', { ok: true });
    await api.publish('U1', { type: 'home', blocks: [] });
    expect(home[0]).toMatchObject({ user_id: 'U1' });
    const metadata = { event_type: 'mendthread', event_payload: { id: 'id-7' } };
    const looked = hears('conversations.replies', {
      ok: true,
      messages: [{ ts: '1.1' }, { ts: '1.2', metadata }],
    });
    expect(await api.find('C1', '1.1', 'id-7')).toBe('1.2');
    expect(looked[0]).toMatchObject({ channel: 'C1', ts: '1.1', include_all_metadata: 'true' });
  });
});

describe('what comes back', () => {
  const cause = async (
    answer: object,
    status = 200,
    headers: Record<string, string> = {},
  ): Promise<unknown> => {
    hears('chat.postMessage', answer, status, headers);
    return api.post('C1', null, hello, 'x').then(
      () => null,
      (error: unknown) => error,
    );
  };

  test.each([
    'channel_not_found',
    'is_archived',
    'not_in_channel',
    'msg_too_long',
    'invalid_blocks',
    'restricted_action',
  ])('%s will not change: it is refused', async (error) => {
    expect(failure(await cause({ ok: false, error }))).toMatchObject({ code: 'refused' });
  });

  test.each(['internal_error', 'fatal_error', 'service_unavailable', 'token_revoked', 'invalid_auth'])(
    '%s passes: it is tried again',
    async (error) => {
      expect(failure(await cause({ ok: false, error }))).toMatchObject({ code: 'away' });
    },
  );

  test('429 waits as long as it says; 500 may have been done, and is not tried again by the client', async () => {
    expect(failure(await cause({ ok: false }, 429, { 'retry-after': '7' }))).toMatchObject({
      code: 'slow-down',
      after: 7000,
    });
    const broken = await cause({}, 500);
    expect(failure(broken)).toMatchObject({ code: 'away' });
    expect(uncertain(broken)).toBe(true);
    expect(uncertain(await cause({ ok: false, error: 'channel_not_found' }))).toBe(false);
    expect(isGone(await cause({ ok: false, error: 'message_not_found' }))).toBe(true);
  });

  test('no failure holds what was said or the token', async () => {
    for (const error of [await cause({ ok: false, error: 'no_text' }), await cause({}, 500)])
      expect(failure(error).message).not.toMatch(/Hello|xoxb/);
  });
});
