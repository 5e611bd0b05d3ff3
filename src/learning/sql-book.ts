import { sql } from 'kysely';
import type { Database } from '../journal/tables.ts';
import { Decision, type LearningBook } from './store.ts';

/** The book in the desk's own database, beside the cases. */
export const sqlBook = (db: Database): LearningBook => ({
  async read(after) {
    const rows = await db
      .selectFrom('learning')
      .select(['n', 'body'])
      .where('n', '>', after)
      .orderBy('n')
      .execute();
    return rows.map(({ n, body }) => ({ n, decision: Decision.parse(JSON.parse(body)) }));
  },
  async write(after, decision) {
    const body = JSON.stringify(decision);
    // After a gap nothing is written, and a number that is taken is nobody else's.
    const { rows } =
      await sql`insert into learning (n, body) select ${sql.lit(after + 1)}, ${body} where coalesce((select max(n) from learning), 0) = ${sql.lit(after)} on conflict (n) do nothing returning n`.execute(
        db,
      );
    return rows.length === 1;
  },
});
