import { readdir, readFile, rm, stat, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { sql } from 'kysely';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { emptyCase, fold } from '../../src/core/reduce.ts';
import { journalSteps } from '../../src/journal/migrate.ts';
import { backupCases, backupCommand, backupKeys } from '../../src/keeping/backup.ts';
import { caseTables } from '../../src/keeping/kept.ts';
import { snapshotOf } from '../../src/keeping/open-snapshot.ts';
import { restoreCommand } from '../../src/keeping/restore.ts';
import { restoreCases } from '../../src/keeping/restore-cases.ts';
import { restoreKeys } from '../../src/keeping/restore-keys.ts';
import { describePostgres } from '../services.ts';
import {
  furnished,
  furnishedThreads,
  joining,
  type KeptDesk,
  type Kind,
  keptDesk,
  newFolder,
  noted,
  opening,
  picture,
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

/** Both backups of a desk, and both restored into another. */
async function moved(from: KeptDesk, to: KeptDesk) {
  await backupCases(file('cases'), from);
  await backupKeys(file('keys'), from);
  await restoreKeys(file('keys'), to);
  return restoreCases(file('cases'), to, { asTheyWere: true });
}

function directions(kinds: readonly (readonly [Kind, Kind])[]): void {
  test.each(kinds)('from %s to %s, everything reads as before', async (a, b) => {
    const from = await newDesk(a);
    const to = await newDesk(b);
    const before = await from.open();
    await furnished(before);
    const restored = await moved(from, to);
    expect(restored).toMatchObject({
      rows: { cases: 4, events: 6, turns: 5, people: 3, timers: 2 },
      held: 0,
      unreadable: { cases: 0, keys: 0 },
    });
    const after = await to.open();
    const was = await picture(before, furnishedThreads);
    expect(was.backlog).toMatchObject({ setAside: 1 });
    expect(await picture(after, furnishedThreads)).toEqual(was);
  });

  test.each(kinds)('from %s to %s, a desk goes on where it was', async (a, b) => {
    const from = await newDesk(a);
    const to = await newDesk(b);
    const before = await from.open();
    await furnished(before);
    const { mark } = await before.read('t:1');
    const waiting = await before.take('t:1');
    await moved(from, to);
    // What the old desk still did after the backup is not known to the new one.
    const lost = await before.append(turn('t:1', 'lost', 4, { outbound: [say('lost')] }));
    const elsewhere = await before.append(turn('t:9', 'lost', 0, { outbound: [say('lost, too')] }));

    const after = await to.open();
    if (!mark) throw new Error('the case has no events');
    expect(await after.read('t:1', mark)).toEqual({ from: 4, events: [], mark });
    expect(await after.append(turn('t:1', 'b', 2, { events: [noted(3, 'again')] }))).toEqual({
      kind: 'seen',
    });
    expect((await after.append(turn('t:1', 'c', 3, { events: [noted(4, 'late')] }))).kind).toBe('conflict');
    const done = await after.append(
      turn('t:1', 'c', 4, { events: [noted(5, 'and then')], outbound: [say('then')] }),
    );
    const other = await after.append(turn('t:9', 'a', 0, { outbound: [say('new')] }));
    expect(await after.read('t:1', mark)).toMatchObject({ from: 4, events: [noted(5, 'and then')] });
    expect((await after.take('t:1'))?.map(({ id }) => id)).toEqual([
      ...(waiting ?? []).map(({ id }) => id),
      ...(done.kind === 'done' ? done.messages.map(({ id }) => id) : []),
    ]);
    // A platform that knows a message by its name must not take a new one for an old one.
    const names = [lost, elsewhere, done, other].flatMap((one) =>
      one.kind === 'done' ? one.messages.map(({ id }) => id) : [],
    );
    expect(new Set(names).size).toBe(4);
  });
}

function whileWriting(kind: Kind): void {
  test('while turns are written it holds one moment of every case', async () => {
    const desk = await newDesk(kind);
    const journal = await desk.open();
    const threads = Array.from({ length: 10 }, (_, i) => `t:${i}`);
    /** Turn k writes event k (two in the first turn), message k, and moves the timer to k. */
    const write = async (thread: string, k: number): Promise<void> => {
      const done = await journal.append(
        turn(thread, `in ${k}`, k === 1 ? 0 : k, {
          events:
            k === 1
              ? [joining(1, `p ${thread}`, `Name of ${thread}`), opening(`words 1`, `p ${thread}`, 2)]
              : [noted(k + 1, `words ${k}`, `p ${thread}`)],
          outbound: [say(`message ${k}`), remind('wait', k)],
        }),
      );
      expect(done.kind).toBe('done');
    };
    let written = 0;
    const backups: Promise<unknown>[] = [];
    await Promise.all(
      threads.map(async (thread, i) => {
        for (let k = 1; k <= 20; k++) {
          // Some are ahead of others.
          for (let n = 0; n < i; n++) await new Promise(setImmediate);
          await write(thread, k);
          written += 1;
          if (written % 50 === 10) backups.push(backupCases(file(`cases ${backups.length}`), desk));
        }
      }),
    );
    await Promise.all(backups);
    await backupKeys(file('keys'), desk);
    expect(written).toBe(200);

    expect(backups).toHaveLength(4);
    for (const i of backups.keys()) {
      const to = await newDesk(kind);
      await restoreKeys(file('keys'), to);
      expect((await restoreCases(file(`cases ${i}`), to, { asTheyWere: true })).held).toBe(0);
      const restored = await to.open();
      let turns = 0;
      for (const thread of threads) {
        const { events, mark } = await restored.read(thread);
        expect(events.map(({ seq }) => seq)).toEqual(events.map((_, n) => n + 1));
        if (events.length === 0) {
          expect(await restored.take(thread)).toEqual([]);
          continue;
        }
        const k = events.length - 1;
        turns += k;
        const head = await restored.db
          .selectFrom('cases')
          .select(['id', 'seq', 'last_at'])
          .where('thread', '=', thread)
          .executeTakeFirstOrThrow();
        expect(head).toMatchObject({ seq: events.length, last_at: events.at(-1)?.at });
        expect(mark?.seq).toBe(head.seq);
        const kase = fold(emptyCase(thread), events);
        expect(kase.words).toEqual(Array.from({ length: k }, (_, n) => `words ${n + 1}`));
        expect(kase.people[`p ${thread}`]?.name).toBe(`Name of ${thread}`);
        const waiting = (await restored.take(thread)) ?? [];
        expect(waiting.map(({ outbound }) => outbound)).toEqual(
          Array.from({ length: k }, (_, n) => [say(`message ${n + 1}`), remind('wait', n + 1)]).flat(),
        );
        const timers = await restored.db
          .selectFrom('timers')
          .select('due')
          .where('case_id', '=', head.id)
          .execute();
        expect(timers).toEqual([{ due: k }]);
        const seen = await restored.db
          .selectFrom('turns')
          .select('inbound')
          .where('case_id', '=', head.id)
          .execute();
        expect(seen.map(({ inbound }) => inbound).toSorted()).toEqual(
          Array.from({ length: k }, (_, n) => `in ${n + 1}`).toSorted(),
        );
      }
      // Whatever was acknowledged before it began is in it.
      expect(turns).toBeGreaterThanOrEqual(10 + 50 * i);
    }
  });
}

function oneMoment(kind: Kind): void {
  test('is of the moment it was begun at, and holds up no write', async () => {
    const desk = await newDesk(kind);
    const journal = await desk.open();
    await journal.append(turn('t:1', 'a', 0, { events: [opening('one')], outbound: [remind('x', 1)] }));
    const snapshot = await snapshotOf(desk.journal);
    try {
      const done = await journal.append(turn('t:1', 'b', 1, { events: [noted(2, 'two')] }));
      expect(done.kind).toBe('done');
      await journal.append(turn('t:1', 'c', 2, { outbound: [{ kind: 'unremind', key: 'x' }] }));
      const rows = async (table: string, column: string) => {
        const all = [];
        for await (const page of snapshot.pages(table, [column], [])) all.push(...page);
        return all.flat();
      };
      expect(await rows('events', 'seq')).toEqual([1]);
      expect(await rows('cases', 'seq')).toEqual([1]);
      expect(await rows('turns', 'inbound')).toEqual(['a']);
      expect(await rows('timers', 'due')).toEqual([1]);
    } finally {
      await snapshot.close();
    }
    expect((await journal.read('t:1')).events).toHaveLength(2);
  });
}

describe('a backup of SQLite', () => {
  oneMoment('sqlite');
  directions([['sqlite', 'sqlite']]);
  whileWriting('sqlite');
});

describePostgres('a backup with PostgreSQL', () => {
  test('of an older journal is restored after the keys, into the same database', async () => {
    const from = await newDesk('sqlite');
    const to = await newDesk('postgres');
    await furnished(await from.open());
    await backupCases(file('cases'), from);
    await backupKeys(file('keys'), from);
    await restoreKeys(file('keys'), to);
    const newest = [...journalSteps, async () => undefined];
    const { unreadable } = await restoreCases(file('cases'), to, { steps: newest, asTheyWere: true });
    expect(unreadable.cases).toBe(0);
  });
  oneMoment('postgres');
  directions([
    ['sqlite', 'postgres'],
    ['postgres', 'sqlite'],
    ['postgres', 'postgres'],
  ]);
  whileWriting('postgres');
});

describe('the columns that are kept', () => {
  const left: Record<string, readonly string[]> = {
    cases: ['lease_owner', 'lease_until'],
    timers: ['claimed_until'],
  };
  test('are all that the tables have, but for what instances claim', async () => {
    const desk = await newDesk('sqlite');
    const { db } = await desk.open();
    const { rows } = await sql<{
      name: string;
    }>`select name from sqlite_master where type = 'table' and name not like 'sqlite_%'`.execute(db);
    expect(rows.map(({ name }) => name).toSorted()).toEqual(
      [...caseTables.map(({ name }) => name), 'cache', 'journal_steps'].toSorted(),
    );
    for (const { name, columns } of caseTables) {
      const there = await sql<{ name: string }>`select name from pragma_table_info(${name})`.execute(db);
      expect([...Object.keys(columns), ...(left[name] ?? [])].toSorted()).toEqual(
        there.rows.map((column) => column.name).toSorted(),
      );
    }
  });
});

describe('what a backup holds', () => {
  let desk: KeptDesk;
  beforeEach(async () => {
    desk = await newDesk('sqlite');
    await furnished(await desk.open());
  });
  const plain = async (name: string): Promise<string> => gunzipSync(await readFile(file(name))).toString();
  const secrets = async (): Promise<string[]> => {
    const rows = (await plain('keys')).split('\n').filter((line) => line.startsWith('["'));
    return rows.map((line) => (JSON.parse(line) as string[])[2] as string);
  };

  test('of cases is no word and no key', async () => {
    await backupCases(file('cases'), desk);
    await backupKeys(file('keys'), desk);
    const text = await plain('cases');
    expect(text).not.toMatch(/Quillon|Elm Row|Bob|0123|quietly/);
    expect(text).toContain('nobody yet');
    expect(await secrets()).toHaveLength(3);
    for (const secret of await secrets()) expect(text).not.toContain(secret);
    expect(text).not.toMatch(/person_keys|lease|claim|cache/);
  });

  test('of keys is nothing of the cases', async () => {
    await backupKeys(file('keys'), desk);
    expect((await plain('keys')).split('\n')).toHaveLength(3 + 4);
    expect(await plain('keys')).not.toMatch(/Quillon|t:1/);
  });

  test('is for its owner alone, and nothing is left beside it', async () => {
    await backupCommand([file('cases')], desk);
    await backupCommand(['--keys', file('keys')], desk);
    for (const name of ['cases', 'keys']) expect((await stat(file(name))).mode & 0o777).toBe(0o600);
    expect((await readdir(folder)).toSorted()).toEqual(['cases', 'keys']);
    expect(desk.said.join('\n')).toMatch(/cases: 4 cases, 6 events[\s\S]*keys: 3 keys/);
  });

  test('goes into a file of its own kind or none', async () => {
    await backupCases(file('cases'), desk);
    const before = await readFile(file('cases'));
    await expect(backupKeys(file('cases'), desk)).rejects.toThrow(
      /is a backup of cases, and this one is of keys/,
    );
    expect(await readFile(file('cases'))).toEqual(before);
    await writeFile(file('letter'), 'Dear Ada');
    await expect(backupCases(file('letter'), desk)).rejects.toThrow(/is no backup/);
    expect(await readFile(file('letter'), 'utf8')).toBe('Dear Ada');
    await backupCases(file('cases'), desk);
    expect((await readdir(folder)).toSorted()).toEqual(['cases', 'letter']);
  });

  test('that fails half-way leaves the older one as it was', async () => {
    await backupCases(file('cases'), desk);
    const before = await readFile(file('cases'));
    const { db } = await desk.open();
    await sql`drop table people`.execute(db);
    await expect(backupCases(file('cases'), desk)).rejects.toThrow(/people/);
    expect(await readFile(file('cases'))).toEqual(before);
    expect(await readdir(folder)).toEqual(['cases']);
  });

  test('is said where it cannot be written or there is nothing to write', async () => {
    await expect(backupCases(join(folder, 'no', 'cases'), desk)).rejects.toThrow(/cannot be written/);
    await expect(
      backupCases(file('cases'), { ...desk, journal: { kind: 'sqlite', file: file('none.db') } }),
    ).rejects.toThrow(/There is no file/);
    await writeFile(file('other.db'), '');
    await expect(
      backupCases(file('cases'), { ...desk, journal: { kind: 'sqlite', file: file('other.db') } }),
    ).rejects.toThrow(/no journal/);
    expect(await readdir(folder)).toEqual(['other.db']);
    for (const args of [[], ['a', 'b'], ['--kyes', 'a']]) expect(await backupCommand(args, desk)).toBe(2);
  });
});

describe('restoring', () => {
  let desk: KeptDesk;
  let to: KeptDesk;
  beforeEach(async () => {
    desk = await newDesk('sqlite');
    to = await newDesk('sqlite');
    const journal = await desk.open();
    await furnished(journal);
    await journal.close();
    await backupCases(file('cases'), desk);
    await backupKeys(file('keys'), desk);
  });
  const nothingIn = async (where: KeptDesk): Promise<void> => {
    const journal = await where.open();
    for (const { name } of caseTables)
      expect((await sql`select * from ${sql.table(name)}`.execute(journal.db)).rows).toEqual([]);
  };

  test('needs an empty journal, and says what to do with another', async () => {
    await (await to.open()).append(turn('x', 'a', 0));
    await expect(restoreCases(file('cases'), to)).rejects.toThrow(/There are cases in this journal already/);
    expect((await (await to.open()).read('t:1')).events).toEqual([]);
  });

  test('takes each kind by its own name', async () => {
    await expect(restoreCommand([file('keys')], to)).rejects.toThrow(/restore --keys/);
    await expect(restoreCommand(['--keys', file('cases')], to)).rejects.toThrow(/is a backup of cases/);
    await expect(restoreCommand([file('none')], to)).rejects.toThrow(/cannot be read \(ENOENT\)/);
    for (const args of [[], ['a', 'b'], ['--key', 'a']]) expect(await restoreCommand(args, to)).toBe(2);
    await nothingIn(to);
  });

  test('without keys leaves words empty and everything else whole; the keys bring words and messages back', async () => {
    const before = await picture(await desk.open(), furnishedThreads);
    expect(await restoreCases(file('cases'), to, { asTheyWere: true })).toMatchObject({
      held: 3,
      unreadable: { cases: 2, keys: 3 },
    });
    const journal = await to.open();
    const wordless = await picture(journal, furnishedThreads);
    expect(JSON.stringify(wordless)).not.toMatch(/Quillon|Elm Row|Bob|0123|quietly/);
    expect(wordless.cases.map(({ mark }) => mark)).toEqual(before.cases.map(({ mark }) => mark));
    expect(wordless.cases.map(({ events }) => events.map(({ kind, by, at }) => ({ kind, by, at })))).toEqual(
      before.cases.map(({ events }) => events.map(({ kind, by, at }) => ({ kind, by, at }))),
    );
    expect(wordless.people).toEqual(before.people);
    expect(wordless.due).toBe(before.due);
    // The words of "nobody yet" are nobody's.
    expect(wordless.backlog).toMatchObject({ waiting: 1, setAside: before.backlog.waiting - 1 + 1 });
    expect(wordless.cases[0]?.waiting).toEqual([]);

    to.said.length = 0;
    expect(await restoreCommand(['--keys', file('keys')], to)).toBe(0);
    expect(to.said.join('\n')).toMatch(/3 keys\. 0 were here already/);
    expect(to.said.join('\n')).toMatch(/Every word in the journal can be read/);
    await journal.close();
    expect(await picture(await to.open(), furnishedThreads)).toEqual(before);
  });

  test('keys leaves alone what is there, and says so', async () => {
    await restoreCases(file('cases'), to, { asTheyWere: true });
    const journal = await to.open();
    await journal.append(turn('t:1', 'c', 4, { events: [noted(5, 'new words')] }));
    const { added, same, other, freed, unreadable } = await restoreKeys(file('keys'), to);
    expect({ added, same, other, freed }).toEqual({ added: 2, same: 0, other: 1, freed: 1 });
    expect(unreadable).toEqual({ cases: 1, keys: 1 });
    expect((await journal.read('t:1')).events).toMatchObject([
      { name: '' },
      { words: '' },
      { name: 'Bob' },
      { by: 'bo"b' },
      { words: 'new words' },
    ]);
    expect(await restoreKeys(file('keys'), to)).toMatchObject({ added: 0, same: 2, other: 1, freed: 0 });
  });

  test('finds every cut, and restores nothing of what is left', async () => {
    for (const name of ['cases', 'keys']) {
      const whole = await readFile(file(name));
      for (let length = 0; length < whole.length; length += Math.ceil(whole.length / 40)) {
        await writeFile(file('cut'), whole.subarray(0, length));
        const restore = name === 'cases' ? restoreCases : restoreKeys;
        await expect(restore(file('cut'), to), `${name}, ${length} bytes`).rejects.toThrow(
          /is damaged|is no backup/,
        );
      }
    }
    await nothingIn(to);
  });

  test('finds every bit that is not as it was written', async () => {
    const whole = await readFile(file('cases'));
    // The first ten bytes are gzip's own (RFC 1952): its date and system may say anything.
    let padding = 0;
    for (let at = 10; at < whole.length; at += 7) {
      const flipped = Buffer.from(whole);
      flipped[at] = (flipped[at] as number) ^ (1 << (at % 8));
      // Up to seven bits that fill the last byte up say nothing (RFC 1951): they unpack to the same.
      if (unpacks(flipped)?.equals(gunzipSync(whole))) {
        padding += 1;
        continue;
      }
      await writeFile(file('flipped'), flipped);
      await expect(restoreCases(file('flipped'), to), `byte ${at}`).rejects.toThrow(
        /is damaged|is no backup/,
      );
    }
    expect(padding).toBeLessThanOrEqual(1);
    await nothingIn(to);
    expect((await restoreCases(file('cases'), to)).rows.cases).toBe(4);
  });

  test('finds what was changed and packed again', async () => {
    const { gzipSync } = await import('node:zlib');
    const text = gunzipSync(await readFile(file('cases'))).toString();
    const packed = async (changed: string): Promise<string> => {
      expect(changed).not.toBe(text);
      await writeFile(file('packed'), gzipSync(changed));
      return file('packed');
    };
    const lines = text.split('\n');
    for (const [changed, why] of [
      [text.replace('"due"', '"key"'), /is damaged/],
      [text.replace('asking', 'settled'), /its bytes are not those/],
      [lines.toSpliced(3, 1).join('\n'), /its bytes are not those/],
      [lines.toSpliced(3, 0, '["too short"]').join('\n'), /fits no table/],
      [lines.toSpliced(-2, 1).join('\n'), /its last line is missing/],
      [`${text}${lines[0]}\n`, /something follows/],
      [text.replace('"version":1', '"version":2'), /newer program/],
      [text.replace(`"step":${journalSteps.length}`, '"step":99'), /its bytes are not those/],
      [text.replace('mendthread backup', 'another backup'), /is no backup/],
    ] as const)
      await expect(restoreCases(await packed(changed), to), String(why)).rejects.toThrow(why);
    await nothingIn(to);
  });

  test('refuses a newer journal, and brings an older one up to date', async () => {
    const marked = async (db: Parameters<(typeof journalSteps)[number]>[0]): Promise<void> => {
      await sql`alter table cases add column mood text`.execute(db);
      await sql`update cases set mood = 'good'`.execute(db);
    };
    await expect(restoreCases(file('cases'), to, { steps: [] })).rejects.toThrow(
      `newer program (step ${journalSteps.length}`,
    );
    await restoreCases(file('cases'), to, { steps: [...journalSteps, marked] });
    const { DatabaseSync } = await import('node:sqlite');
    if (to.journal.kind !== 'sqlite') throw new Error('this is about a file');
    const database = new DatabaseSync(to.journal.file);
    expect(database.prepare('select distinct mood from cases').all()).toEqual([{ mood: 'good' }]);
    expect(database.prepare('select max(number) as step from journal_steps').get()).toEqual({
      step: journalSteps.length + 1,
    });

    // An empty journal that was brought further already cannot take the older one.
    for (const { name } of caseTables) database.exec(`delete from ${name}`);
    database.close();
    await expect(restoreCases(file('cases'), to, { steps: [...journalSteps, marked] })).rejects.toThrow(
      /no desk has used yet/,
    );
    await expect(backupCases(file('newer'), to)).rejects.toThrow(/newer than this program/);
  });
});

function unpacks(packed: Buffer): Buffer | null {
  try {
    return gunzipSync(packed);
  } catch {
    return null;
  }
}
