import { type Kysely, sql } from 'kysely';
import type { Engine } from '../engine.ts';
import type { Tables } from '../tables.ts';

/** Cases, their events, what goes out, what is due. */
export async function up(db: Kysely<Tables>, { types, name }: Engine): Promise<void> {
  const { schema } = db;
  const number = types.number;
  await schema
    .createTable('cases')
    .addColumn('id', number, (c) =>
      name === 'sqlite' ? c.primaryKey().autoIncrement() : c.primaryKey().generatedAlwaysAsIdentity(),
    )
    .addColumn('thread', 'text', (c) => c.notNull().unique())
    .addColumn('platform', 'text', (c) => c.notNull())
    .addColumn('seq', number, (c) => c.notNull())
    .addColumn('sent', number, (c) => c.notNull())
    .addColumn('state', 'text', (c) => c.notNull())
    .addColumn('last_at', number, (c) => c.notNull())
    .addColumn('lease_owner', 'text')
    .addColumn('lease_until', number, (c) => c.notNull().defaultTo(0))
    .execute();
  await schema
    .createTable('events')
    .addColumn('case_id', number, (c) => c.notNull())
    .addColumn('seq', number, (c) => c.notNull())
    .addColumn('id', 'text', (c) => c.notNull().unique())
    .addColumn('body', 'text', (c) => c.notNull())
    .addColumn('sealed', 'text')
    .addPrimaryKeyConstraint('events_seq', ['case_id', 'seq'])
    .execute();
  await schema
    .createTable('turns')
    .addColumn('case_id', number, (c) => c.notNull())
    .addColumn('inbound', 'text', (c) => c.notNull())
    .addPrimaryKeyConstraint('turns_inbound', ['case_id', 'inbound'])
    .execute();
  await schema
    .createTable('outbox')
    .addColumn('case_id', number, (c) => c.notNull())
    .addColumn('n', number, (c) => c.notNull())
    .addColumn('key', 'text')
    .addColumn('body', 'text')
    .addColumn('reference', 'text')
    .addColumn('tries', number, (c) => c.notNull().defaultTo(0))
    .addColumn('next_try', number, (c) => c.notNull().defaultTo(0))
    .addColumn('since', number, (c) => c.notNull())
    .addColumn('state', number, (c) => c.notNull().defaultTo(0))
    .addColumn('why', 'text')
    .addPrimaryKeyConstraint('outbox_n', ['case_id', 'n'])
    .execute();
  await schema
    .createIndex('outbox_waiting')
    .on('outbox')
    .columns(['case_id', 'n'])
    .where(sql<boolean>`state = 0`)
    .execute();
  await schema
    .createIndex('outbox_aside')
    .on('outbox')
    .columns(['case_id', 'n'])
    .where(sql<boolean>`state = 2`)
    .execute();
  await schema
    .createTable('timers')
    .addColumn('case_id', number, (c) => c.notNull())
    .addColumn('key', 'text', (c) => c.notNull())
    .addColumn('due', number, (c) => c.notNull())
    .addColumn('platform', 'text', (c) => c.notNull())
    .addColumn('claimed_until', number, (c) => c.notNull().defaultTo(0))
    .addPrimaryKeyConstraint('timers_key', ['case_id', 'key'])
    .execute();
  await schema.createIndex('timers_due').on('timers').columns(['due']).execute();
  await schema
    .createTable('people')
    .addColumn('person', 'text', (c) => c.notNull())
    .addColumn('case_id', number, (c) => c.notNull())
    .addPrimaryKeyConstraint('people_case', ['person', 'case_id'])
    .execute();
  await schema
    .createTable('cache')
    .addColumn('key', 'text', (c) => c.primaryKey())
    .addColumn('value', 'text', (c) => c.notNull())
    .addColumn('expires', number)
    .execute();
}
