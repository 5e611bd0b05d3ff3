import { afterEach, describe, expect, test } from 'vitest';
import { createSlack } from '../../../adapters/slack/slack.ts';
import { botUser, later } from '../../platforms/slack-server.ts';
import { openStage, place, type Stage } from './stage.ts';

/** Conversations on the loopback Slack, through the real client and both of its transports. */

let stage: Stage | null = null;
afterEach(async () => {
  const closing = stage;
  stage = null;
  if (!closing) return;
  // Whatever a test was about: nothing was refused for its form, and nobody was called.
  expect(closing.server.violations).toEqual([]);
  expect(closing.server.pings).toEqual([]);
  expect(closing.server.unacknowledged).toBe(0);
  await closing.close();
});
const open = async (options: Parameters<typeof openStage>[0] = {}): Promise<Stage> => {
  stage = await openStage(options);
  return stage;
};

const words = 'It lights up but is silent';
/** A case in #general up to the first check; its thread. */
async function begun(on: Stage) {
  const { server } = on;
  const ann = server.person({ name: 'Ann' });
  const channel = server.channel('general');
  await ann.command(channel, '/mend', `start ${words}`);
  await on.settled();
  const thread = server.messages(channel)[0]?.ts ?? '';
  await ann.tap(on.withButton(channel, 'It lights up, but it is silent'), 'It lights up, but it is silent');
  await on.settled();
  await ann.tap(on.withButton(channel, 'One with transistors'), 'One with transistors');
  await on.settled();
  return { server, ann, channel, thread, at: `slack:${channel}/${thread}` };
}
const kinds = async (on: Stage, at: string) => (await on.events(at)).map(({ kind }) => kind);

describe('a case begins', () => {
  test('by a mention, by the message shortcut, and in a direct message', async () => {
    const on = await open();
    const { server } = on;
    const ann = server.person({ name: 'Ann' });
    const general = server.channel('general');
    const mention = await ann.write(general, `<@${botUser}> ${words}`);
    await on.settled();
    expect((await on.events(`slack:${general}/${mention.ts}`))[1]).toMatchObject({ kind: 'opened', words });

    const post = await ann.write(general, 'my radio hums &amp; hums');
    expect(server.thread(general, post.ts)).toHaveLength(1);
    await ann.shortcut({ channel: general, ts: post.ts, text: 'my radio hums &amp; hums' });
    await on.settled();
    expect((await on.events(`slack:${general}/${post.ts}`))[1]).toMatchObject({
      words: 'my radio hums & hums',
    });

    const direct = await ann.write(ann.dm, words);
    await on.settled();
    const at = `slack:${ann.dm}/${direct.ts}`;
    expect((await on.events(at))[1]).toMatchObject({ kind: 'opened' });
    // What is written below, not in the thread, is heard all the same.
    await ann.write(ann.dm, 'yes');
    await on.settled();
    expect(await kinds(on, at)).toContain('complaint-stated');
  });

  test('under a post in a help channel only when its author says yes', async () => {
    const on = await open();
    const { server } = on;
    const ann = server.person({ name: 'Ann' });
    const ben = server.person({ name: 'Ben' });
    const help = server.channel('help');
    const { ts } = await ann.write(help, words);
    await on.settled();
    const offer = on.withButton(help, 'Yes, please');
    expect(offer.thread).toBe(ts);
    expect((await ben.tap(offer, 'Yes, please')).privately).toEqual([
      expect.stringContaining('whoever wrote'),
    ]);
    expect(await on.events(`slack:${help}/${ts}`)).toEqual([]);
    await ann.tap(offer, 'Yes, please');
    await on.settled();
    expect((await on.events(`slack:${help}/${ts}`))[1]).toMatchObject({
      kind: 'opened',
      by: `slack:${ann.id}`,
      words,
    });
    expect(JSON.stringify(offer.blocks)).not.toContain('Yes, please');

    const other = await ann.write(help, 'and my kettle stays cold');
    await on.settled();
    await ann.tap(on.withButton(help, 'No, thanks'), 'No, thanks');
    const said = server.thread(help, other.ts).length;
    await ann.write(help, 'anybody here?', { thread: other.ts });
    await on.settled();
    expect(server.thread(help, other.ts)).toHaveLength(said + 1);
    expect(await on.events(`slack:${help}/${other.ts}`)).toEqual([]);
  });
});

