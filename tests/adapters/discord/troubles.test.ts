import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { createDiscord } from '../../../adapters/discord/discord.ts';
import { DeliveryFailure } from '../../../shared/adapter.ts';
import type { Someone } from '../../platforms/discord/person.ts';
import { type DiscordServer, startDiscord } from '../../platforms/discord-server.ts';
import { openStage, placeOf, type Stage } from './stage.ts';

/** A platform that stumbles: what is said arrives once all the same, and the operator is told what they can mend. */

describe('while a case goes on', () => {
  let stage: Stage;
  let server: DiscordServer;
  let ann: Someone;
  let thread: string;

  beforeEach(async () => {
    stage = await openStage();
    server = stage.server;
    ann = server.person({ name: 'Ann' });
    await ann.command(server.places.repairs, 'mend', 'start', { about: 'It lights up but is silent' });
    await stage.settled();
    thread = server.threads(server.places.repairs)[0] ?? '';
  });
  afterEach(async () => {
    await stage.close();
    expect(server.violations).toEqual([]);
    expect(server.pings).toEqual([]);
  });

  const kindsOf = () =>
    server.messages(thread).filter(({ buttons }) => buttons.includes('One with transistors'));
  const posts = (): number =>
    server.requests().filter((one) => /^POST \/channels\/\d+\/messages /.test(one)).length;
  const answerFirst = async (): Promise<void> => {
    const question = server.messages(thread)[0];
    await ann.tap(question as never, question?.buttons[0] ?? '');
  };

  test.each(['429', '500', '500-after', 'reset', 'reset-after'] as const)(
    'a question is posted once after all: %s',
    async (how) => {
      server.fail({ method: 'POST', path: /^\/channels\/\d+\/messages$/, how, times: 1, after: 0.1 });
      const before = posts();
      await answerFirst();
      // The one that failed, and the one that makes up for it: before that nothing can have been posted twice.
      await expect.poll(posts, { timeout: 15_000 }).toBeGreaterThanOrEqual(before + 2);
      await expect.poll(kindsOf, { timeout: 15_000 }).toHaveLength(1);
      await server.quiet(100);
      expect(kindsOf()).toHaveLength(1);
      expect(server.doubles).toEqual([]);
    },
  );

  test.each(['429', '500', '500-after', 'reset', 'reset-after'] as const)(
    'an answered question is changed after all: %s',
    async (how) => {
      server.fail({ method: 'PATCH', path: /\/messages\//, how, times: 1, after: 0.1 });
      await answerFirst();
      await expect.poll(() => server.messages(thread)[0]?.buttons, { timeout: 15_000 }).toEqual([]);
      await expect.poll(kindsOf, { timeout: 15_000 }).toHaveLength(1);
    },
  );

  test.each(['429', '500', '500-after', 'reset', 'reset-after'] as const)(
    'a tap is answered in time, and once: %s',
    async (how) => {
      const bea = server.person({ name: 'Bea' });
      server.fail({ path: /\/callback$/, how, times: 1, after: 0.1 });
      const question = server.messages(thread)[0];
      const came = await bea.tap(question as never, question?.buttons[0] ?? '');
      await stage.settled();
      expect(came.answered).toBe(true);
      expect(came.privately).toHaveLength(1);
      expect(server.unacknowledged).toEqual([]);
    },
  );

  test('what happened while the line was cut is heard when it stands again, in order and once', async () => {
    await stage.answer(ann, thread, 'silent', 'solid');
    server.drop();
    await ann.write(thread, 'hold on');
    await ann.write(thread, 'yes, it glows');
    await expect.poll(() => server.gateway.counts.resumed, { timeout: 30_000 }).toBe(1);
    await stage.settled();
    const answers = (await stage.events(thread)).filter(({ kind }) => kind === 'answered');
    expect(answers).toHaveLength(1);
    expect(server.gateway.counts.identified).toBe(1);
  });

  test('a session that is over is begun anew, and people are heard again', async () => {
    await stage.answer(ann, thread, 'silent', 'solid');
    server.invalidSession();
    await expect.poll(() => server.gateway.counts.identified, { timeout: 30_000 }).toBe(2);
    await server.quiet(100);
    await ann.write(thread, 'yes, it glows');
    await stage.settled();
    expect((await stage.events(thread)).filter(({ kind }) => kind === 'answered')).toHaveLength(1);
  });

  test('a token that is taken back meanwhile is told to the operator', async () => {
    server.drop(4004);
    await expect.poll(() => stage.notices.join('\n')).toContain('DISCORD_TOKEN: ');
  });

  test('where the bot may not post, people of the bench get the case', async () => {
    server.fail({ method: 'POST', path: new RegExp(`^/channels/${thread}/messages$`), how: '403', times: 3 });
    await answerFirst();
    await expect
      .poll(() => server.messages(server.places.review).map(({ text }) => text), { timeout: 30_000 })
      .toEqual([expect.stringContaining('could not be delivered')]);
  });

  test('in a thread that fell asleep the answered question is changed, and the next one posted', async () => {
    server.archiveThread(thread);
    await answerFirst();
    await expect.poll(kindsOf, { timeout: 15_000 }).toHaveLength(1);
    expect(server.messages(thread)[0]?.buttons).toEqual([]);
    expect(server.messages(server.places.review)).toEqual([]);
  });

  test('a command whose thread cannot be made says so, and another try works', async () => {
    server.fail({ method: 'POST', path: /\/threads$/, how: '403', times: 1 });
    const came = await ann.command(server.places.talk, 'mend', 'start', { about: 'it hums' });
    expect(came.privately).toEqual([expect.stringContaining('did not take that in')]);
    expect(stage.notices.at(-1)).toContain('code 50013');
    const again = await ann.command(server.places.talk, 'mend', 'start', { about: 'it hums' });
    expect(again.privately[0]).toContain('It goes on here');
  });
});

describe('delivering', () => {
  const say = { id: 'd1', thread: 'discord:1', outbound: { kind: 'say', words: 'hello' } } as const;

  test('says what went wrong in the words of the desk', async () => {
    const stage = await openStage();
    const { server, adapter } = stage;
    const to = `discord:${server.places.talk}`;
    const outcome = (thread = to) =>
      adapter.deliver({ ...say, thread }).then(
        () => 'posted',
        (cause: DeliveryFailure) => ({ code: cause.code, after: cause.after, scope: cause.scope }),
      );
    const path = /\/messages$/;
    server.fail({ path, how: '429', after: 1.5 });
    const slow = await outcome();
    expect(slow).toMatchObject({ code: 'slow-down', scope: 'thread' });
    expect((slow as DeliveryFailure).after).toBeGreaterThanOrEqual(1500);
    server.fail({ path, how: '429', after: 0.1, global: true });
    expect(await outcome()).toMatchObject({ code: 'slow-down', scope: 'platform' });
    await new Promise((resolve) => setTimeout(resolve, 300));
    server.fail({ path, how: '403' });
    expect(await outcome()).toMatchObject({ code: 'refused' });
    server.fail({ path, how: '500' });
    expect(await outcome()).toMatchObject({ code: 'away' });
    server.fail({ path, how: 'reset' });
    expect(await outcome()).toMatchObject({ code: 'away' });
    expect(await outcome('discord:1')).toMatchObject({ code: 'refused' });
    expect(server.messages(server.places.talk)).toEqual([]);
    expect(await outcome()).toBe('posted');
    expect(await outcome()).toBe('posted');
    expect(server.messages(server.places.talk)).toHaveLength(1);
    await stage.close();
  });

  test('a long message comes in parts, each of them once at a second try', async () => {
    const stage = await openStage();
    const { server, adapter } = stage;
    const thread = `discord:${server.places.talk}`;
    const words = Array.from({ length: 900 }, (_, i) => `word${i}`).join(' ');
    server.fail({ path: /\/messages$/, how: 'reset-after', times: 1 });
    const once = () => adapter.deliver({ id: 'long', thread, outbound: { kind: 'say', words } });
    await expect(once()).rejects.toBeInstanceOf(DeliveryFailure);
    await once();
    await once();
    const shown = server.messages(server.places.talk).map(({ content }) => content);
    expect(shown.join(' ')).toBe(words);
    expect(shown.length).toBe(Math.ceil(words.length / 2000));
    await stage.close();
  });

  test('is away before it was started, and when nobody is there', async () => {
    const server = await startDiscord();
    const options = {
      token: server.token,
      apiUrl: server.url,
      place: placeOf(server),
      draw: async () => ({ png: new Uint8Array(), width: 1, height: 1 }),
      notice: () => undefined,
      now: Date.now,
    };
    await expect(createDiscord(options).deliver(say)).rejects.toMatchObject({ code: 'away' });
    const adapter = createDiscord(options);
    await adapter.start(async () => 'taken', noDesk);
    await server.close();
    await expect(adapter.deliver(say)).rejects.toMatchObject({ code: 'away' });
    await adapter.stop();
  });
});

const noDesk = {
  latest: async () => null,
  request: async () => ({ words: '', cases: [] }),
};

describe('at the start', () => {
  let server: DiscordServer;
  let notices: string[];
  const closing: (() => Promise<void>)[] = [];
  afterEach(async () => {
    for (const close of closing.splice(0).reverse()) await close();
  });

  async function start(
    options: Parameters<typeof startDiscord>[0] = {},
    change: { token?: string; place?: Parameters<typeof placeOf>[1]; apiUrl?: string } = {},
  ): Promise<void> {
    server = await startDiscord(options);
    closing.push(() => server.close());
    notices = [];
    await again(change);
  }
  async function again(
    change: { token?: string; place?: Parameters<typeof placeOf>[1]; apiUrl?: string } = {},
  ) {
    const adapter = createDiscord({
      token: change.token ?? server.token,
      apiUrl: change.apiUrl ?? server.url,
      place: placeOf(server, change.place),
      draw: async () => ({ png: new Uint8Array(), width: 1, height: 1 }),
      notice: (words) => notices.push(words),
      now: Date.now,
    });
    closing.push(() => adapter.stop());
    await adapter.start(async () => 'taken', noDesk);
  }

  test('nothing is missing, and the commands are written once and not again', async () => {
    await start();
    expect(notices).toEqual([]);
    expect(server.commandsWritten).toBe(1);
    await again();
    expect(server.commandsWritten).toBe(1);
  });

  test('a token that is not known names its variable and never itself', async () => {
    const started = start({}, { token: 'not-the-token' });
    await expect(started).rejects.toThrow(/^DISCORD_TOKEN: /);
    await expect(started).rejects.not.toThrow('not-the-token');
  });

  test('a token that only the gateway refuses names its variable too', async () => {
    const started = start({ gatewayToken: 'another' });
    await expect(started).rejects.toThrow(/^DISCORD_TOKEN: /);
  });

  test('an application that may not read messages is told where to switch that on', async () => {
    // MESSAGE_CONTENT is the intent 1 << 15.
    await expect(start({ intentsWithheld: 1 << 15 })).rejects.toThrow('Message Content Intent');
  });

  test('a server that the bot is not in is named', async () => {
    await expect(start({}, { place: { guild: '100000000000000777' } })).rejects.toThrow(
      /100000000000000777 could not be read.*invited/,
    );
  });

  test('an address where nobody answers is said to be out of reach', async () => {
    await expect(start({}, { apiUrl: 'http://127.0.0.1:9/api' })).rejects.toThrow('could not be reached');
  });

  test('channels, roles and rights that are missing are told', async () => {
    await start(
      { lacking: 1n << 15n },
      { place: { help_channels: ['help', 'nowhere'], mender_roles: ['menders'], review_channel: 'none' } },
    );
    expect(notices).toEqual([
      expect.stringContaining('no role menders'),
      expect.stringContaining('nowhere that I can see; help_channels'),
      expect.stringContaining('none that I can see; review_channel'),
      'Discord: in #help the bot lacks: Attach Files.',
    ]);
  });

  test('a forum is no place for the bench', async () => {
    await start({}, { place: { review_channel: 'help' } });
    expect(notices).toEqual([expect.stringContaining('review_channel has to name a text channel')]);
  });
});
