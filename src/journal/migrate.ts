import { type Kysely, sql } from 'kysely';
import { Advice } from '../advice.ts';
import type { Engine } from './engine.ts';
import { up as journal1 } from './migrations/0001-journal.ts';
import { up as keys1 } from './migrations/0001-keys.ts';
import { up as learning2 } from './migrations/0002-learning.ts';
import type { KeyTables, Tables } from './tables.ts';

/** Steps that make the tables what this program expects; numbered, run once, never edited afterwards. */

type Step<T> = (db: Kysely<T>, engine: Engine) => Promise<void>;
export const journalSteps: readonly Step<Tables>[] = [journal1, learning2];
export const keySteps: readonly Step<KeyTables>[] = [keys1];

/**
 * Runs the steps that `db` lacks, all or none, while everybody else who starts waits. `book` names the table that counts
 * them. Throws `Advice` when the database was written by a newer program.
 */
export async function migrate<T>(
  db: Kysely<T>,
  engine: Engine,
  book: 'journal_steps' | 'key_steps',
  steps: readonly Step<T>[],
): Promise<void> {
  await db.transaction().execute(async (trx) => {
    if (engine.lockSchema) await engine.lockSchema.execute(trx);
    const table = sql.table(book);
    await sql`create table if not exists ${table} (number integer primary key, at text not null)`.execute(
      trx,
    );
    const { rows } = await sql<{ number: number | null }>`select max(number) as number from ${table}`.execute(
      trx,
    );
    const done = rows[0]?.number ?? 0;
    if (done > steps.length) {
      throw new Advice(
        `The database is newer than this program: it is at step ${done} of ${book}, and this program knows ${steps.length}. Update the program, or restore a backup that was made before the update.`,
      );
    }
    for (let number = done + 1; number <= steps.length; number++) {
      await (steps[number - 1] as Step<T>)(trx, engine);
      await sql`insert into ${table} (number, at) values (${number}, ${new Date().toISOString()})`.execute(
        trx,
      );
    }
  });
}
