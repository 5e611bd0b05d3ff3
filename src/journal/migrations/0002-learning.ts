import type { Kysely } from 'kysely';
import type { Engine } from '../engine.ts';
import type { Tables } from '../tables.ts';

/** What people decided about learning (`src/learning/store.ts`), one row after the other. */
export async function up(db: Kysely<Tables>, { types }: Engine): Promise<void> {
  await db.schema
    .createTable('learning')
    .addColumn('n', types.number, (c) => c.primaryKey())
    .addColumn('body', 'text', (c) => c.notNull())
    .execute();
}