describe('in a case', () => {
  test('an answered step shows what was answered and by whom, and its old button explains itself privately', async () => {
    const on = await open();
    const { ann, channel, thread, server, at } = await begun(on);
    const question = on.withButton(channel, 'Yes, it glows');
    const asIt = { ...question, blocks: question.blocks };
    await ann.tap(question, 'Yes, it glows');
    await on.settled();
    expect(server.shown(question)).toContain('Yes, it glows');
    expect(server.shown(question)).toContain('Ann');
    expect(question.blocks.some(({ type }) => type === 'actions')).toBe(false);
    const before = await kinds(on, at);
    const { privately } = await ann.tap(asIt, 'No, it stays dark');
    expect(privately).toEqual([expect.stringContaining('no longer open')]);
    expect(await kinds(on, at)).toEqual(before);
    expect(server.thread(channel, thread).some((one) => server.shown(one).includes('no longer open'))).toBe(
      false,
    );
  });

  test('somebody else’s tap is refused privately, their talk is left alone, and their danger is heard', async () => {
    const on = await open();
    const { channel, thread, server, at } = await begun(on);
    const ben = server.person({ name: 'Ben' });
    const { privately } = await ben.tap(on.withButton(channel, 'Yes, it glows'), 'Yes, it glows');
    expect(privately).toEqual([expect.stringContaining('I do not count this one')]);
    const said = server.thread(channel, thread).length;
    await ben.write(channel, 'nice radio', { thread });
    await on.settled();
    expect(server.thread(channel, thread)).toHaveLength(said + 1);
    await ben.write(channel, 'is that smoke coming out of it? there is smoke!', { thread });
    await on.settled();
    expect(await kinds(on, at)).toContain('handed-over');
  });

  test('a word to the bot in the thread is a command, and photos are kept by reference', async () => {
    const on = await open();
    const { ann, channel, thread, at, server } = await begun(on);
    await ann.write(channel, `<@${botUser}> undo`, { thread });
    await on.settled();
    expect(await kinds(on, at)).toContain('undone');
    const files = [
      { id: 'F1', mimetype: 'image/jpeg', size: 1000 },
      { id: 'F2', mimetype: 'application/zip', size: 1000 },
    ];
    const { privately } = await ann.write(channel, '', { thread, files });
    await on.settled();
    expect(privately).toEqual([expect.stringContaining('photos only')]);
    expect((await on.events(at)).find(({ kind }) => kind === 'photographed')).toMatchObject({
      references: ['slack:file/F1'],
    });
    expect(server.calls.filter((call) => call.startsWith('files.'))).toEqual([]);
  });

  test('“where are we?” sends a picture; where none can be drawn its words', async () => {
    const on = await open();
    const { ann, channel, thread, server } = await begun(on);
    await ann.tap(on.withButton(channel, 'Where are we?'), 'Where are we?');
    await on.settled();
    expect(server.uploads).toMatchObject([{ channel_id: channel, thread_ts: thread }]);
    await on.close();
    stage = null;

    const plain = await open({ draw: () => Promise.reject(new Error('no pictures')) });
    const other = await begun(plain);
    await other.ann.tap(plain.withButton(other.channel, 'Where are we?'), 'Where are we?');
    await plain.settled();
    const shown = other.server.thread(other.channel, other.thread).map((one) => other.server.shown(one));
    expect(shown.join()).toContain('Likely causes now');
  });

  test('an edit that reads as an answer is told about; a channel that is archived stops the case', async () => {
    const on = await open();
    const { ann, channel, thread, server, at } = await begun(on);
    const { ts } = await ann.write(channel, 'hm', { thread });
    await ann.edit(channel, ts, 'hm', 'yes', thread);
    await on.settled();
    expect(
      server.thread(channel, thread).some((one) => server.shown(one).includes('changed a message')),
    ).toBe(true);
    await server.event({ type: 'channel_archive', channel });
    await on.settled();
    expect(await kinds(on, at)).toContain('stopped');
  });
});

