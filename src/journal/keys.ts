import { randomBytes, randomUUID } from 'node:crypto';
import { Kysely, sql } from 'kysely';
import type { Engine } from './engine.ts';
import { keySteps, migrate } from './migrate.ts';
import type { KeyTables } from './tables.ts';

/**
 * Each person's words are kept under a key of their own, and the keys apart from the cases: losing a key makes the words
 * unreadable in the journal and in every backup of it. Keys are asked for each time and never remembered, so that a key
 * lost by another process is lost here, too.
 */
export interface Keys {
  /** The keys these persons' words are sealed with from now on; made where there is none yet. */
  current(persons: readonly string[]): Promise<ReadonlyMap<string, Key>>;
  /** Keys by their ids; a lost one is missing. */
  find(ids: readonly string[]): Promise<ReadonlyMap<string, Key>>;
  /** Loses a person's key. What they say later gets a new one. */
  lose(person: string): Promise<void>;
  close(): Promise<void>;
}

export interface Key {
  readonly id: string;
  /** 256 bits. */
  readonly secret: Buffer;
}

/** Keys in a database: a file of its own beside SQLite's, a table of its own in PostgreSQL. */
export async function sqlKeys(
  engine: Engine,
  now: () => number,
  passing: (point: string) => void = () => undefined,
): Promise<Keys> {
  const db = new Kysely<KeyTables>({ dialect: engine.dialect });
  await migrate(db, engine, 'key_steps', keySteps);
  // A deleted key is overwritten in the file, not only taken off its list.
  if (engine.name === 'sqlite') await sql`pragma secure_delete = on`.execute(db);
  const keyOf = (row: { id: string; key: string }): Key => ({
    id: row.id,
    secret: Buffer.from(row.key, 'base64'),
  });

  const held = async (persons: readonly string[]): Promise<Map<string, Key>> => {
    const rows = await db
      .selectFrom('person_keys')
      .select(['person', 'id', 'key'])
      .where('person', 'in', engine.among(persons) as never)
      .execute();
    return new Map(rows.map((row) => [row.person, keyOf(row)]));
  };

  return {
    async current(persons) {
      const known = await held(persons);
      const missing = persons.filter((person) => !known.has(person));
      if (missing.length === 0) return known;
      passing('key:before');
      await db
        .insertInto('person_keys')
        .values(
          // In one order everywhere: two instances that make the same keys must not wait for each other.
          missing.toSorted().map((person) => ({
            person,
            id: randomUUID(),
            key: randomBytes(32).toString('base64'),
            made: now(),
          })),
        )
        .onConflict((at) => at.column('person').doNothing())
        .execute();
      passing('key:after');
      return held(persons);
    },
    async find(ids) {
      const rows = await db
        .selectFrom('person_keys')
        .select(['id', 'key'])
        .where('id', 'in', engine.among(ids) as never)
        .execute();
      return new Map(rows.map((row) => [row.id, keyOf(row)]));
    },
    async lose(person) {
      await db.deleteFrom('person_keys').where('person', '=', person).execute();
      // Nor may it stand in the log beside the file.
      if (engine.name === 'sqlite') await sql`pragma wal_checkpoint(truncate)`.execute(db);
    },
    close: () => db.destroy(),
  };
}
