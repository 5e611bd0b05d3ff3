import { rm } from 'node:fs/promises';
import { join } from 'node:path';
import { sql } from 'kysely';
import { expect, test } from 'vitest';
import { journalSteps } from '../../src/journal/migrate.ts';
import { backupCases } from '../../src/keeping/backup.ts';
import { restoreCases } from '../../src/keeping/restore-cases.ts';
import { sqlBook } from '../../src/learning/sql-book.ts';
import { memoryBook } from '../../src/learning/store.ts';
import { type Kind, keptDesk, newFolder, turn } from '../keeping/kept-desk.ts';
import { describePostgres } from '../services.ts';
import { bookContract, excluded } from './book.contract.ts';

bookContract('in memory', async () => {
  const one = memoryBook();
  return { one, other: one, drop: async () => undefined };
});

const inSql = (kind: Kind) => async () => {
  const desk = await keptDesk(kind);
  const [one, other] = [await desk.open(), await desk.open()];
  return { one: sqlBook(one.db), other: sqlBook(other.db), drop: desk.drop };
};
bookContract('in SQLite', inSql('sqlite'));
describePostgres('the book on a real server', () => bookContract('in PostgreSQL', inSql('postgres')));

async function carried(from: Kind, to: Kind): Promise<void> {
  const folder = await newFolder();
  const [desk, other] = [await keptDesk(from), await keptDesk(to)];
  try {
    const journal = await desk.open();
    await journal.append(turn('t:1', 'a', 0));
    await sqlBook(journal.db).write(0, excluded('t:1'));
    await backupCases(join(folder, 'cases'), desk);
    await restoreCases(join(folder, 'cases'), other);
    const restored = sqlBook((await other.open()).db);
    expect(await restored.read(0)).toEqual([{ n: 1, decision: excluded('t:1') }]);
    expect(await restored.write(1, excluded('t:2'))).toBe(true);
  } finally {
    await desk.drop();
    await other.drop();
    await rm(folder, { recursive: true });
  }
}

test('a backup carries what was decided', () => carried('sqlite', 'sqlite'));
describePostgres('what was decided', () => {
  test('is carried by a backup into another database', () => carried('sqlite', 'postgres'));
});

test('a backup from before there was a book is restored, and gets an empty one', async () => {
  const folder = await newFolder();
  const [desk, to] = [await keptDesk('sqlite'), await keptDesk('sqlite')];
  try {
    const journal = await desk.open();
    await journal.append(turn('t:1', 'a', 0));
    await backupCases(join(folder, 'cases'), desk);
    const older = await firstStep(join(folder, 'cases'));
    expect((await restoreCases(older, to)).rows).toMatchObject({ cases: 1, learning: 0 });
    const { db } = await to.open();
    expect((await sql`select max(number) as step from journal_steps`.execute(db)).rows).toEqual([
      { step: journalSteps.length },
    ]);
    expect(await sqlBook(db).read(0)).toEqual([]);
  } finally {
    await desk.drop();
    await to.drop();
    await rm(folder, { recursive: true });
  }
});

/** The backup as a program of the journal's first step would have written it. */
async function firstStep(file: string): Promise<string> {
  const { createHash } = await import('node:crypto');
  const { readFile, writeFile } = await import('node:fs/promises');
  const { gunzipSync, gzipSync } = await import('node:zlib');
  const lines = gunzipSync(await readFile(file))
    .toString()
    .trimEnd()
    .split('\n');
  const header = JSON.parse(lines[0] as string) as { step: number; tables: string[] };
  const { end } = JSON.parse(lines.at(-1) as string) as { end: Record<string, number> };
  const { learning: _, ...rest } = end;
  const body = [
    JSON.stringify({ ...header, step: 1, tables: header.tables.filter((name) => name !== 'learning') }),
    ...lines.slice(1, -1).filter((line) => !line.startsWith('{"table":"learning"')),
  ].map((line) => `${line}\n`);
  const sha256 = createHash('sha256').update(body.join('')).digest('hex');
  await writeFile(`${file}.1`, gzipSync(`${body.join('')}${JSON.stringify({ end: rest, sha256 })}\n`));
  return `${file}.1`;
}
