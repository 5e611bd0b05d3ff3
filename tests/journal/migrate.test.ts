import { execFile } from 'node:child_process';
import { mkdtemp, rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { Kysely, sql } from 'kysely';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { Advice } from '../../src/advice.ts';
import type { Engine } from '../../src/journal/engine.ts';
import { journalSteps, migrate } from '../../src/journal/migrate.ts';
import { postgresEngine } from '../../src/journal/postgres.ts';
import { sqliteEngine } from '../../src/journal/sqlite.ts';
import type { Tables } from '../../src/journal/tables.ts';
import { describePostgres, freshDatabase } from '../services.ts';

function steps(make: () => Promise<{ engine(): Engine; drop(): Promise<void> }>, together: boolean): void {
  let place: Awaited<ReturnType<typeof make>>;
  const opened: Kysely<Tables>[] = [];
  const open = () => {
    const engine = place.engine();
    const db = new Kysely<Tables>({ dialect: engine.dialect });
    opened.push(db);
    return { engine, db };
  };
  beforeEach(async () => {
    place = await make();
  });
  afterEach(async () => {
    for (const db of opened.splice(0)) await db.destroy();
    await place.drop();
  });
  const book = async (db: Kysely<Tables>) =>
    (await sql<{ number: number }>`select number from journal_steps order by number`.execute(db)).rows.map(
      ({ number }) => number,
    );

  test('run once, whoever starts', async () => {
    const desks = [open(), open(), open()];
    let runs = 0;
    const counted = journalSteps.map((step) => async (...given: Parameters<typeof step>) => {
      runs += 1;
      await step(...given);
    });
    const start = ({ db, engine }: ReturnType<typeof open>) => migrate(db, engine, 'journal_steps', counted);
    if (together) await Promise.all(desks.map(start));
    else for (const desk of desks) await start(desk);
    expect(runs).toBe(journalSteps.length);
    expect(await book(open().db)).toEqual(journalSteps.map((_, i) => i + 1));
  });

  test('that fail half-way leave nothing, and run whole the next time', async () => {
    const { db, engine } = open();
    const half = async (at: Kysely<Tables>): Promise<void> => {
      await sql`create table half (n integer)`.execute(at);
      throw new Error('the power went');
    };
    await expect(migrate(db, engine, 'journal_steps', [...journalSteps, half])).rejects.toThrow('power');
    await expect(sql`select * from half`.execute(db)).rejects.toThrow();
    await expect(sql`select * from cases`.execute(db)).rejects.toThrow();
    await migrate(db, engine, 'journal_steps', journalSteps);
    expect((await sql`select * from cases`.execute(db)).rows).toEqual([]);
  });

  test('add to what an older program wrote', async () => {
    const { db, engine } = open();
    await migrate(db, engine, 'journal_steps', journalSteps);
    await migrate(db, engine, 'journal_steps', [
      ...journalSteps,
      async (at) => void (await sql`alter table cases add column colour text`.execute(at)),
    ]);
    expect((await sql`select colour from cases`.execute(db)).rows).toEqual([]);
    expect(await book(db)).toEqual(Array.from({ length: journalSteps.length + 1 }, (_, i) => i + 1));
  });

  test('of a newer program are refused with advice', async () => {
    const { db, engine } = open();
    const none = async (): Promise<void> => undefined;
    await migrate(db, engine, 'journal_steps', [...journalSteps, none]);
    const older = migrate(db, engine, 'journal_steps', journalSteps);
    await expect(older).rejects.toThrow(Advice);
    await expect(older).rejects.toThrow(/newer than this program.*Update the program, or restore/);
  });
}

describe('the journal’s steps in SQLite', () => {
  let dir: string;
  steps(async () => {
    dir = await mkdtemp(join(tmpdir(), 'steps-'));
    return {
      engine: () => sqliteEngine(join(dir, 'new', 'desk.db')),
      drop: () => rm(dir, { recursive: true }),
    };
  }, false);

  test('run once when several programs start at the same moment', async () => {
    const starts = await Promise.all(
      Array.from({ length: 4 }, () =>
        promisify(execFile)(process.execPath, [join(import.meta.dirname, 'opening-program.ts'), dir]),
      ),
    );
    expect(starts.map(({ stdout, stderr }) => stdout + stderr)).toEqual(starts.map(() => '0\n'));
  });

  test('stand in a file for its owner only, that survives a power cut', async () => {
    const engine = sqliteEngine(join(dir, 'new', 'desk.db'));
    const db = new Kysely<Tables>({ dialect: engine.dialect });
    await migrate(db, engine, 'journal_steps', journalSteps);
    const pragma = async (name: string) =>
      Object.values((await sql.raw(`pragma ${name}`).execute(db)).rows[0] ?? {})[0];
    expect(await pragma('journal_mode')).toBe('wal');
    // 2 is FULL (sqlite.org/pragma.html#pragma_synchronous).
    expect(await pragma('synchronous')).toBe(2);
    await db.destroy();
    expect((await stat(join(dir, 'new', 'desk.db'))).mode & 0o777).toBe(0o600);
  });
});

describePostgres('the journal’s steps in PostgreSQL', () => {
  steps(async () => {
    const database = await freshDatabase();
    return { engine: () => postgresEngine(database.url, () => undefined), drop: database.drop };
  }, true);
});
