import { closeSync, mkdirSync, openSync } from 'node:fs';
import { dirname } from 'node:path';
import { DatabaseSync, type StatementSync } from 'node:sqlite';
import { setTimeout as wait } from 'node:timers/promises';
import { type SqliteDatabase, SqliteDialect, sql } from 'kysely';
import type { Engine } from './engine.ts';

/** SQLite by `node:sqlite`, the only place that knows its class. */

/** Prepared statements kept; the journal has some forty. */
const most = 200;

/** How long another program's lock is waited for, milliseconds. */
const patience = 10_000;

/** SQLite does not wait its time for another program that is changing the same file into WAL: it says at once that it is locked. */
async function intoWal(database: DatabaseSync): Promise<void> {
  for (const until = performance.now() + patience; ; ) {
    try {
      database.exec('pragma journal_mode = wal');
      return;
    } catch (cause) {
      const busy = (cause as { readonly errcode?: unknown }).errcode === 5;
      if (!busy || performance.now() > until) {
        database.close();
        throw cause;
      }
      await wait(50);
    }
  }
}

/** `file` may be `:memory:`. Its folder is made when it is missing. */
export function sqliteEngine(file: string): Engine {
  return {
    name: 'sqlite',
    dialect: new SqliteDialect({ database: () => open(file) }),
    types: { number: 'integer', serial: 'integer' },
    rows(columns, rows) {
      const taken = Object.keys(columns).map((name, i) => sql`value ->> ${sql.lit(i)} as ${sql.id(name)}`);
      return sql`(select ${sql.join(taken)} from json_each(${JSON.stringify(rows)}))`;
    },
    among: (list) => sql`(select value from json_each(${JSON.stringify(list)}))`,
    // There is one writer, and a transaction is it from its beginning.
    lockRows: sql``,
    skipLocked: sql``,
    lockSchema: null,
    writers: 1,
    passes: () => false,
  };
}

async function open(file: string): Promise<SqliteDatabase> {
  if (file !== ':memory:') {
    mkdirSync(dirname(file), { recursive: true, mode: 0o700 });
    // Made for its owner's eyes only, before anything stands in it.
    closeSync(openSync(file, 'a', 0o600));
  }
  const database = new DatabaseSync(file);
  // A turn is acknowledged after its commit: FULL waits for the disk. Another process (a backup, an erasure) may write, too.
  database.exec(`pragma busy_timeout = ${patience}`);
  await intoWal(database);
  database.exec('pragma synchronous = full');
  const statements = new Map<string, StatementSync>();
  return {
    prepare(text) {
      // A plain `begin` takes the write lock at the first write, when it may be too late to wait for it.
      const query = text === 'begin' ? 'begin immediate' : text;
      let statement = statements.get(query);
      if (!statement) {
        statement = database.prepare(query);
        if (statements.size >= most) statements.clear();
        statements.set(query, statement);
      }
      const prepared = statement;
      return {
        reader: prepared.columns().length > 0,
        all: (parameters) => prepared.all(...(parameters as string[])),
        run: (parameters) => prepared.run(...(parameters as string[])),
        iterate: (parameters) => prepared.iterate(...(parameters as string[])),
      };
    },
    close: () => database.close(),
  };
}