describe('after the end', () => {
  const end = async (on: Stage) => {
    const begins = await begun(on);
    const { ann, channel } = begins;
    for (const label of ['No, it stays dark', 'Yes, it works']) {
      await ann.tap(on.withButton(channel, label), label);
      await on.settled();
    }
    await on.later(14 * 24 * 60 + 120);
    return begins;
  };

  test('it is asked in the thread, by buttons, whether it still works', async () => {
    const on = await open();
    const { ann, channel, at } = await end(on);
    await ann.tap(on.withButton(channel, 'Do not ask me again'), 'Do not ask me again');
    await on.settled();
    expect(await kinds(on, at)).toContain('follow-ups-refused');
  });

  test('words in the thread are heard until that is answered, and a channel that is archived ends the asking', async () => {
    const on = await open();
    const { ann, channel, thread, server, at } = await end(on);
    await ann.write(channel, 'it is broken again', { thread });
    await ann.write(channel, 'yes', { thread });
    await on.settled();
    expect(await kinds(on, at)).toContain('followed-up');
    const other = await open();
    const asked = await end(other);
    await asked.server.event({ type: 'channel_archive', channel: asked.channel });
    await other.settled();
    expect(await kinds(other, asked.at)).toContain('follow-ups-refused');
    expect(server.violations).toEqual([]);
    await on.close();
  });
});

describe('menders', () => {
  test('see a case in their channel, take it on, advise, add a result and settle it', async () => {
    const on = await open();
    const { ann, channel, thread, server, at } = await begun(on);
    const mo = server.person({ name: 'Mo', groups: ['menders'] });
    // Who is in a group is known for a minute.
    await on.later(2);
    await ann.tap(on.withButton(channel, 'Ask a person'), 'Ask a person');
    await on.settled();
    const review = server.channel('review');
    const [entry] = server.messages(review);
    if (!entry) throw new Error('nothing in the review channel');
    expect(server.shown(entry)).toContain('Job card');
    expect(JSON.stringify(entry.blocks)).toContain('to the thread');
    expect(server.messages(review)).toHaveLength(1);

    expect((await ann.tap(entry, 'I take it on')).privately).toEqual([
      expect.stringContaining('Only menders'),
    ]);
    expect(await kinds(on, at)).not.toContain('taken');
    await mo.tap(entry, 'I take it on');
    await on.settled();
    expect(server.shown(entry)).toContain('Taken on by Mo');
    const advise = await mo.tap(entry, 'Advise');
    await mo.submit(advise.views[0] ?? {}, {
      'Your words, into the thread': 'Bring it on Saturday, <!channel> & *all*',
    });
    await on.settled();
    expect(
      server.thread(channel, thread).some((one) => server.shown(one).includes('Mo: Bring it on Saturday')),
    ).toBe(true);
    const result = await mo.tap(entry, 'Add a result');
    await mo.submit(result.views[0] ?? {}, {
      'What was checked': 'dial-lamp',
      'What was seen or measured': 'yes, it glows',
    });
    await on.settled();
    expect((await on.events(at)).find(({ kind }) => kind === 'answered')).toMatchObject({
      by: `slack:${mo.id}`,
      outcome: 'yes',
    });
    const settle = await mo.tap(entry, 'Settle');
    await mo.submit(settle.views[0] ?? {}, { 'How it ended': 'Fixed' });
    await on.settled();
    expect(await kinds(on, at)).toContain('settled');
    expect(server.messages(review)).toHaveLength(1);
    expect(server.shown(entry)).toContain('Settled: Fixed');
    expect(entry.blocks.some(({ type }) => type === 'actions')).toBe(false);
  });

  test('have a list by command and in the home tab, and act by its numbers; nobody else does', async () => {
    const on = await open();
    const { ann, channel, server, at } = await begun(on);
    const mo = server.person({ name: 'Mo', groups: ['menders'] });
    // Who is in a group is known for a minute.
    await on.later(2);
    await ann.tap(on.withButton(channel, 'Ask a person'), 'Ask a person');
    await on.settled();
    expect((await mo.command(channel, '/bench', 'list')).privately.join()).toContain('1. Table radio');
    expect((await ann.command(channel, '/bench', 'list')).privately.join()).toContain('Only menders');
    expect(await mo.home()).toContain('Table radio');
    expect(await ann.home()).not.toContain('Table radio');
    await ann.command(channel, '/bench', 'take 1');
    expect(await kinds(on, at)).not.toContain('taken');
    await mo.command(channel, '/bench', 'take here 1');
    expect((await on.events(at)).find(({ kind }) => kind === 'taken')).toMatchObject({ hands: true });
  });

  test('are told of danger at once', async () => {
    const on = await open();
    const { ann, channel, thread, server } = await begun(on);
    await ann.write(channel, 'smoke is coming out of it', { thread });
    await on.settled();
    const review = server.messages(server.channel('review')).map((one) => server.shown(one));
    expect(review).toHaveLength(2);
    expect(review.every((one) => one.includes('DANGER'))).toBe(true);
  });
});

