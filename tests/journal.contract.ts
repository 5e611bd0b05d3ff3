import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { Event } from '../shared/case.ts';
import type { Outbound } from '../shared/outbound.ts';
import { claimAge, type Journal, type JournalTurn, type Mark, type Timer } from '../src/journal/journal.ts';

/** A new, empty store; what is opened on it is an instance of the desk. */
export interface Store {
  open(owner: string, now: () => number): Promise<Journal>;
  drop(): Promise<void>;
}

/** What every journal keeps to. */
export function journalContract(name: string, make: () => Promise<Store>): void {
  describe(`the journal: ${name}`, () => {
    let store: Store;
    let journal: Journal;
    let clock: number;
    const opened: Journal[] = [];
    const open = async (owner: string): Promise<Journal> => {
      const one = await store.open(owner, () => clock);
      opened.push(one);
      return one;
    };
    beforeEach(async () => {
      clock = 1_700_000_000_000;
      store = await make();
      journal = await open('first');
    });
    afterEach(async () => {
      for (const one of opened.splice(0)) await one.close();
      await store.drop();
    });

    const events = async (thread = 't', from: Journal = journal): Promise<readonly Event[]> =>
      (await from.read(thread)).events;
    const append = async (one: JournalTurn, to: Journal = journal): Promise<string> =>
      (await to.append(one)).kind;
    /** Timers due by `now`, and their claims given up again by waiting. */
    const timersDue = async (now: number): Promise<readonly Timer[]> => {
      const due = await journal.claim({ now, platforms: ['t', 'u', 't","x'], limit: 100 });
      clock += claimAge + 1;
      return due;
    };
    const undelivered = async (thread = 't') => (await journal.take(thread)) ?? [];

    const noted = (seq: number, words = `words ${seq}`): Event => ({
      kind: 'noted',
      seq,
      at: 1000 * seq,
      by: 'ada',
      words,
    });
    const say = (words: string): Outbound => ({ kind: 'say', words });
    const remind = (key: string, due: number): Outbound => ({ kind: 'remind', key, due, reason: 'a wait' });
    const turn = (more: Partial<JournalTurn> & Pick<JournalTurn, 'inbound'>): JournalTurn => ({
      thread: 't',
      after: 0,
      events: [],
      outbound: [],
      state: 'asking',
      ...more,
    });
    const words = async (thread = 't'): Promise<string[]> =>
      (await undelivered(thread)).map(({ outbound }) =>
        'words' in outbound ? outbound.words : outbound.kind,
      );

    describe('lists', () => {
      test('the latest case at a place is the thread itself or the latest within it', async () => {
        for (const thread of ['p:1', 'p:dm/1', 'p:dm/2', 'p:dm2/9'])
          await append(turn({ inbound: 'a', thread, events: [noted(1)] }));
        await append(
          turn({ inbound: 'b', thread: 'p:dm/2', after: 1, events: [noted(2)], state: 'settled' }),
        );
        await append(turn({ inbound: 'a', thread: 'p:empty', outbound: [say('hello')] }));
        expect(await journal.latest('p:1')).toEqual({ thread: 'p:1', settled: false });
        expect(await journal.latest('p:dm')).toEqual({ thread: 'p:dm/2', settled: true });
        expect(await journal.latest('p:empty')).toBeNull();
        expect(await journal.latest('p:d')).toBeNull();
        expect(await journal.latest('p')).toBeNull();
      });

      test('cases that people have are listed by platform, oldest first, and no others', async () => {
        for (const [thread, state] of [
          ['p:1', 'with people'],
          ['p:2', 'asking'],
          ['p:3', 'with people'],
          ['q:1', 'with people'],
        ] as const)
          await append(turn({ inbound: 'a', thread, events: [noted(1)], state }));
        expect(await journal.withPeople('p', 10)).toEqual(['p:1', 'p:3']);
        expect(await journal.withPeople('p', 1)).toEqual(['p:1']);
        await append(turn({ inbound: 'b', thread: 'p:1', after: 1, events: [noted(2)], state: 'settled' }));
        expect(await journal.withPeople('p', 10)).toEqual(['p:3']);
      });

      test('settled ones are read a page at a time, each once, and none that is still open', async () => {
        for (const [thread, state] of [
          ['p:1', 'settled'],
          ['p:2', 'asking'],
          ['q:1', 'settled'],
          ['p:3', 'settled'],
        ] as const)
          await append(turn({ inbound: 'a', thread, events: [noted(1)], state }));
        const first = await journal.settled(null, 2);
        expect(first.map(({ thread }) => thread)).toEqual(['p:1', 'q:1']);
        // What people wrote is not looked at.
        for (const { events } of first) expect(events).toEqual([noted(1, '')]);
        const rest = await journal.settled(first.at(-1)?.mark ?? null, 2);
        expect(rest.map(({ thread }) => thread)).toEqual(['p:3']);
        expect(await journal.settled(rest.at(-1)?.mark ?? null, 2)).toEqual([]);
      });
    });

    describe('events', () => {
      test('a thread nobody has written in has none', async () => {
        expect(await events('t')).toEqual([]);
        expect(await undelivered('t')).toEqual([]);
        expect(await timersDue(Number.MAX_SAFE_INTEGER)).toEqual([]);
        expect(await journal.nextDue()).toBeNull();
      });

      test('are read as they were written, in order, over several turns', async () => {
        expect(await append(turn({ inbound: 'a', events: [noted(1), noted(2)] }))).toBe('done');
        expect(await append(turn({ inbound: 'b', after: 2, events: [noted(3)] }))).toBe('done');
        expect(await events('t')).toEqual([noted(1), noted(2), noted(3)]);
      });

      test('keep every character and number', async () => {
        const odd = noted(1, '“Ω” 🔥 \u0000 \'"; DROP TABLE \n 4,97 V');
        const moved: Event = {
          kind: 'proof-read',
          seq: 2,
          at: -5,
          by: '__proto__',
          point: 'p',
          value: 0.1 + 0.2,
          demonstration: true,
        };
        await append(turn({ inbound: 'a', events: [odd, moved] }));
        expect(await events('t')).toEqual([odd, moved]);
      });

      test('of one thread are not those of another', async () => {
        await append(turn({ inbound: 'a', events: [noted(1)] }));
        expect(await append(turn({ inbound: 'a', thread: 'u', events: [noted(1, 'other')] }))).toBe('done');
        expect(await events('t')).toEqual([noted(1)]);
        expect(await events('u')).toEqual([noted(1, 'other')]);
      });

      test('cannot be changed through what was read', async () => {
        await append(turn({ inbound: 'a', events: [noted(1)] }));
        ((await events('t')) as Event[]).push(noted(2));
        expect(await events('t')).toEqual([noted(1)]);
      });
    });

    describe('one turn, all of it or nothing', () => {
      const whole = (more: Partial<JournalTurn> & Pick<JournalTurn, 'inbound'>): JournalTurn =>
        turn({ events: [noted(1)], outbound: [say('hello'), remind('wait', 50)], ...more });
      const everything = async () => ({
        events: await events('t'),
        words: await words(),
        due: await timersDue(1e12),
      });

      test('the same inbound a second time is seen, and keeps nothing', async () => {
        await append(whole({ inbound: 'a' }));
        const before = await everything();
        expect(
          await append(
            whole({ inbound: 'a', after: 1, events: [noted(2)], outbound: [say('double'), remind('x', 1)] }),
          ),
        ).toBe('seen');
        // Redelivered with what it was decided on the first time: seen, and no conflict.
        expect(await append(whole({ inbound: 'a' }))).toBe('seen');
        expect(await everything()).toEqual(before);
      });

      test('decided on a case that has moved on is a conflict, keeps nothing, and may be tried again', async () => {
        await append(whole({ inbound: 'a' }));
        const before = await everything();
        const late = whole({
          inbound: 'b',
          events: [noted(1, 'late')],
          outbound: [say('late'), remind('late', 1)],
        });
        expect(await append(late)).toBe('conflict');
        expect(await append({ ...late, after: 7, events: [noted(8)] })).toBe('conflict');
        expect(await everything()).toEqual(before);
        expect(await append({ ...late, after: 1, events: [noted(2, 'late')] })).toBe('done');
      });

      test('of two at the same moment one is kept', async () => {
        const answers = await Promise.all(
          ['a', 'b', 'c'].map((inbound) => append(turn({ inbound, events: [noted(1, inbound)] }))),
        );
        expect(answers.toSorted()).toEqual(['conflict', 'conflict', 'done']);
        expect(await events('t')).toEqual([noted(1, ['a', 'b', 'c'][answers.indexOf('done')])]);
      });

      test('without events it still sends, and is seen the next time', async () => {
        expect(await append(turn({ inbound: 'a', outbound: [say('only words')] }))).toBe('done');
        expect(await append(turn({ inbound: 'a', outbound: [say('only words')] }))).toBe('seen');
        expect(await words()).toEqual(['only words']);
        expect(await append(turn({ inbound: 'b', events: [noted(1)] }))).toBe('done');
      });
    });

    describe('the outbox', () => {
      test('keeps the order of turns and within a turn, and leaves out what was delivered', async () => {
        await append(turn({ inbound: 'b', events: [noted(1)], outbound: [say('1'), say('2'), say('3')] }));
        await append(turn({ inbound: 'a', after: 1, outbound: [say('4'), say('5')] }));
        expect(await words()).toEqual(['1', '2', '3', '4', '5']);
        const waiting = await undelivered('t');
        await journal.delivered(waiting[1]?.id ?? '', 'message 77');
        await journal.delivered(waiting[3]?.id ?? '', 'message 78');
        expect(await words()).toEqual(['1', '3', '5']);
      });

      test('keeps the order of more than ten', async () => {
        const many = Array.from({ length: 12 }, (_, i) => say(`${i}`));
        await append(turn({ inbound: 'a', outbound: many }));
        expect(await words()).toEqual(many.map((one) => ('words' in one ? one.words : '')));
      });

      test('names a message the same at every try, and no two alike', async () => {
        await append(turn({ inbound: 'a', outbound: [say('x'), say('x')] }));
        await append(turn({ inbound: 'a', thread: 'u', outbound: [say('x')] }));
        const first = await undelivered('t');
        expect(await undelivered('t')).toEqual(first);
        const ids = [...first, ...(await undelivered('u'))].map(({ id }) => id);
        expect(new Set(ids).size).toBe(3);
      });

      test('what is said twice to be delivered, or was never there, does no harm', async () => {
        await append(turn({ inbound: 'a', outbound: [say('x'), say('y')] }));
        const [first] = await undelivered('t');
        await journal.delivered(first?.id ?? '', 'r');
        await journal.delivered(first?.id ?? '', 'r');
        await journal.delivered('no such message', 'r');
        expect(await words()).toEqual(['y']);
      });
    });

    describe('timers', () => {
      const due = async (now: number): Promise<string[]> =>
        (await timersDue(now)).map(({ thread, key }) => `${thread} ${key}`);

      test('are due by their time, soonest first, and stay until a turn answers them', async () => {
        await append(turn({ inbound: 'a', outbound: [remind('late', 300), remind('soon', 100)] }));
        await append(turn({ inbound: 'a', thread: 'u', outbound: [remind('soon', 200)] }));
        expect(await due(99)).toEqual([]);
        expect(await timersDue(100)).toEqual([{ thread: 't', key: 'soon', due: 100 }]);
        expect(await due(1000)).toEqual(['t soon', 'u soon', 't late']);
        expect(await due(1000)).toEqual(['t soon', 'u soon', 't late']);
        expect(await journal.nextDue()).toBe(100);
        expect(await append(turn({ inbound: 'b', rung: 'soon' }))).toBe('done');
        expect(await due(1000)).toEqual(['u soon', 't late']);
        expect(await journal.nextDue()).toBe(200);
      });

      test('set again have the new time alone', async () => {
        await append(turn({ inbound: 'a', outbound: [remind('wait', 100)] }));
        await append(turn({ inbound: 'b', outbound: [remind('wait', 500)] }));
        expect(await due(499)).toEqual([]);
        expect(await due(500)).toEqual(['t wait']);
      });

      test('are taken back in their own thread', async () => {
        await append(turn({ inbound: 'a', outbound: [remind('wait', 100)] }));
        await append(turn({ inbound: 'a', thread: 'u', outbound: [remind('wait', 100)] }));
        await append(turn({ inbound: 'b', outbound: [{ kind: 'unremind', key: 'wait' }] }));
        expect(await due(1000)).toEqual(['u wait']);
        await append(turn({ inbound: 'c', outbound: [{ kind: 'unremind', key: 'never set' }] }));
        expect(await journal.nextDue()).toBe(100);
      });

      test('rung and set again by the same turn are set', async () => {
        await append(turn({ inbound: 'a', outbound: [remind('wait', 100)] }));
        await append(turn({ inbound: 'b', rung: 'wait', outbound: [remind('wait', 900)] }));
        expect(await due(899)).toEqual([]);
        expect(await due(900)).toEqual(['t wait']);
      });

      test('taken back and set again by the same turn are set, and the other way round are not', async () => {
        await append(turn({ inbound: 'a', outbound: [remind('wait', 100)] }));
        await append(
          turn({ inbound: 'b', outbound: [{ kind: 'unremind', key: 'wait' }, remind('wait', 900)] }),
        );
        expect(await due(900)).toEqual(['t wait']);
        await append(
          turn({ inbound: 'c', outbound: [remind('wait', 950), { kind: 'unremind', key: 'wait' }] }),
        );
        expect(await due(1e9)).toEqual([]);
      });

      test('names may hold anything', async () => {
        await append(turn({ inbound: 'a', thread: 't","x', outbound: [remind('k', 1)] }));
        await append(turn({ inbound: 'a', thread: 't', outbound: [remind('x","k', 1)] }));
        await append(turn({ inbound: 'b', thread: 't', rung: 'x","k' }));
        expect(await due(1)).toEqual(['t","x k']);
      });
    });

    describe('what came after', () => {
      test('a mark is all that is read', async () => {
        await append(turn({ inbound: 'a', events: [noted(1), noted(2)] }));
        const { mark } = await journal.read('t');
        expect(mark?.seq).toBe(2);
        expect(await journal.read('t', mark as Mark)).toEqual({ from: 2, events: [], mark });
        const more = await journal.append(turn({ inbound: 'b', after: 2, events: [noted(3)] }));
        const stretch = await journal.read('t', mark as Mark);
        expect(stretch).toMatchObject({ from: 2, events: [noted(3)], mark: { seq: 3 } });
        expect(more).toMatchObject({ kind: 'done', mark: stretch.mark });
      });

      test('a mark of another history is everything', async () => {
        await append(turn({ inbound: 'a', events: [noted(1), noted(2)] }));
        const stretch = await journal.read('t', { seq: 2, id: 'of another history' });
        expect(stretch).toMatchObject({ from: 0, events: [noted(1), noted(2)] });
        expect(await journal.read('t', { seq: 9, id: 'beyond the end' })).toEqual(stretch);
      });

      test('a turn without events leaves the mark where it was', async () => {
        expect(await journal.append(turn({ inbound: 'a' }))).toMatchObject({ kind: 'done', mark: null });
      });
    });

    describe('delivering', () => {
      const which = (now: number, platforms = ['t', 'u']) => ({ now, platforms, limit: 10 });

      test('what a turn wrote is handed back as it stands in the outbox', async () => {
        const done = await journal.append(turn({ inbound: 'a', outbound: [say('1'), say('2')] }));
        expect(done).toMatchObject({
          kind: 'done',
          mine: true,
          behind: false,
          messages: await undelivered(),
        });
        expect(await journal.append(turn({ inbound: 'b', outbound: [say('3')] }))).toMatchObject({
          behind: true,
        });
        expect(await journal.append(turn({ inbound: 'c', thread: 'u' }))).toMatchObject({ behind: false });
        expect(await undelivered()).toMatchObject([
          { outbound: say('1'), tries: 0, since: clock },
          { outbound: say('2'), tries: 0, since: clock },
          { outbound: say('3'), tries: 0, since: clock },
        ]);
      });

      test('is done in one thread by one instance at a time, until it gives it up', async () => {
        const other = await open('second');
        await append(turn({ inbound: 'a', outbound: [say('1')] }));
        expect(await other.take('t')).toBeNull();
        expect(await other.waiting(which(clock))).toEqual([]);
        expect(await other.append(turn({ inbound: 'b', outbound: [say('2')] }))).toMatchObject({
          kind: 'done',
          mine: false,
        });
        const [first] = await undelivered();
        await journal.delivered(first?.id ?? '', 'r');
        await journal.release('t');
        await journal.reference('t', 'makes it write');
        expect(await other.waiting(which(clock))).toEqual(['t']);
        expect(await other.take('t')).toMatchObject([{ outbound: say('2') }]);
        expect(await journal.take('t')).toBeNull();
      });

      test('goes to another instance when the first has not been heard of for long', async () => {
        const other = await open('second');
        await append(turn({ inbound: 'a', outbound: [say('1')] }));
        clock += claimAge + 1;
        expect(await other.waiting(which(clock))).toEqual(['t']);
        expect(await other.take('t')).toMatchObject([{ outbound: say('1') }]);
        expect(await journal.take('t')).toBeNull();
      });

      test('given up late gives up nothing that was taken since', async () => {
        const other = await open('second');
        await append(turn({ inbound: 'a', outbound: [say('1')] }));
        await journal.release('t');
        await append(turn({ inbound: 'b', outbound: [say('2')] }));
        await journal.reference('t', 'makes it write');
        expect(await other.take('t')).toBeNull();
      });

      test('waits for the oldest message’s time, in the platforms asked for', async () => {
        await append(turn({ inbound: 'a', outbound: [say('1'), say('2')] }));
        await append(turn({ inbound: 'a', thread: 'u', outbound: [say('3')] }));
        const [first] = await undelivered();
        await journal.failed(first?.id ?? '', 3, clock + 500);
        expect(await journal.waiting(which(clock + 499))).toEqual(['u']);
        expect((await journal.waiting(which(clock + 500))).toSorted()).toEqual(['t', 'u']);
        expect(await journal.waiting(which(clock + 500, ['t']))).toEqual(['t']);
        expect(await undelivered()).toMatchObject([{ tries: 3 }, { tries: 0 }]);
      });

      test('is tried again at any moment, not only at whole milliseconds', async () => {
        await append(turn({ inbound: 'a', outbound: [say('1')] }));
        const [first] = await undelivered();
        await journal.failed(first?.id ?? '', 1, clock + 499.5);
        expect(await journal.waiting(which(clock + 499))).toEqual([]);
        expect(await journal.waiting(which(clock + 500))).toEqual(['t']);
      });

      test('set aside lets what is behind it pass, and is counted', async () => {
        await append(turn({ inbound: 'a', outbound: [say('1'), say('2')] }));
        expect(await journal.backlog()).toEqual({ waiting: 2, oldest: clock, setAside: 0 });
        const [first, second] = await undelivered();
        await journal.setAside(first?.id ?? '', 'refused');
        expect(await undelivered()).toEqual([second]);
        expect(await journal.backlog()).toEqual({ waiting: 1, oldest: clock, setAside: 1 });
        await journal.delivered(second?.id ?? '', 'r');
        await journal.reference('t', 'makes it write');
        expect(await journal.backlog()).toEqual({ waiting: 0, oldest: null, setAside: 1 });
      });

      test('a question’s reference is kept, and another’s is another', async () => {
        const ask = (key: string) => ({ ...someAsk, key });
        await append(turn({ inbound: 'a', outbound: [say('0'), ask('q1'), ask('q2')] }));
        expect(await journal.reference('t', 'q1')).toBeNull();
        const [zeroth, first, second] = await undelivered();
        await journal.delivered(zeroth?.id ?? '', 'message 1');
        await journal.delivered(first?.id ?? '', 'message 2');
        await journal.delivered(second?.id ?? '', 'message 3');
        expect(await journal.reference('t', 'q1')).toBe('message 2');
        expect(await journal.reference('t', 'q2')).toBe('message 3');
        expect(await journal.reference('u', 'q1')).toBeNull();
        expect(await undelivered()).toEqual([]);
      });
    });

    describe('claimed timers', () => {
      const which = (now: number, limit = 10) => ({ now, platforms: ['t', 'u'], limit });

      test('are nobody else’s until the claim is old', async () => {
        const other = await open('second');
        await append(turn({ inbound: 'a', outbound: [remind('x', 1), remind('y', 2), remind('z', 3)] }));
        expect(await journal.claim(which(5, 2))).toMatchObject([{ key: 'x' }, { key: 'y' }]);
        expect(await other.claim(which(5))).toMatchObject([{ key: 'z' }]);
        expect(await journal.claim(which(5))).toEqual([]);
        clock += claimAge + 1;
        expect(await other.claim(which(5))).toMatchObject([{ key: 'x' }, { key: 'y' }, { key: 'z' }]);
      });

      test('never go to two instances at once', async () => {
        const other = await open('second');
        for (let i = 0; i < 20; i++) await append(turn({ inbound: `${i}`, outbound: [remind(`k${i}`, i)] }));
        const both = await Promise.all(
          Array.from({ length: 10 }, (_, i) => (i % 2 ? journal : other).claim(which(100, 5))),
        );
        const keys = both.flat().map(({ key }) => key);
        expect(new Set(keys).size).toBe(keys.length);
        const rest = await journal.claim(which(100, 100));
        expect(keys.length + rest.length).toBe(20);
      });

      test('set anew are not claimed any more', async () => {
        await append(turn({ inbound: 'a', outbound: [remind('x', 1)] }));
        await journal.claim(which(5));
        await append(turn({ inbound: 'b', outbound: [remind('x', 4)] }));
        expect(await journal.claim(which(5))).toEqual([{ thread: 't', key: 'x', due: 4 }]);
      });

      test('of another platform are left alone', async () => {
        await append(turn({ inbound: 'a', thread: 'elsewhere:1', outbound: [remind('x', 1)] }));
        expect(await journal.claim(which(5))).toEqual([]);
        expect(await journal.claim({ now: 5, platforms: ['elsewhere'], limit: 1 })).toEqual([
          { thread: 'elsewhere:1', key: 'x', due: 1 },
        ]);
      });
    });

    describe('what is kept of people', () => {
      const by = (person: string, event: Event): Event => ({ ...event, by: person }) as Event;
      const ofTwo = () =>
        append(
          turn({
            inbound: 'a',
            events: [
              by('ada', noted(1, 'my street')),
              by('bob', noted(2, 'my phone')),
              {
                kind: 'joined',
                seq: 3,
                at: 3,
                by: 'ada',
                person: 'ada',
                name: 'Ada',
                level: null,
                roles: [],
              },
              { kind: 'answered', seq: 4, at: 4, by: 'ada', level: 'new', step: 's', outcome: 'o' },
            ],
          }),
        );

      test('is found by person', async () => {
        await ofTwo();
        await append(turn({ inbound: 'a', thread: 'u', events: [by('bob', noted(1, 'elsewhere'))] }));
        expect(await journal.threadsOf('ada')).toEqual(['t']);
        expect((await journal.threadsOf('bob')).toSorted()).toEqual(['t', 'u']);
        expect(await journal.threadsOf('cy')).toEqual([]);
      });

      test('is unreadable once it was forgotten, in every case, and what counts stays', async () => {
        await ofTwo();
        await append(turn({ inbound: 'a', thread: 'u', events: [by('ada', noted(1, 'elsewhere'))] }));
        await journal.forget('ada');
        const left = await events('t');
        expect(JSON.stringify(left)).not.toMatch(/street|Ada/);
        expect(left).toEqual([
          by('ada', noted(1, '')),
          by('bob', noted(2, 'my phone')),
          { kind: 'joined', seq: 3, at: 3, by: 'ada', person: 'ada', name: '', level: null, roles: [] },
          { kind: 'answered', seq: 4, at: 4, by: 'ada', level: 'new', step: 's', outcome: 'o' },
        ]);
        expect(await events('u')).toEqual([by('ada', noted(1, ''))]);
        await journal.forget('nobody');
      });

      test('may be erased by turns that are found again by how their ids begin', async () => {
        await append(turn({ inbound: 'erased:ab:1' }));
        await append(turn({ inbound: 'erased:ab:2', thread: 'u', events: [noted(1)] }));
        await append(turn({ inbound: 'not erased:ab:2', thread: 'v' }));
        expect((await journal.takenIn('erased:ab:')).toSorted()).toEqual(['t', 'u']);
        expect(await journal.takenIn('erased:ab:2')).toEqual(['u']);
        expect(await journal.takenIn('erased:%')).toEqual([]);
      });

      test('said after it was forgotten is kept again', async () => {
        await ofTwo();
        await journal.forget('ada');
        await append(turn({ inbound: 'b', after: 4, events: [by('ada', noted(5, 'a new start'))] }));
        expect((await events('t')).at(-1)).toEqual(by('ada', noted(5, 'a new start')));
        expect((await events('t'))[0]).toEqual(by('ada', noted(1, '')));
      });

      test('in a case that was forgotten is gone, whoever said it', async () => {
        await ofTwo();
        await append(
          turn({
            inbound: 'b',
            after: 4,
            events: [{ kind: 'forgotten', seq: 5, at: 5, by: 'ada' }],
            state: 'settled',
          }),
        );
        expect(JSON.stringify(await events('t'))).not.toMatch(/street|phone|Ada/);
        expect(await journal.threadsOf('bob')).toEqual([]);
      });

      test('too long is found, in settled cases only, as long as there are words', async () => {
        await ofTwo();
        await append(turn({ inbound: 'a', thread: 'u', events: [noted(1, 'still open')] }));
        await append(turn({ inbound: 'b', after: 4, state: 'settled', events: [noted(5, 'done')] }));
        expect(await journal.wordsOlderThan(5001, 10)).toEqual(['t']);
        expect(await journal.wordsOlderThan(5000, 10)).toEqual([]);
        await append(
          turn({
            inbound: 'c',
            after: 5,
            state: 'settled',
            events: [{ kind: 'forgotten', seq: 6, at: 6, by: 'desk' }],
          }),
        );
        expect(await journal.wordsOlderThan(1e9, 10)).toEqual([]);
      });
    });
  });
}

const someAsk = {
  kind: 'ask',
  step: 'x',
  phase: 'check',
  number: 1,
  title: 'Look',
  hazards: [],
  how: [],
  notes: [],
  question: 'What?',
  tools: [],
  minutes: 1,
  wait: 0,
  choices: [],
  controls: [],
} as const satisfies Omit<Outbound & { kind: 'ask' }, 'key'>;
