import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { Modal } from '../../platforms/discord/interactions.ts';
import type { Someone } from '../../platforms/discord/person.ts';
import type { Shown } from '../../platforms/discord/shown.ts';
import type { DiscordServer } from '../../platforms/discord-server.ts';
import { openStage, type Stage } from './stage.ts';

/** People of the bench: the channel where cases wait, and what they do with them. */

let stage: Stage;
let server: DiscordServer;
let ann: Someone;
let bea: Someone;
let mo: Someone;
let vesna: Someone;
let thread: string;

beforeEach(async () => {
  stage = await openStage();
  server = stage.server;
  ann = server.person({ name: 'Ann' });
  bea = server.person({ name: 'Bea' });
  mo = server.person({ name: 'Mo', roles: ['mender'] });
  vesna = server.person({ name: 'Vesna', roles: ['moderator'] });
  await ann.command(server.places.repairs, 'mend', 'start', { about: 'It lights up but is silent' });
  await stage.settled();
  thread = server.threads(server.places.repairs)[0] ?? '';
  await stage.answer(ann, thread, 'silent', 'solid', 'no');
});
afterEach(async () => {
  await stage.close();
  expect(server.violations).toEqual([]);
  expect(server.pings).toEqual([]);
  expect(server.unacknowledged).toEqual([]);
});

const bench = () => server.messages(server.places.review);
const waits = (): Shown => {
  const [first] = bench();
  if (!first) throw new Error('nothing waits');
  return first;
};
const kinds = async () => (await stage.events(thread)).map(({ kind }) => kind);
async function handOver(): Promise<void> {
  await ann.tap(stage.withButton(thread, 'Ask a person'), 'Ask a person');
  await stage.settled();
}
/** Fills in every field: the first option, or words. */
function filled(modal: Modal | undefined, words: string): Record<string, string> {
  if (!modal) throw new Error('there was no form');
  return Object.fromEntries(
    modal.components
      .filter(({ component }) => component?.required !== false)
      .map(({ label = '', component }) => [label, component?.options?.[0]?.label ?? words]),
  );
}
async function act(who: Someone, label: string, words = 'Because we looked.'): Promise<void> {
  const { modal, privately } = await who.tap(waits(), label);
  if (!modal) throw new Error(`there was no form: ${privately}`);
  await who.submit(modal, filled(modal, words));
  await stage.settled();
}