test('what was learnt is for moderators, by command and by the button under it', async () => {
  const on = await open();
  const { ann, channel, server } = await begun(on);
  const mo = server.person({ name: 'Mo', groups: ['moderators'] });
  await on.later(2);
  expect((await mo.command(channel, '/bench', 'numbers')).privately.join()).toContain(
    'No case is settled yet',
  );
  expect((await mo.command(channel, '/bench', 'numbers toastr')).privately.join()).toContain('no flow');
  expect((await ann.command(channel, '/bench', 'numbers')).privately.join()).toContain('Only moderators');
  const button = (by: typeof mo) =>
    by.tap(
      {
        ...(server.messages(channel)[0] as object),
        blocks: [
          {
            elements: [
              {
                type: 'button',
                action_id: 'forget',
                text: { text: 'Use' },
                value: '{"t":"numbers","flow":"table-radio"}',
              },
            ],
          },
        ],
      } as never,
      'Use',
    );
  expect((await button(mo)).privately.join()).toContain('look at the numbers first');
  expect((await button(ann)).privately.join()).toContain('Only moderators');
});

test('what is mine is listed, and erased only when it was asked twice', async () => {
  const on = await open();
  const { ann, channel, server, at } = await begun(on);
  expect((await ann.command(channel, '/mend', 'mine')).privately.join()).toContain('Table radio');
  const { privately } = await ann.command(channel, '/mend', 'forget');
  expect(privately.join()).toContain('for good');
  expect(JSON.stringify(await on.events(at))).toContain(words);
  // The button stands in a private message; its value is all that comes back.
  await ann.tap(
    {
      ...(server.messages(channel)[0] as object),
      blocks: [
        {
          elements: [
            { type: 'button', action_id: 'forget', text: { text: 'Erase' }, value: '{"t":"forget"}' },
          ],
        },
      ],
    } as never,
    'Erase',
  );
  await on.settled();
  expect(JSON.stringify(await on.events(at))).not.toContain(words);
});

