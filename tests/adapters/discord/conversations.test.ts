import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { Someone } from '../../platforms/discord/person.ts';
import type { DiscordServer } from '../../platforms/discord-server.ts';
import { hostile } from '../hostile.ts';
import { openStage, png, type Stage } from './stage.ts';

/** A case as it goes on between its owner and the desk. */

let stage: Stage;
let server: DiscordServer;
let ann: Someone;
let bea: Someone;
let thread: string;
const silent = 'It lights up but is silent';

async function begin(options: Parameters<typeof openStage>[0] = {}): Promise<void> {
  stage = await openStage(options);
  server = stage.server;
  ann = server.person({ name: 'Ann' });
  bea = server.person({ name: 'Bea' });
  await ann.command(server.places.repairs, 'mend', 'start', { about: silent });
  await stage.settled();
  thread = server.threads(server.places.repairs)[0] ?? '';
}
async function end(): Promise<void> {
  await stage.close();
  expect(server.violations).toEqual([]);
  expect(server.pings).toEqual([]);
  expect(server.unacknowledged).toEqual([]);
}
const kinds = async () => (await stage.events(thread)).map(({ kind }) => kind);

describe('a conversation', () => {
  beforeEach(() => begin());
  afterEach(end);

  test('an answered question loses its buttons and shows what was said, and by whom', async () => {
    const question = server.messages(thread)[0];
    await stage.answer(ann, thread, 'silent');
    const [answered, next] = server.messages(thread);
    expect(answered).toMatchObject({ id: question?.id, edited: true, buttons: [] });
    expect(answered?.text).toContain('Ann');
    expect(next?.buttons).toContain('One with transistors');
  });

  test('a button of an old question explains itself to whoever tapped it, and changes nothing', async () => {
    const question = stage.withButton(thread, 'Undo');
    const label = question.buttons[0] ?? '';
    await stage.answer(ann, thread, 'silent');
    const before = await stage.events(thread);
    const shown = server.messages(thread).length;
    const came = await ann.tap(question, label);
    await stage.settled();
    expect(came.privately).toHaveLength(1);
    expect(came.privately[0]).not.toBe('');
    expect(server.messages(thread)).toHaveLength(shown);
    expect(await stage.events(thread)).toEqual(before);
  });

  test('somebody else’s tap is refused privately, and the question stays', async () => {
    const question = server.messages(thread)[0];
    const came = await bea.tap(question as never, question?.buttons[0] ?? '');
    await stage.settled();
    expect(came.privately).toHaveLength(1);
    expect(server.messages(thread)[0]).toEqual(question);
    expect(server.messages(thread)).toHaveLength(1);
  });

  test('a tap that the gateway repeats counts once', async () => {
    const question = server.messages(thread)[0];
    await ann.tap(question as never, question?.buttons[0] ?? '', { twice: true });
    await stage.settled();
    expect((await kinds()).filter((kind) => kind === 'complaint-stated')).toHaveLength(1);
  });

  test('words, a mention of the bot, and a reply to it are heard; what is said to others is an aside', async () => {
    await stage.answer(ann, thread, 'silent', 'solid');
    await ann.write(thread, 'yes, it glows', { replyTo: (await bea.write(thread, 'Does it glow?')).id });
    await stage.settled();
    expect(await kinds()).not.toContain('answered');
    await ann.write(thread, 'yes, it glows', { mention: true });
    await stage.settled();
    expect(await kinds()).toContain('answered');
  });

  test('a sign of danger said to somebody else is heard', async () => {
    const other = await bea.write(thread, 'How is it going?');
    await ann.write(thread, 'there is smoke coming out of it', { replyTo: other.id });
    await stage.settled();
    expect(server.messages(thread).some(({ text }) => text.includes('DANGER'))).toBe(true);
    expect(await kinds()).toContain('flagged');
  });

  test('photos are kept by reference; what is no photo is said to be of no use', async () => {
    await ann.write(thread, '', { attachments: [{ name: 'board.jpg', type: 'image/jpeg', size: 4000 }] });
    await stage.settled();
    const photo = (await stage.events(thread)).find(({ kind }) => kind === 'photographed');
    expect(JSON.stringify(photo)).toContain(`discord:${thread}/`);
    const film = await ann.write(thread, '', {
      attachments: [{ name: 'film.mp4', type: 'video/mp4', size: 4000 }],
    });
    await stage.settled();
    expect(server.messages(thread).at(-1)).toMatchObject({
      replyTo: film.id,
      text: expect.stringContaining('photos only'),
    });
  });

  test('“where are we” posts a picture that says the same in words', async () => {
    await stage.answer(ann, thread, 'silent', 'solid');
    await ann.command(thread, 'mend', 'where');
    await stage.settled();
    const shown = server.messages(thread).find(({ pictures }) => pictures.length > 0);
    expect(shown?.pictures).toEqual([Buffer.from(png)]);
    expect(shown?.alt[0]?.length).toBeGreaterThan(10);
  });

  test('an edited message and a deleted one are told to the case, in a thread of a case only', async () => {
    const said = await ann.write(thread, 'it is blue');
    await stage.settled();
    await ann.edit(said, 'it is blue and there is smoke coming out of it');
    await stage.settled();
    expect(await kinds()).toContain('flagged');
    await ann.remove(said);
    const elsewhere = await ann.write(server.places.talk, 'hello');
    await ann.edit(elsewhere, 'hello there');
    await ann.remove(elsewhere);
    await stage.settled();
    expect(server.messages(server.places.talk)).toEqual([]);
  });

  test('a thread that is deleted ends what is said in it', async () => {
    await server.removeThread(thread);
    await stage.settled();
    expect((await kinds()).at(-1)).not.toBe('put');
    await stage.later(60 * 24 * 30);
    expect(server.requests().filter((line) => line === `POST /channels/${thread}/messages 404`)).toEqual([]);
  });

  test('“mine” lists a person’s own cases, and “forget” asks back before it erases', async () => {
    const { talk } = server.places;
    const mine = await ann.command(talk, 'mend', 'mine');
    expect(mine.privately[0]).toMatch(/^Your cases:\n1\. Table radio\./);
    expect((await bea.command(talk, 'mend', 'mine')).privately[0]).toContain('no case');
    const asked = await ann.command(talk, 'mend', 'forget');
    expect(asked.shown[0]?.buttons).toEqual(['Erase what is mine']);
    expect(JSON.stringify(await stage.events(thread))).toContain('Ann');
    const done = await ann.tap(asked.shown[0] as never, 'Erase what is mine');
    expect(done.answered).toBe(true);
    await stage.settled();
    expect(JSON.stringify(await stage.events(thread))).not.toContain('Ann');
  });

  test('what was learnt is for moderators, by command and by the button under it', async () => {
    const { talk } = server.places;
    const mo = server.person({ name: 'Mo', roles: ['moderator'] });
    expect((await mo.command(talk, 'bench', 'numbers')).privately[0]).toContain('No case is settled yet');
    expect((await mo.command(talk, 'bench', 'numbers', { flow: 'toastr' })).privately[0]).toContain(
      'no flow',
    );
    expect((await ann.command(talk, 'bench', 'numbers')).privately[0]).toContain('Only moderators');
    const question = server.messages(thread)[0] as never;
    expect((await mo.forge(question, 'n|table-radio')).privately[0]).toContain('look at the numbers first');
    expect((await ann.forge(question, 'n|table-radio')).privately[0]).toContain('Only moderators');
  });

  test('a forged tap is taken for nothing more than it may be', async () => {
    const question = server.messages(thread)[0] as never;
    const before = await stage.events(thread);
    for (const id of [
      'a|q1|no-such-answer',
      'b|settle|discord:1',
      `b|take|discord:${thread}`,
      `f|settle|x|discord:${thread}`,
      'c|nonsense',
      '%E0%A4%A',
      '|||||',
      'x'.repeat(100),
      'a|<@1>|@everyone',
    ]) {
      const came = await bea.forge(question, id);
      expect(came.answered).toBe(true);
      expect(came.privately.length, id).toBeGreaterThan(0);
    }
    await stage.settled();
    expect((await stage.events(thread)).filter(({ kind }) => kind === 'answered')).toEqual(
      before.filter(({ kind }) => kind === 'answered'),
    );
    expect((await kinds()).includes('settled')).toBe(false);
    expect(server.requests().filter((line) => line.includes('/channels/1/'))).toEqual([]);
  });
});

