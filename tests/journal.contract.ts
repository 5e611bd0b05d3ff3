import { beforeEach, describe, expect, test } from 'vitest';
import type { Event } from '../shared/case.ts';
import type { Outbound } from '../shared/outbound.ts';
import type { Journal, JournalTurn } from '../src/journal/journal.ts';

/** What every journal keeps to. `make` gives a new, empty one. */
export function journalContract(name: string, make: () => Journal | Promise<Journal>): void {
  describe(`the journal: ${name}`, () => {
    let journal: Journal;
    beforeEach(async () => {
      journal = await make();
    });

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
      ...more,
    });
    const words = async (thread = 't'): Promise<string[]> =>
      (await journal.undelivered(thread)).map(({ outbound }) =>
        'words' in outbound ? outbound.words : outbound.kind,
      );

    describe('events', () => {
      test('a thread nobody has written in has none', async () => {
        expect(await journal.read('t')).toEqual([]);
        expect(await journal.undelivered('t')).toEqual([]);
        expect(await journal.due(Number.MAX_SAFE_INTEGER)).toEqual([]);
        expect(await journal.nextDue()).toBeNull();
      });

      test('are read as they were written, in order, over several turns', async () => {
        expect(await journal.append(turn({ inbound: 'a', events: [noted(1), noted(2)] }))).toBe('done');
        expect(await journal.append(turn({ inbound: 'b', after: 2, events: [noted(3)] }))).toBe('done');
        expect(await journal.read('t')).toEqual([noted(1), noted(2), noted(3)]);
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
        await journal.append(turn({ inbound: 'a', events: [odd, moved] }));
        expect(await journal.read('t')).toEqual([odd, moved]);
      });

      test('of one thread are not those of another', async () => {
        await journal.append(turn({ inbound: 'a', events: [noted(1)] }));
        expect(await journal.append(turn({ inbound: 'a', thread: 'u', events: [noted(1, 'other')] }))).toBe(
          'done',
        );
        expect(await journal.read('t')).toEqual([noted(1)]);
        expect(await journal.read('u')).toEqual([noted(1, 'other')]);
      });

      test('cannot be changed through what was read', async () => {
        await journal.append(turn({ inbound: 'a', events: [noted(1)] }));
        ((await journal.read('t')) as Event[]).push(noted(2));
        expect(await journal.read('t')).toEqual([noted(1)]);
      });
    });

    describe('one turn, all of it or nothing', () => {
      const whole = (more: Partial<JournalTurn> & Pick<JournalTurn, 'inbound'>): JournalTurn =>
        turn({ events: [noted(1)], outbound: [say('hello'), remind('wait', 50)], ...more });
      const everything = async () => ({
        events: await journal.read('t'),
        words: await words(),
        due: await journal.due(1e12),
      });

      test('the same inbound a second time is seen, and keeps nothing', async () => {
        await journal.append(whole({ inbound: 'a' }));
        const before = await everything();
        expect(
          await journal.append(
            whole({ inbound: 'a', after: 1, events: [noted(2)], outbound: [say('double'), remind('x', 1)] }),
          ),
        ).toBe('seen');
        // Redelivered with what it was decided on the first time: seen, and no conflict.
        expect(await journal.append(whole({ inbound: 'a' }))).toBe('seen');
        expect(await everything()).toEqual(before);
      });

      test('decided on a case that has moved on is a conflict, keeps nothing, and may be tried again', async () => {
        await journal.append(whole({ inbound: 'a' }));
        const before = await everything();
        const late = whole({
          inbound: 'b',
          events: [noted(1, 'late')],
          outbound: [say('late'), remind('late', 1)],
        });
        expect(await journal.append(late)).toBe('conflict');
        expect(await journal.append({ ...late, after: 7, events: [noted(8)] })).toBe('conflict');
        expect(await everything()).toEqual(before);
        expect(await journal.append({ ...late, after: 1, events: [noted(2, 'late')] })).toBe('done');
      });

      test('of two at the same moment one is kept', async () => {
        const answers = await Promise.all(
          ['a', 'b', 'c'].map((inbound) => journal.append(turn({ inbound, events: [noted(1, inbound)] }))),
        );
        expect(answers.toSorted()).toEqual(['conflict', 'conflict', 'done']);
        expect(await journal.read('t')).toEqual([noted(1, ['a', 'b', 'c'][answers.indexOf('done')])]);
      });

      test('without events it still sends, and is seen the next time', async () => {
        expect(await journal.append(turn({ inbound: 'a', outbound: [say('only words')] }))).toBe('done');
        expect(await journal.append(turn({ inbound: 'a', outbound: [say('only words')] }))).toBe('seen');
        expect(await words()).toEqual(['only words']);
        expect(await journal.append(turn({ inbound: 'b', events: [noted(1)] }))).toBe('done');
      });
    });

    describe('the outbox', () => {
      test('keeps the order of turns and within a turn, and leaves out what was delivered', async () => {
        await journal.append(
          turn({ inbound: 'b', events: [noted(1)], outbound: [say('1'), say('2'), say('3')] }),
        );
        await journal.append(turn({ inbound: 'a', after: 1, outbound: [say('4'), say('5')] }));
        expect(await words()).toEqual(['1', '2', '3', '4', '5']);
        const waiting = await journal.undelivered('t');
        await journal.delivered(waiting[1]?.id ?? '', 'message 77');
        await journal.delivered(waiting[3]?.id ?? '', 'message 78');
        expect(await words()).toEqual(['1', '3', '5']);
      });

      test('keeps the order of more than ten', async () => {
        const many = Array.from({ length: 12 }, (_, i) => say(`${i}`));
        await journal.append(turn({ inbound: 'a', outbound: many }));
        expect(await words()).toEqual(many.map((one) => ('words' in one ? one.words : '')));
      });

      test('names a message the same at every try, and no two alike', async () => {
        await journal.append(turn({ inbound: 'a', outbound: [say('x'), say('x')] }));
        await journal.append(turn({ inbound: 'a', thread: 'u', outbound: [say('x')] }));
        const first = await journal.undelivered('t');
        expect(await journal.undelivered('t')).toEqual(first);
        const ids = [...first, ...(await journal.undelivered('u'))].map(({ id }) => id);
        expect(new Set(ids).size).toBe(3);
      });

      test('what is said twice to be delivered, or was never there, does no harm', async () => {
        await journal.append(turn({ inbound: 'a', outbound: [say('x'), say('y')] }));
        const [first] = await journal.undelivered('t');
        await journal.delivered(first?.id ?? '', 'r');
        await journal.delivered(first?.id ?? '', 'r');
        await journal.delivered('no such message', 'r');
        expect(await words()).toEqual(['y']);
      });
    });

    describe('timers', () => {
      const due = async (now: number): Promise<string[]> =>
        (await journal.due(now)).map(({ thread, key }) => `${thread} ${key}`);

      test('are due by their time, soonest first, and stay until a turn answers them', async () => {
        await journal.append(turn({ inbound: 'a', outbound: [remind('late', 300), remind('soon', 100)] }));
        await journal.append(turn({ inbound: 'a', thread: 'u', outbound: [remind('soon', 200)] }));
        expect(await due(99)).toEqual([]);
        expect(await journal.due(100)).toEqual([{ thread: 't', key: 'soon', due: 100 }]);
        expect(await due(1000)).toEqual(['t soon', 'u soon', 't late']);
        expect(await due(1000)).toEqual(['t soon', 'u soon', 't late']);
        expect(await journal.nextDue()).toBe(100);
        expect(await journal.append(turn({ inbound: 'b', rung: 'soon' }))).toBe('done');
        expect(await due(1000)).toEqual(['u soon', 't late']);
        expect(await journal.nextDue()).toBe(200);
      });

      test('set again have the new time alone', async () => {
        await journal.append(turn({ inbound: 'a', outbound: [remind('wait', 100)] }));
        await journal.append(turn({ inbound: 'b', outbound: [remind('wait', 500)] }));
        expect(await due(499)).toEqual([]);
        expect(await due(500)).toEqual(['t wait']);
      });

      test('are taken back in their own thread', async () => {
        await journal.append(turn({ inbound: 'a', outbound: [remind('wait', 100)] }));
        await journal.append(turn({ inbound: 'a', thread: 'u', outbound: [remind('wait', 100)] }));
        await journal.append(turn({ inbound: 'b', outbound: [{ kind: 'unremind', key: 'wait' }] }));
        expect(await due(1000)).toEqual(['u wait']);
        await journal.append(turn({ inbound: 'c', outbound: [{ kind: 'unremind', key: 'never set' }] }));
        expect(await journal.nextDue()).toBe(100);
      });

      test('rung and set again by the same turn are set', async () => {
        await journal.append(turn({ inbound: 'a', outbound: [remind('wait', 100)] }));
        await journal.append(turn({ inbound: 'b', rung: 'wait', outbound: [remind('wait', 900)] }));
        expect(await due(899)).toEqual([]);
        expect(await due(900)).toEqual(['t wait']);
      });

      test('taken back and set again by the same turn are set, and the other way round are not', async () => {
        await journal.append(turn({ inbound: 'a', outbound: [remind('wait', 100)] }));
        await journal.append(
          turn({ inbound: 'b', outbound: [{ kind: 'unremind', key: 'wait' }, remind('wait', 900)] }),
        );
        expect(await due(900)).toEqual(['t wait']);
        await journal.append(
          turn({ inbound: 'c', outbound: [remind('wait', 950), { kind: 'unremind', key: 'wait' }] }),
        );
        expect(await due(1e9)).toEqual([]);
      });

      test('names may hold anything', async () => {
        await journal.append(turn({ inbound: 'a', thread: 't","x', outbound: [remind('k', 1)] }));
        await journal.append(turn({ inbound: 'a', thread: 't', outbound: [remind('x","k', 1)] }));
        await journal.append(turn({ inbound: 'b', thread: 't', rung: 'x","k' }));
        expect(await due(1)).toEqual(['t","x k']);
      });
    });
  });
}
