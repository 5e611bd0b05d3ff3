import { beforeEach, describe, expect, test } from 'vitest';
import type { Answer, Desk } from '../../shared/adapter.ts';
import type { Inbound } from '../../shared/inbound.ts';
import type { Person } from '../../shared/person.ts';
import { localTime } from '../../src/core/civil-hour.ts';
import { memoryJournal } from '../../src/journal/memory.ts';
import { erase } from '../../src/keeping/erase.ts';
import { keepDigest } from '../../src/runtime/digest.ts';
import { createRequests } from '../../src/runtime/requests.ts';
import { createRuntime, type Runtime, type RuntimeOptions } from '../../src/runtime/runtime.ts';
import { following } from '../conversations/thread.ts';
import { people, radio } from '../core/example-flow.ts';
import { nothingLearnt } from '../learning/nothing-learnt.ts';

/** What belongs to no one case: lists, the morning's message, being forgotten; and answers for one person alone. */

const { asker, mender, moderator, stranger } = people;
const settings = following('dial-lamp', 'settings');

let now = 0;
let count = 0;
let posted: { readonly thread: string; readonly kind: string; readonly words: string }[] = [];
let journal: ReturnType<typeof memoryJournal>;
let runtime: Runtime;
let desk: Desk;

const open = (more: Partial<RuntimeOptions> = {}): void => {
  runtime = createRuntime({
    journal,
    flows: [radio],
    settings,
    now: () => now,
    moved: () => false,
    adapters: [
      {
        name: 'test',
        abilities: { buttons: 5, length: 2000, pictures: false, forms: true },
        start: async () => undefined,
        stop: async () => undefined,
        deliver: async ({ thread, outbound }) => {
          posted.push({ thread, kind: outbound.kind, words: 'words' in outbound ? outbound.words : '' });
          return `m${posted.length}`;
        },
      },
    ],
    notify: () => undefined,
    ...more,
  });
  desk = createRequests({
    journal,
    settings,
    caseOf: runtime.caseOf,
    flowOf: runtime.flowOf,
    learning: nothingLearnt(),
    erase: async (person) =>
      (await erase(journal, person, { now: () => now, forgetCached: runtime.forgetCached })).touched.length,
  });
};
beforeEach(() => {
  now = Date.UTC(2031, 5, 4, 5, 0);
  count = 0;
  posted = [];
  journal = memoryJournal({ now: () => now });
  open();
});

type Content<I = Inbound> = I extends Inbound ? Omit<I, 'id' | 'thread' | 'at' | 'by'> : never;
const give = async (thread: string, content: Content, by: Person = asker): Promise<Answer[]> => {
  const answers: Answer[] = [];
  await runtime.receive(
    { id: `i${++count}`, thread: `test:${thread}`, at: now, by, ...content } as Inbound,
    (one) => answers.push(one),
  );
  await runtime.idle();
  return answers;
};
const opens = (thread: string, words = 'It lights up but is silent', by: Person = asker) =>
  give(thread, { kind: 'opened', words, place: '' }, by);
const list = (by: Person) => desk.request({ what: 'list', by, platform: 'test', at: now });

describe('an answer for one person', () => {
  test('comes at once to whoever waits for it, and is not posted', async () => {
    await opens('a');
    const answers = await give('a', { kind: 'chose', answer: 'silent' }, stranger);
    expect(answers).toMatchObject([{ kind: 'whisper', to: stranger.id }]);
    expect(posted.map(({ kind }) => kind)).toEqual(['ask']);
    expect(await give('a', { kind: 'wanted', form: 'advise' }, mender)).toMatchObject([{ kind: 'form' }]);
    expect(posted.map(({ kind }) => kind)).toEqual(['ask']);
  });

  test('is posted where nobody waits for it', async () => {
    await opens('a');
    const inbound = { id: 'x', thread: 'test:a', at: now, by: stranger, kind: 'chose', answer: 'silent' };
    await runtime.receive(inbound as Inbound);
    await runtime.idle();
    expect(posted.map(({ kind }) => kind)).toEqual(['ask', 'whisper']);
  });
});

describe('the latest case at a place', () => {
  test('is that thread’s own, or the latest of those within it', async () => {
    expect(await desk.latest('test:a')).toBeNull();
    await opens('a');
    await opens('dm/1');
    await opens('dm/2');
    await give('dm/2', { kind: 'acted', act: { what: 'settle', outcome: 'Fixed' } }, mender);
    expect(await desk.latest('test:a')).toEqual({ thread: 'test:a', settled: false });
    expect(await desk.latest('test:dm')).toEqual({ thread: 'test:dm/2', settled: true });
    expect(await desk.latest('test:d')).toBeNull();
  });
});