describe('a reading', () => {
  beforeEach(async () => {
    await begin({ plan: ['reseat'] });
    await stage.answer(ann, thread, 'silent', 'solid', 'handy', 'light', 'yes', 'unplugged');
    await stage.later(21);
    await stage.answer(ann, thread, 'opened');
  });
  afterEach(end);

  test('is entered in a form that names its unit', async () => {
    const { modal } = await ann.tap(stage.withButton(thread, 'Enter the reading'), 'Enter the reading');
    expect(modal?.components[0]?.label).toBe('What the meter shows (V d.c.)');
    await ann.submit(modal as never, { 'What the meter shows (V d.c.)': '1.55 V' });
    await stage.settled();
    expect(server.messages(thread).some(({ text, edited }) => edited && text.includes('1.55'))).toBe(true);
  });

  test('is read from a message as well, and from nobody else’s', async () => {
    await bea.write(thread, '0.1 V');
    await stage.settled();
    const before = await kinds();
    const refused = await bea.tap(stage.withButton(thread, 'Enter the reading'), 'Enter the reading');
    expect(refused.modal).toBeUndefined();
    expect(refused.privately).toHaveLength(1);
    await ann.write(thread, '1.55 V');
    await stage.settled();
    expect((await kinds()).length).toBeGreaterThan(before.length);
  });

  test('that is no number is asked for again', async () => {
    const { modal } = await ann.tap(stage.withButton(thread, 'Enter the reading'), 'Enter the reading');
    const came = await ann.submit(modal as never, { 'What the meter shows (V d.c.)': 'about half' });
    await stage.settled();
    expect(came.answered).toBe(true);
    expect(stage.withButton(thread, 'Enter the reading').buttons).toContain('Enter the reading');
  });
});

