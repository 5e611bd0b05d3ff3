import { readFile, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { Event } from '../../shared/case.ts';
import { emptyCase, fold } from '../../src/core/reduce.ts';
import type { Journal } from '../../src/journal/journal.ts';
import { memoryJournal } from '../../src/journal/memory.ts';
import type { SqlJournal } from '../../src/journal/sql.ts';
import { backupCases, backupKeys } from '../../src/keeping/backup.ts';
import { type EraseDesk, erase, eraseCommand } from '../../src/keeping/erase.ts';
import { restoreCases } from '../../src/keeping/restore-cases.ts';
import { restoreKeys } from '../../src/keeping/restore-keys.ts';
import { describePostgres } from '../services.ts';
import {
  began,
  joining,
  type KeptDesk,
  type Kind,
  keptDesk,
  newFolder,
  noted,
  opening,
  remind,
  say,
  turn,
} from './kept-desk.ts';

let folder: string;
const desks: KeptDesk[] = [];
const newDesk = async (kind: Kind): Promise<KeptDesk> => {
  const desk = await keptDesk(kind);
  desks.push(desk);
  return desk;
};
const file = (name: string): string => join(folder, name);
beforeEach(async () => {
  folder = await newFolder();
});
afterEach(async () => {
  for (const desk of desks.splice(0)) await desk.drop();
  await rm(folder, { recursive: true });
});

const day = 24 * 60 * 60_000;
const mentions = /Quillon|Elm Row|my telly/;

/** Ada's own case, which waits; Bob's, in which she advised; and Bob's other one, in which she is not. */
async function threeCases(journal: Journal): Promise<void> {
  const rested: Event = {
    kind: 'rested',
    seq: 4,
    at: 4000,
    by: 'desk',
    key: 'wait',
    due: 99,
    reason: 'it dries',
  };
  await journal.append(
    turn('t:own', 'a', 0, {
      events: [
        joining(1, 'ada', 'Ada Quillon'),
        opening('my telly at Elm Row', 'ada', 2),
        noted(3, 'a word of Bob', 'bob'),
        rested,
      ],
      outbound: [remind('wait', 99)],
      state: 'resting',
    }),
  );
  await journal.append(
    turn('t:other', 'a', 0, {
      events: [
        joining(1, 'bob', 'Bob'),
        opening('a lamp', 'bob', 2),
        joining(3, 'ada', 'Ada Quillon'),
        { kind: 'advised', seq: 4, at: 4000, by: 'ada', words: 'do as I did at Elm Row' },
      ],
    }),
  );
  await journal.append(turn('t:bob', 'a', 0, { events: [opening('a kettle', 'bob')] }));
}
const threads = ['t:own', 't:other', 't:bob'] as const;

const everything = async (journal: Journal): Promise<string> => {
  const all = [];
  for (const thread of threads) all.push(await journal.read(thread), await journal.take(thread));
  return JSON.stringify(all);
};
const kindsIn = async (journal: Journal, thread: string): Promise<string[]> =>
  (await journal.read(thread)).events.map(({ kind }) => kind);

async function isErased(journal: Journal): Promise<void> {
  expect(await everything(journal)).not.toMatch(mentions);
  expect(await kindsIn(journal, 't:own')).toEqual(['joined', 'opened', 'noted', 'rested', 'forgotten']);
  expect(await kindsIn(journal, 't:other')).toEqual(['joined', 'opened', 'joined', 'advised', 'erased']);
  expect(await kindsIn(journal, 't:bob')).toEqual(['opened']);
  const own = fold(emptyCase('t:own'), (await journal.read('t:own')).events);
  expect(own).toMatchObject({ state: 'settled', rest: null, words: [], asker: 'ada' });
  const other = fold(emptyCase('t:other'), (await journal.read('t:other')).events);
  expect(other).toMatchObject({ state: 'asking', words: ['a lamp'], advice: [] });
  expect(other.people.ada?.name).toBe('');
  expect(other.people.bob?.name).toBe('Bob');
  // The wait is over, and nobody is reminded of it.
  expect(await journal.nextDue()).toBeNull();
  expect(await journal.threadsOf('ada')).toEqual([]);
}

/** Snapshots of cases, as a cache has them. */
const newCache = () => {
  const cached = new Set<string>(threads);
  return {
    cached,
    forgetCached: async (thread: string): Promise<'gone' | 'unsure'> => {
      cached.delete(thread);
      return 'gone';
    },
  };
};
const eraser = (desk: KeptDesk, forgetCached: EraseDesk['forgetCached']): EraseDesk => ({
  ...desk,
  forgetCached,
  keyBackupDays: 7,
  retentionDays: 730,
});

test('erasing works in a journal in memory, too', async () => {
  const journal = memoryJournal();
  await threeCases(journal);
  const { cached, forgetCached } = newCache();
  expect(await erase(journal, 'ada', { now: () => began, forgetCached })).toMatchObject({
    touched: ['t:own', 't:other'],
    unsure: [],
  });
  await isErased(journal);
  expect([...cached]).toEqual(['t:bob']);
});

function inDatabase(kind: Kind): void {
  let desk: KeptDesk;
  let journal: SqlJournal;
  beforeEach(async () => {
    desk = await newDesk(kind);
    journal = await desk.open();
    await threeCases(journal);
  });

  test('takes the words out of every case, and what counts stays', async () => {
    const { cached, forgetCached } = newCache();
    expect(await eraseCommand(['person', 'ada'], eraser(desk, forgetCached))).toBe(0);
    await isErased(journal);
    expect([...cached]).toEqual(['t:bob']);
    expect(desk.said.join('\n')).toMatch(/unreadable: 2 cases touched\./);
    expect(desk.said.join('\n')).toContain(
      `until ${new Date(began + 7 * day).toISOString().slice(0, 10)} 22:13 UTC, if those are deleted after 7 days`,
    );
    expect(desk.said.join('\n')).toMatch(/It goes 730 days after/);
  });

  test('again does no harm, and says what was done before', async () => {
    const first = newCache();
    await eraseCommand(['person', 'ada'], eraser(desk, first.forgetCached));
    desk.clock.now += day;
    desk.said.length = 0;
    const second = newCache();
    expect(await eraseCommand(['person', 'ada'], eraser(desk, second.forgetCached))).toBe(0);
    await isErased(journal);
    expect(desk.said.join('\n')).toMatch(/0 cases touched, 2 erased before/);
    expect([...second.cached]).toEqual(['t:bob']);
  });

  test('of somebody unknown says how an id looks', async () => {
    await expect(eraseCommand(['person', 'adda'], eraser(desk, newCache().forgetCached))).rejects.toThrow(
      /No case holds words of “adda”/,
    );
    for (const args of [[], ['person'], ['ada'], ['person', 'ada', 'bob']])
      expect(await eraseCommand(args, eraser(desk, newCache().forgetCached))).toBe(2);
    expect(await everything(journal)).toMatch(mentions);
  });

  test('says where a cache may still hold words, and is repaired by running it again', async () => {
    const silent = eraser(desk, async (thread) => (thread === 't:own' ? 'unsure' : 'gone'));
    expect(await eraseCommand(['person', 'ada'], silent)).toBe(1);
    expect(desk.said.join('\n')).toMatch(/words of 1 case until they expire there: t:own\. Run this again/);
    const { cached, forgetCached } = newCache();
    expect(await eraseCommand(['person', 'ada'], eraser(desk, forgetCached))).toBe(0);
    expect([...cached]).toEqual(['t:bob']);
  });

  test('what the person says later is kept again, and may be erased again', async () => {
    const { forgetCached } = newCache();
    await erase(journal, 'ada', { now: desk.now, forgetCached });
    await journal.append(turn('t:other', 'b', 5, { events: [noted(6, 'back at Elm Row', 'ada')] }));
    expect(await everything(journal)).toMatch(/back at Elm Row/);
    desk.clock.now += 1000;
    expect(await erase(journal, 'ada', { now: desk.now, forgetCached })).toMatchObject({
      touched: ['t:other'],
    });
    expect(await everything(journal)).not.toMatch(mentions);
    expect((await kindsIn(journal, 't:other')).slice(4)).toEqual(['erased', 'noted', 'erased']);
  });

  test('goes through although somebody writes meanwhile', async () => {
    let others = 0;
    const busy: Journal = {
      ...journal,
      async append(one) {
        if (others < 3) {
          others += 1;
          const { mark } = await journal.read(one.thread);
          const seq = (mark?.seq ?? 0) + 1;
          await journal.append(
            turn(one.thread, `between ${others}`, seq - 1, {
              events: [noted(seq, 'at Elm Row, still', 'ada')],
            }),
          );
        }
        return journal.append(one);
      },
    };
    const { touched } = await erase(busy, 'ada', { now: desk.now, forgetCached: newCache().forgetCached });
    expect(touched).toEqual(['t:own', 't:other']);
    expect(others).toBe(3);
    expect(await everything(journal)).not.toMatch(mentions);
  });
}

/** Ends the work after so many calls, as a process that dies there: what was done is done. */
function dying(journal: Journal, cache: EraseDesk['forgetCached'], after: number) {
  let calls = 0;
  const counting =
    <A extends unknown[], R>(call: (...args: A) => Promise<R>) =>
    async (...args: A): Promise<R> => {
      if (after === 0) throw new Error('died');
      const result = await call(...args);
      calls += 1;
      if (calls === after) throw new Error('died');
      return result;
    };
  return {
    journal: {
      ...journal,
      read: counting(journal.read),
      append: counting(journal.append),
      forget: counting(journal.forget),
      threadsOf: counting(journal.threadsOf),
      takenIn: counting(journal.takenIn),
    } satisfies Journal,
    forgetCached: counting(cache),
  };
}

/** What may crash are calls of the journal's port, whose contract every database keeps to. */
function afterCrashes(kind: Kind): void {
  test('a crash after any step is repaired by running it again', async () => {
    let after = 0;
    for (; ; after++) {
      const desk = await newDesk(kind);
      const journal = await desk.open();
      await threeCases(journal);
      const { cached, forgetCached } = newCache();
      const mortal = dying(journal, forgetCached, after);
      const died = await erase(mortal.journal, 'ada', {
        now: desk.now,
        forgetCached: mortal.forgetCached,
      }).then(
        () => false,
        () => true,
      );
      desk.clock.now += 5000;
      await erase(journal, 'ada', { now: desk.now, forgetCached });
      await isErased(journal);
      expect([...cached], `after ${after} calls`).toEqual(['t:bob']);
      await backupCases(file('cases'), desk);
      expect(gunzipSync(await readFile(file('cases'))).toString()).not.toMatch(mentions);
      await desks.pop()?.drop();
      if (!died) break;
    }
    // Two looks, two keys lost, a read and a write for each case, the threads taken in, two snapshots.
    expect(after).toBe(2 + 2 + 4 + 1 + 2 + 1);
  });
}

function backups(kind: Kind): void {
  test('a backup from before shows nothing with the keys of now, and shows it with keys from before', async () => {
    const desk = await newDesk(kind);
    const journal = await desk.open();
    await threeCases(journal);
    await journal.append(turn('t:other', 'b', 4, { outbound: [say('Ada Quillon said: Elm Row')] }));
    const before = (await journal.read('t:own')).events;
    await backupCases(file('cases'), desk);
    await backupKeys(file('old keys'), desk);
    await erase(journal, 'ada', { now: desk.now, forgetCached: newCache().forgetCached });
    await backupKeys(file('keys'), desk);

    const later = await newDesk(kind);
    await restoreKeys(file('keys'), later);
    const { unreadable, held } = await restoreCases(file('cases'), later, { asTheyWere: true });
    // Of the messages, each has words of everybody in its case.
    expect({ unreadable, held }).toEqual({ unreadable: { cases: 2, keys: 1 }, held: 2 });
    const restored = await later.open();
    expect(await everything(restored)).not.toMatch(mentions);
    expect((await restored.read('t:bob')).events).toEqual([opening('a kettle', 'bob')]);

    const earlier = await newDesk(kind);
    await restoreKeys(file('old keys'), earlier);
    await restoreCases(file('cases'), earlier, { asTheyWere: true });
    // The documented window: until the old keys are deleted.
    const open = await earlier.open();
    expect((await open.read('t:own')).events).toEqual(before);
    await erase(open, 'ada', { now: desk.now, forgetCached: newCache().forgetCached });
    expect(await everything(open)).not.toMatch(/my telly|at Elm Row/);
  });

  test('where the journal knows of the erasure, old keys do not undo it, restored before or after', async () => {
    const desk = await newDesk(kind);
    const journal = await desk.open();
    await threeCases(journal);
    await backupKeys(file('old keys'), desk);
    desk.clock.now += 1000;
    await erase(journal, 'ada', { now: desk.now, forgetCached: newCache().forgetCached });
    await backupCases(file('cases'), desk);

    const first = await newDesk(kind);
    expect(await restoreKeys(file('old keys'), first)).toMatchObject({ added: 2, erased: 0 });
    expect(await restoreCases(file('cases'), first, { asTheyWere: true })).toMatchObject({ lostAgain: 1 });
    const second = await newDesk(kind);
    expect(await restoreCases(file('cases'), second, { asTheyWere: true })).toMatchObject({ lostAgain: 0 });
    expect(await restoreKeys(file('old keys'), second)).toMatchObject({ added: 1, erased: 1 });
    // And where it was erased itself.
    expect(await restoreKeys(file('old keys'), desk)).toMatchObject({ added: 0, same: 1, erased: 1 });
    for (const one of [first, second, desk]) {
      const there = await one.open();
      expect(await everything(there)).not.toMatch(mentions);
      expect(await everything(there)).toMatch(/a kettle/);
      await there.close();
    }
  });

  test('a message that waited while its words were erased is kept without them', async () => {
    const desk = await newDesk(kind);
    const journal = await desk.open();
    await threeCases(journal);
    await journal.append(turn('t:other', 'b', 4, { outbound: [say('Ada Quillon said: Elm Row')] }));
    desk.clock.now += 1000;
    await erase(journal, 'ada', { now: desk.now, forgetCached: newCache().forgetCached });
    await journal.append(turn('t:other', 'c', 5, { outbound: [say('Bob, go on')] }));
    const { without } = await backupCases(file('cases'), desk);
    expect(without).toBe(2);
    await backupKeys(file('keys'), desk);
    const to = await newDesk(kind);
    await restoreKeys(file('keys'), to);
    await restoreCases(file('cases'), to, { asTheyWere: true });
    const restored = await to.open();
    expect((await restored.take('t:other'))?.map(({ outbound }) => outbound)).toEqual([say('Bob, go on')]);
    expect(await everything(restored)).not.toMatch(mentions);
    expect(await restored.backlog()).toMatchObject({ setAside: 2 });
  });
}

describe('erasing in SQLite', () => {
  inDatabase('sqlite');
  afterCrashes('sqlite');
  backups('sqlite');

  test('leaves no trace of the key in its files', async () => {
    const desk = await newDesk('sqlite');
    const journal = await desk.open();
    await threeCases(journal);
    await backupKeys(file('keys'), desk);
    const secrets = gunzipSync(await readFile(file('keys')))
      .toString()
      .split('\n')
      .filter((line) => line.startsWith('["'))
      .map((line) => JSON.parse(line) as string[]);
    const { keys } = desk;
    if (keys.kind !== 'sqlite') throw new Error('this is about files');
    const bytes = async (): Promise<string> =>
      Buffer.concat([await readFile(keys.file), await readFile(`${keys.file}-wal`)]).toString('latin1');
    const of = (person: string): string => secrets.find(([who]) => who === person)?.[2] ?? 'none';
    expect(await bytes()).toContain(of('ada'));
    await erase(journal, 'ada', { now: desk.now, forgetCached: newCache().forgetCached });
    expect(await bytes()).not.toContain(of('ada'));
    expect(await bytes()).toContain(of('bob'));
  });
});

describePostgres('erasing in PostgreSQL', () => {
  inDatabase('postgres');
  backups('postgres');
});