describe('what waits for people', () => {
  test('is listed most dangerous first, then by who waits longest, for people with a role alone', async () => {
    for (const thread of ['early', 'taken', 'late', 'smoking']) {
      await opens(thread, thread === 'smoking' ? 'It hums and smoke comes out' : undefined);
      if (thread !== 'smoking') await give(thread, { kind: 'asked', what: 'person' });
      now += 60 * 60_000;
    }
    await give('taken', { kind: 'acted', act: { what: 'take', hands: false } }, mender);
    await opens('with the bot');
    const { cases } = await list(moderator);
    expect(cases.map(({ thread }) => thread)).toEqual([
      'test:smoking',
      'test:early',
      'test:late',
      'test:taken',
    ]);
    expect(cases[0]).toMatchObject({ danger: true, words: expect.stringContaining('smoke') });
    expect(cases[1]?.words).toContain('Waits for 4 h.');
    expect((await list(asker)).cases).toEqual([]);
    expect((await list(asker)).words).toContain('Only menders');
    expect((await desk.request({ what: 'list', by: mender, platform: 'other', at: now })).cases).toEqual([]);
  });
});

describe('my cases', () => {
  test('are the asker’s own, open ones first', async () => {
    await opens('done');
    await give('done', { kind: 'acted', act: { what: 'settle', outcome: 'Fixed' } }, mender);
    await opens('going on');
    await opens('somebody’s', undefined, { ...stranger, name: 'Somebody' });
    const { cases } = await desk.request({
      what: 'mine',
      by: { ...asker, name: 'A' },
      platform: 'test',
      at: now,
    });
    expect(cases.map(({ thread }) => thread)).toEqual(['test:going on', 'test:done']);
    expect(cases[0]?.words).toContain('Asked now');
  });
});

describe('being forgotten', () => {
  test('is asked back first, and then takes the words out of every case and off the menders’ list', async () => {
    await opens('a', 'My aunt Ottilie’s radio lights up but is silent');
    await give('a', { kind: 'asked', what: 'person' });
    const request = { what: 'forget', by: asker, platform: 'test', at: now } as const;
    const asked = await desk.request({ ...request, sure: false });
    expect(asked.confirm).toBeDefined();
    expect(JSON.stringify(await runtime.caseOf('test:a'))).toContain('Ottilie');
    expect((await desk.request({ ...request, sure: true })).words).toContain('one case');
    expect(JSON.stringify(await runtime.caseOf('test:a'))).not.toContain('Ottilie');
    runtime.wake('test:a');
    await runtime.idle();
    expect(posted.at(-1)).toMatchObject({ thread: 'test:a', kind: 'bench', words: 'Settled: Unknown.' });
    expect((await list(moderator)).cases).toEqual([]);
  });
});

describe('the morning’s list', () => {
  const digest = () =>
    keepDigest({
      journal,
      desk,
      platforms: ['test'],
      community: { time_zone: 'Europe/London', digest_hour: 8 },
      now: () => now,
      notify: () => undefined,
      wake: runtime.wake,
    });

  test('comes once a day, not before its hour on the community’s clocks, and not when nothing waits', async () => {
    const one = digest();
    const other = digest();
    const said = async (): Promise<string[]> => {
      await one.look();
      await other.look();
      await runtime.idle();
      return posted.filter(({ thread }) => thread === 'test:bench').map(({ kind }) => kind);
    };
    // Seven in the morning in summer time.
    now = Date.UTC(2031, 5, 4, 6, 30);
    await opens('a');
    await give('a', { kind: 'asked', what: 'person' });
    expect(await said()).toEqual([]);
    now = Date.UTC(2031, 5, 4, 7, 5);
    expect(await said()).toEqual(['say']);
    now += 60 * 60_000;
    expect(await said()).toEqual(['say']);
    now += 24 * 60 * 60_000;
    expect(await said()).toEqual(['say', 'say']);
    await give('a', { kind: 'acted', act: { what: 'settle', outcome: 'Fixed' } }, mender);
    now += 24 * 60 * 60_000;
    expect(await said()).toEqual(['say', 'say']);
    one.stop();
    other.stop();
  });

  test('goes by the clocks of the time zone, summer time included', () => {
    // London is an hour ahead of UTC from the last Sunday of March to that of October (The Summer Time Order 2002).
    expect(localTime(Date.UTC(2026, 0, 15, 23, 30), 'Europe/London')).toEqual({
      day: '2026-01-15',
      hour: 23,
      minutes: 23 * 60 + 30,
    });
    expect(localTime(Date.UTC(2026, 6, 15, 23, 30), 'Europe/London')).toMatchObject({
      day: '2026-07-16',
      hour: 0,
    });
    expect(localTime(Date.UTC(2026, 2, 29, 1, 0), 'Europe/London')).toMatchObject({
      day: '2026-03-29',
      hour: 2,
    });
  });
});

describe('somebody who sends very much', () => {
  test('is asked kindly to wait, others are not held up, and danger is heard all the same', async () => {
    await runtime.stop();
    open({ manners: { burst: 3, perSecond: 1 } });
    await opens('a');
    for (let i = 0; i < 2; i++) expect(await give('a', { kind: 'asked', what: 'why' })).toEqual([]);
    const [slower] = await give('a', { kind: 'asked', what: 'why' });
    expect(slower).toMatchObject({ kind: 'whisper', words: expect.stringContaining('wait a few seconds') });
    await opens('b', undefined, { ...asker, id: 'another' });
    expect((await runtime.caseOf('test:b')).seq).toBeGreaterThan(0);
    await give('a', { kind: 'said', words: 'smoke is coming out' });
    expect((await runtime.caseOf('test:a')).state).toBe('with people');
    now += 2000;
    expect(await give('a', { kind: 'asked', what: 'card' })).toEqual([]);
  });
});