describe('hostile', () => {
  test('texts call nobody and lay nothing out', async () => {
    const on = await open();
    const { ann, channel, thread, server } = await begun(on);
    const nasty =
      '<!channel> &lt;!here&gt; <@U00000001> *bold* _x_ ~y~ `z` https://evil.example/x :tada: > quote';
    await ann.write(channel, nasty, { thread });
    await ann.tap(on.withButton(channel, 'Ask a person'), 'Ask a person');
    await on.settled();
    await ann.command(channel, '/mend', 'card');
    await on.settled();
    const own = [...server.thread(channel, thread), ...server.messages(server.channel('review'))].filter(
      ({ user }) => user === botUser,
    );
    const all = own.map((one) => JSON.stringify(one)).join('\n');
    expect(all).toContain('∼y∼');
    expect(all).not.toContain('https://evil');
  });

  test('payloads are refused or passed over, and the desk lives on', async () => {
    const on = await open();
    const { ann, channel, server } = await begun(on);
    for (const odd of [{}, { type: 'message' }, { type: 'message', channel: 7 }, { type: 'app_home_opened' }])
      await server.event(odd);
    const [first] = server.messages(channel);
    for (const value of ['', 'x', '{"t":"bench","act":"take","thread":"slack:../1"}', '{"t":"answer"}']) {
      const forged = {
        ...first,
        blocks: [{ elements: [{ type: 'button', action_id: 'a', text: { text: 'B' }, value }] }],
      };
      expect((await ann.tap(forged as never, 'B')).privately).toHaveLength(1);
    }
  });
});

describe('trouble', () => {
  test('too fast is waited out; done but answered with 500 is found by its id and not posted again', async () => {
    const on = await open();
    const { ann, channel, thread, server } = await begun(on);
    server.fail({ method: 'chat.postMessage', times: 1, how: '429' });
    server.fail({ method: 'chat.postMessage', times: 1, how: '500-after' });
    await ann.tap(on.withButton(channel, 'Why this?'), 'Why this?');
    for (let i = 0; i < 60 && server.calls.filter((call) => call === 'chat.postMessage').length < 6; i++)
      await later(100);
    await later(2500);
    await on.settled();
    expect(server.doubles).toBe(0);
    expect(
      server.thread(channel, thread).filter((one) => server.shown(one).includes('Still to expect')),
    ).toHaveLength(1);
  });

  test('the socket may break or be made anew: nothing is lost, and nothing is taken in twice', async () => {
    const on = await open();
    const { ann, channel, thread, server, at } = await begun(on);
    server.refresh();
    await later(300);
    await ann.tap(on.withButton(channel, 'Yes, it glows'), 'Yes, it glows', true);
    await on.settled();
    expect((await kinds(on, at)).filter((kind) => kind === 'answered')).toHaveLength(1);
    await ann.write(channel, 'It hums a little, too', { thread, again: true });
    await on.settled();
    expect((await kinds(on, at)).filter((kind) => kind === 'noted').length).toBeLessThanOrEqual(1);
    server.drop();
    for (let i = 0; i < 100 && !server.connected(); i++) await later(100);
    await ann.tap(on.withButton(channel, 'Undo'), 'Undo');
    await on.settled();
    expect(await kinds(on, at)).toContain('undone');
  });

  test('a request with a bad or an old signature is refused, and nothing of it is read', async () => {
    const on = await open({ mode: 'http' });
    const { server } = on;
    const ann = server.person({ name: 'Ann' });
    const command = {
      command: '/mend',
      text: `start ${words}`,
      user_id: ann.id,
      channel_id: server.channel('general'),
      trigger_id: 't',
    };
    expect(await server.signed('slash_commands', command, { secret: 'another' })).toBe(401);
    expect(await server.signed('slash_commands', command, { age: 600 })).toBe(401);
    expect(server.messages(server.channel('general'))).toEqual([]);
    expect(await server.signed('slash_commands', command)).toBe(200);
  });

  test('a token that Slack does not know says which one', async () => {
    const on = await open();
    const { url: apiUrl, appToken } = on.server;
    const idle = {
      draw: () => Promise.reject(new Error('none')),
      notice: () => undefined,
      now: Date.now,
      place,
      apiUrl,
    };
    const wrong = createSlack({ ...idle, botToken: 'xoxb-wrong', way: { kind: 'socket', appToken } });
    const desk = { latest: async () => null, request: async () => ({ words: '', cases: [] }) };
    await expect(wrong.start(async () => 'taken', desk)).rejects.toThrow(/^SLACK_BOT_TOKEN: /);
  });
});
