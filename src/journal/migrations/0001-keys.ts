import type { Kysely } from 'kysely';
import type { Engine } from '../engine.ts';
import type { KeyTables } from '../tables.ts';

/** One key a person. */
export async function up(db: Kysely<KeyTables>, { types }: Engine): Promise<void> {
  await db.schema
    .createTable('person_keys')
    .addColumn('person', 'text', (c) => c.primaryKey())
    .addColumn('id', 'text', (c) => c.notNull().unique())
    .addColumn('key', 'text', (c) => c.notNull())
    .addColumn('made', types.number, (c) => c.notNull())
    .execute();
}
