import { afterEach, describe, expect, test } from 'vitest';
import type { Event } from '../../shared/case.ts';
import { emptyCase, fold } from '../../src/core/reduce.ts';
import type { Journal } from '../../src/journal/journal.ts';
import { memoryJournal } from '../../src/journal/memory.ts';
import { sweep } from '../../src/keeping/retention.ts';
import { describePostgres } from '../services.ts';
import { type KeptDesk, type Kind, keptDesk, noted, opening, turn } from './kept-desk.ts';

const day = 24 * 60 * 60_000;
/** A hundred days after the cases. */
const now = 100 * day;

const ended: Event = {
  kind: 'settled',
  seq: 2,
  at: 2000,
  by: 'ada',
  outcome: 'Fixed',
  fault: null,
  barrier: null,
};
const settled = (journal: Journal, thread: string) =>
  journal.append(turn(thread, 'a', 0, { events: [opening('words', 'ada'), ended], state: 'settled' }));
const wordsIn = async (journal: Journal, thread: string): Promise<string> => {
  const [event] = (await journal.read(thread)).events;
  return event?.kind === 'opened' ? event.words : '';
};

function retention(make: () => Promise<Journal>): void {
  test('takes words out of settled cases that are old enough, and of no other', async () => {
    const journal = await make();
    await settled(journal, 't:old');
    await journal.append(turn('t:open', 'a', 0, { events: [opening('words')] }));
    await settled(journal, 't:young');
    await journal.append(
      turn('t:young', 'b', 2, { events: [noted(3, 'later', 'ada', 20 * day)], state: 'settled' }),
    );
    const dropped: string[] = [];
    const forgetCached = async (thread: string) => dropped.push(thread);
    expect(await sweep(journal, { now, days: 90, limit: 10, forgetCached })).toBe(1);
    expect(dropped).toEqual(['t:old']);
    expect(await wordsIn(journal, 't:old')).toBe('');
    expect((await journal.read('t:old')).events.at(-1)).toEqual({
      kind: 'forgotten',
      seq: 3,
      at: now,
      by: 'desk',
    });
    expect(await wordsIn(journal, 't:open')).toBe('words');
    expect(await wordsIn(journal, 't:young')).toBe('words');
    expect(await sweep(journal, { now, days: 90, limit: 10 })).toBe(0);
    expect(await sweep(journal, { now, days: 80, limit: 10 })).toBe(0);
    expect(await sweep(journal, { now, days: 79, limit: 10 })).toBe(1);
  });

  test('is done a few at a time', async () => {
    const journal = await make();
    for (let i = 0; i < 5; i++) await settled(journal, `t:${i}`);
    const counts = [];
    for (let i = 0; i < 4; i++) counts.push(await sweep(journal, { now, days: 1, limit: 2 }));
    expect(counts).toEqual([2, 2, 1, 0]);
  });

  test('leaves a case alone that somebody took up again meanwhile', async () => {
    const journal = await make();
    await settled(journal, 't:1');
    await settled(journal, 't:2');
    const busy: Journal = {
      ...journal,
      async append(one) {
        if (one.thread === 't:1')
          await journal.append(
            turn('t:1', 'b', 2, { events: [{ kind: 'taken-up-again', seq: 3, at: now, by: 'ada' }] }),
          );
        return journal.append(one);
      },
    };
    expect(await sweep(busy, { now, days: 1, limit: 10 })).toBe(1);
    expect(await wordsIn(journal, 't:1')).toBe('words');
    expect(fold(emptyCase('t:1'), (await journal.read('t:1')).events).state).toBe('asking');
    expect(await wordsIn(journal, 't:2')).toBe('');
  });

  test('tells of a case that fails, and goes on with the others', async () => {
    const journal = await make();
    await settled(journal, 't:1');
    await settled(journal, 't:2');
    const damaged: Journal = {
      ...journal,
      async read(thread, after) {
        if (thread === 't:1') throw new Error('tampered with');
        return journal.read(thread, after);
      },
    };
    const told: string[] = [];
    expect(await sweep(damaged, { now, days: 1, limit: 10, report: (problem) => told.push(problem) })).toBe(
      1,
    );
    expect(told).toEqual(['Thread t:1 keeps its words: tampered with']);
  });
}

const inDatabase = (kind: Kind): void => {
  let desk: KeptDesk | null = null;
  afterEach(async () => desk?.drop());
  retention(async () => {
    desk = await keptDesk(kind);
    return desk.open();
  });
};

describe('retention in memory', () => retention(async () => memoryJournal()));
describe('retention in SQLite', () => inDatabase('sqlite'));
describePostgres('retention in PostgreSQL', () => inDatabase('postgres'));
