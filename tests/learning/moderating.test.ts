import { beforeEach, describe, expect, test } from 'vitest';
import type { Reply, Wish } from '../../shared/adapter.ts';
import type { Role } from '../../shared/person.ts';
import { emptyCase } from '../../src/core/reduce.ts';
import { memoryJournal } from '../../src/journal/memory.ts';
import { createModerating } from '../../src/learning/moderating.ts';
import { memoryBook } from '../../src/learning/store.ts';
import { createRequests } from '../../src/runtime/requests.ts';
import { radio } from '../core/example-flow.ts';
import { day0 } from './communities.ts';
import { type LearningDesk, learningDesk, settle } from './learnt-desk.ts';

/** Learnt numbers in the chat: moderators look and decide, and nobody else. */

let journal: ReturnType<typeof memoryJournal>;
let book: ReturnType<typeof memoryBook>;
let desk: LearningDesk;
let looked: number;
let ask: (wish: Wish, roles?: readonly Role[], id?: string) => Promise<Reply>;

beforeEach(async () => {
  journal = memoryJournal();
  book = memoryBook();
  desk = learningDesk(journal, book);
  looked = 0;
  const requests = createRequests({
    journal,
    settings: desk.settings,
    caseOf: async (thread) => emptyCase(thread),
    flowOf: () => radio,
    erase: async () => 0,
    learning: createModerating(desk, async () => {
      looked++;
    }),
  });
  ask = (wish, roles = ['moderator'], id = 'maren') =>
    requests.request({
      by: { id, name: 'Maren', level: 'trained', roles: [...roles] },
      platform: 'discord',
      at: day0,
      ...wish,
    });
  for (let i = 0; i < 80; i++)
    await settle(journal, {
      thread: `discord:${i}`,
      asker: `asker-${i}`,
      fault: i % 8 === 0 ? 'latched' : 'joint',
    });
});

const look: Wish = { what: 'numbers', flow: radio.flow, sure: false };
const use: Wish = { what: 'numbers', flow: radio.flow, sure: true };

describe('moderators', () => {
  test('see of which appliances something was learnt', async () => {
    const { words, confirm } = await ask({ what: 'numbers', flow: null, sure: false });
    expect(words).toContain('Table radio (table-radio): 80 confirmed cases. The file is clearly off in');
    expect(words).toContain('In use: the file’s numbers.');
    expect(confirm).toBeUndefined();
  });

  test('see numbers beside the file’s, by name, with intervals and the cases behind them', async () => {
    const { words, cases, confirm } = await ask(look);
    const joint = radio.faults.find(({ id }) => id === 'joint')?.name;
    expect(words).toMatch(new RegExp(`${joint}: file \\d+ %, learnt \\d+ % \\(95 %: \\d+ % to \\d+ %\\)`));
    expect(words).toContain('Safety never depends on these numbers.');
    expect(cases).toHaveLength(10);
    expect(cases[0]?.thread).toMatch(/^discord:\d+$/);
    expect(confirm).toEqual({ label: 'Use these numbers', flow: radio.flow });
    expect(`${words}${JSON.stringify(cases)}`).not.toMatch(/Wilhelmina|asker-/);
    expect(await book.read(0)).toEqual([]);
  });

  test('have the desk use what they saw, under their id and at once', async () => {
    await ask(look);
    const { words } = await ask(use);
    expect(words).toContain('From now on the desk goes by');
    const [entry] = await book.read(0);
    expect(entry?.decision).toMatchObject({ kind: 'accepted', by: 'maren', flow: radio.flow });
    expect(looked).toBe(1);
    expect((await ask(look)).words).toContain('In use: learnt numbers in');
  });

  test('use nothing that came up after they looked', async () => {
    await ask(look);
    for (let i = 0; i < 60; i++)
      await settle(journal, {
        thread: `later:${i}`,
        asker: `later-${i}`,
        complaint: 'hums',
        fault: 'joint',
        seen: [['dial-lamp', 'no']],
      });
    await ask(use);
    const [entry] = await book.read(0);
    const kinds = entry?.decision.kind === 'accepted' ? entry.decision.learnt.distributions : [];
    expect(kinds.length).toBeGreaterThan(0);
    expect(
      kinds.filter((one) => one.kind === 'outcomes' || (one.kind === 'faults' && one.complaint === 'hums')),
    ).toEqual([]);
  });

  test('use no number other than the one that they were shown', async () => {
    await ask(look);
    for (let i = 0; i < 60; i++)
      await settle(journal, { thread: `later:${i}`, asker: `later-${i}`, fault: 'latched' });
    expect((await ask(use)).words).toContain('Please look at the numbers again');
    expect(await book.read(0)).toEqual([]);
    await ask(look);
    await ask(use);
    expect(await book.read(0)).toMatchObject([{ decision: { kind: 'accepted', by: 'maren' } }]);
  });

  test('look first, each of them for themselves', async () => {
    await ask(look);
    expect((await ask(use, ['moderator'], 'somebody-else')).words).toContain('look at the numbers first');
    expect(await book.read(0)).toEqual([]);
  });

  test('are told which appliances there are, where there is none of that name', async () => {
    const { words } = await ask({ what: 'numbers', flow: 'toastr', sure: false });
    expect(words).toContain('There is no flow “toastr”. There are: table-radio.');
  });
});

test.each([[[]], [['mender']]] as const)(
  'with the roles %j nobody sees or decides anything',
  async (roles) => {
    await ask(look);
    for (const wish of [look, use, { what: 'numbers', flow: null, sure: false }] as const)
      expect(await ask(wish, roles)).toEqual({
        words: 'Only moderators see what was learnt and decide what is used.',
        cases: [],
      });
    expect(await book.read(0)).toEqual([]);
  },
);