test('hostile words and names, wherever they come up again, call nobody and lead nowhere', async () => {
  await begin();
  const eve = server.person({ name: 'Eve', nick: '@everyone <@1> [x](https://evil.example)' });
  const mo = server.person({ name: 'Mo', roles: ['mender'], nick: '<@&100000000000000022>' });
  const all = `${silent} ${hostile.filter((one) => one.length < 100).join(' ')}`.slice(0, 1900);
  await eve.command(server.places.repairs, 'mend', 'start', { about: all });
  await stage.settled();
  thread = server.threads(server.places.repairs)[1] ?? '';
  await stage.answer(eve, thread, 'silent', 'solid', 'no');
  await eve.write(thread, all);
  for (const sub of ['card', 'why', 'where', 'mine', 'person']) await eve.command(thread, 'mend', sub);
  await stage.settled();
  await mo.tap(server.messages(server.places.review)[0] as never, 'I take it on');
  const { modal } = await mo.command(thread, 'bench', 'advise');
  await mo.submit(modal as never, { [modal?.components[0]?.label ?? '']: all });
  await stage.settled();
  const ours = [thread, server.places.review].flatMap((channel) =>
    server.messages(channel).filter(({ by }) => by === 'Mend'),
  );
  expect(ours.some(({ text }) => text.includes('evil'))).toBe(true);
  for (const { content, wire } of ours)
    for (const words of [
      content,
      ...wire.embeds.flatMap(({ title = '', description = '' }) => [title, description]),
    ])
      expect(words.replaceAll(`<#${thread}>`, '')).not.toMatch(
        /@everyone|@here|(?<!\\)<[@#:]|\w:\/\/|(?<!\\)\]\(/,
      );
  expect(ours.every(({ wire }) => wire.mentions.length === 0 && wire.mention_roles.length === 0)).toBe(true);
  await end();
});

test('a picture that cannot be drawn is told in words', async () => {
  await begin({
    draw: async () => {
      throw new Error('no fonts');
    },
  });
  await stage.answer(ann, thread, 'silent', 'solid');
  await ann.command(thread, 'mend', 'where');
  await stage.settled();
  expect(server.messages(thread).some(({ pictures }) => pictures.length > 0)).toBe(false);
  expect(server.messages(thread).some(({ text }) => /likely/i.test(text))).toBe(true);
  await end();
});