describe('a case that is handed over', () => {
  beforeEach(handOver);

  test('stands in the menders’ channel once, with its card, its thread and what can be done', () => {
    expect(bench()).toHaveLength(1);
    expect(waits().text).toContain('Table radio: it lights up, but it is silent');
    expect(waits().text).toContain(`<#${thread}>`);
    expect(waits().text).toContain('Job card');
    expect(waits().buttons).toEqual([
      'To print',
      'I take it on',
      'I have it here',
      'Advise',
      'Add a result',
      'Correct an answer',
      'Electrical test',
      'Clear one tier',
      'Back to the bot',
      'Settle',
    ]);
  });

  test('is taken on by a tap; the same message says by whom', async () => {
    const before = waits();
    await mo.tap(before, 'I take it on');
    await stage.settled();
    expect(bench()).toHaveLength(1);
    expect(waits()).toMatchObject({ id: before.id, edited: true });
    expect(waits().text).toContain('Taken on by Mo.');
    expect(waits().buttons).not.toContain('I take it on');
    // Whoever still sees the old buttons is told.
    const late = await vesna.tap(before, 'I take it on');
    expect(late.answered).toBe(true);
    await stage.settled();
    expect(bench()).toHaveLength(1);
  });

  test.each([
    'I take it on',
    'I have it here',
    'Advise',
    'Add a result',
    'Correct an answer',
    'Electrical test',
    'Clear one tier',
    'Back to the bot',
    'Settle',
  ])('“%s” is refused privately for people without the role, the owner too', async (label) => {
    const before = await stage.events(thread);
    for (const who of [ann, bea]) {
      const came = await who.tap(waits(), label);
      expect(came.modal).toBeUndefined();
      expect(came.privately).toHaveLength(1);
    }
    await stage.settled();
    expect((await stage.events(thread)).filter(({ kind }) => kind !== 'joined')).toEqual(
      before.filter(({ kind }) => kind !== 'joined'),
    );
  });

  test('a form that was opened by a mender does nothing for somebody else who sends it', async () => {
    const { modal } = await mo.tap(waits(), 'Settle');
    const came = await bea.submit(modal as Modal, filled(modal, 'x'));
    expect(came.privately).toHaveLength(1);
    await stage.settled();
    expect(await kinds()).not.toContain('settled');
  });

  test('advice is said in the thread', async () => {
    await act(mo, 'Advise', 'Try another socket, @everyone.');
    const said = server.messages(thread).at(-1);
    expect(said?.text).toContain('Try another socket');
    expect(said?.text).toContain('Mo');
  });

  test('a result is added', async () => {
    const before = (await kinds()).length;
    const { modal } = await mo.tap(waits(), 'Add a result');
    expect(modal?.components.map(({ component }) => component?.type)).toEqual([3, 4]);
    const [step, answer] = modal?.components ?? [];
    await mo.submit(modal as Modal, {
      [step?.label ?? '']: step?.component?.options?.[0]?.label ?? '',
      [answer?.label ?? '']: 'no idea at all',
    });
    await stage.settled();
    expect((await kinds()).length).toBe(before + 1);
    expect(mo.privately().at(-1)?.text).toContain('these answers');
  });

  test('a moderator corrects and clears, with a reason; a mender may not', async () => {
    for (const label of ['Correct an answer', 'Clear one tier'])
      expect((await mo.tap(waits(), label)).privately).toEqual([expect.stringContaining('Only a moderator')]);
    await act(vesna, 'Clear one tier');
    expect(await kinds()).toContain('cleared');
  });

  test('goes back to the bot, which asks on; the bench says where it went', async () => {
    const before = waits();
    await mo.tap(before, 'Back to the bot');
    await stage.settled();
    expect(waits()).toMatchObject({ id: before.id, buttons: [] });
    expect(waits().text).toContain('With the bot again.');
    expect(server.messages(thread).at(-1)?.buttons.length).toBeGreaterThan(2);
  });

  test('is settled in a form; the thread gets its card and the bench its outcome', async () => {
    await act(mo, 'Settle');
    expect(await kinds()).toContain('settled');
    expect(waits().text).toMatch(/Settled: \w/);
    expect(waits().buttons).toEqual([]);
    expect(server.messages(thread).some(({ text }) => text.includes('Job card'))).toBe(true);
  });

  test('the list shows menders what waits, and nobody else', async () => {
    expect((await mo.command(server.places.review, 'bench', 'list')).privately[0]).toContain('Table radio');
    expect((await bea.command(server.places.talk, 'bench', 'list')).privately).toEqual([
      'Only menders and moderators see this list.',
    ]);
  });

  test('everything can be done by command in the thread as well', async () => {
    for (const sub of ['advise', 'result', 'settle'])
      expect((await mo.command(thread, 'bench', sub)).modal, sub).toBeDefined();
    for (const sub of ['correct', 'clear'])
      expect((await vesna.command(thread, 'bench', sub)).modal, sub).toBeDefined();
    await mo.command(thread, 'bench', 'take', { here: true });
    await stage.settled();
    expect(await kinds()).toContain('taken');
    expect((await mo.command(thread, 'bench', 'card')).answered).toBe(true);
    await mo.command(thread, 'bench', 'back');
    await stage.settled();
    expect(waits().text).toContain('With the bot again.');
  });

  test('a bench message that somebody deleted is posted anew', async () => {
    await vesna.remove(waits());
    await mo.command(thread, 'bench', 'take');
    await stage.settled();
    expect(bench()).toHaveLength(1);
    expect(waits().text).toContain('Taken on by Mo.');
  });
});

test('a sign of danger stands beside the case in the menders’ channel, and is looked into by a moderator', async () => {
  await ann.write(thread, 'there is smoke coming out of it');
  await stage.settled();
  expect(bench().length).toBe(2);
  const entry = bench().find(({ buttons }) => buttons.length > 0) as Shown;
  expect(entry.buttons).toContain('Not dangerous');
  expect(entry.text).toContain('DANGER');
  expect((await mo.tap(entry, 'Not dangerous')).privately).toEqual([
    expect.stringContaining('Only a moderator'),
  ]);
  const { modal } = await vesna.tap(entry, 'Not dangerous');
  await vesna.submit(modal as Modal, filled(modal, 'It was steam from a cup.'));
  await stage.settled();
  expect(await kinds()).toContain('unflagged');
});

test('roles of direct messages are looked up, and menders keep theirs there', async () => {
  const dm = mo.dm();
  await mo.write(dm, 'It lights up but is silent');
  await stage.settled();
  expect((await stage.events(dm)).find(({ kind }) => kind === 'joined')).toMatchObject({ roles: ['mender'] });
});
