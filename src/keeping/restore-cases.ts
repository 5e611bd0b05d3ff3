import { Kysely, sql, type Transaction } from 'kysely';
import { Advice } from '../advice.ts';
import type { Cell, Columns, Engine } from '../journal/engine.ts';
import type { Keys } from '../journal/keys.ts';
import { journalSteps } from '../journal/migrate.ts';
import { engineOf } from '../journal/open-journal.ts';
import type { Tables } from '../journal/tables.ts';
import type { Header } from './backup-format.ts';
import type { Desk } from './desk.ts';
import { digest, erasuresIn } from './erasure.ts';
import { holding, keysOf, setAside, whyHeld } from './held-message.ts';
import { caseTables, type KeptTable } from './kept.ts';
import { type KeyStore, openKeyStore } from './key-store.ts';
import { checkBackup, readBackup } from './read-backup.ts';
import { openMessage, placeOfMessage } from './sealed-message.ts';
import { setBack } from './set-back.ts';
import type { Row } from './snapshot.ts';
import { type Unreadable, unreadable } from './unreadable.ts';

export interface RestoreOptions {
  /** The journal's. */
  readonly steps?: Steps;
  /** For looking at, not for going on with: nobody is told, and cases under way are not stopped. */
  readonly asTheyWere?: boolean;
}

export interface RestoredCases {
  readonly made: number;
  /** By table. */
  readonly rows: Readonly<Record<string, number>>;
  /** Messages set aside until the keys are there. */
  readonly held: number;
  /** Keys that were there and belong to people who were erased after they were made: lost again. */
  readonly lostAgain: number;
  /** Cases under way, all of which were stopped. */
  readonly stopped: number;
  readonly unreadable: Unreadable;
}

/** What the desk did after the backup nobody knows: the names of messages and cases it used are not used again. */
const gap = 1_000_000;

/**
 * Restores cases into an empty journal, in one transaction, after the whole file was found in order. Throws `Advice`.
 */
export async function restoreCases(
  file: string,
  { journal, keys, now, err }: Desk,
  { steps = journalSteps, asTheyWere = false }: RestoreOptions = {},
): Promise<RestoredCases> {
  const checked = await checkBackup(file);
  mustBeCases(file, checked.header);
  if (checked.header.step > steps.length)
    throw new Advice(
      `${file} was written by a newer program (step ${checked.header.step} of the journal; this program knows ${steps.length}). Update the program, then restore it.`,
    );
  const store = await openKeyStore(keys, now, err, true);
  try {
    const engine = engineOf(journal, err);
    const db = new Kysely<Tables>({ dialect: engine.dialect });
    try {
      let [held, lostAgain, stopped] = [0, 0, 0];
      const port = await store.keys();
      await db.transaction().execute(async (trx) => {
        await prepared(trx, engine, checked.header.step, steps);
        held = await filled(trx, engine, file, port, checked.sha256);
        await numbered(trx, engine);
        await stepped(trx, engine, checked.header.step, steps.length, steps);
        if (!asTheyWere) stopped = await setBack(trx, engine, checked.header.made, now);
        // Before the end: a rerun finds an empty journal, or nothing is left to do.
        lostAgain = await loseErased(trx, store);
      });
      const { made } = checked.header;
      const rows = await countsOf(db);
      return { made, rows, held, lostAgain, stopped, unreadable: await unreadable(db, port) };
    } finally {
      await db.destroy();
    }
  } finally {
    await store.close();
  }
}

function mustBeCases(file: string, { kind, tables }: Header): void {
  if (kind === 'keys')
    throw new Advice(`${file} is a backup of keys. Restore it with: restore --keys ${file}`);
  const known: readonly string[] = caseTables.map(({ name }) => name);
  const strange = tables.find((name) => !known.includes(name));
  if (strange !== undefined)
    throw new Advice(`${file} holds a table that is none of the journal's: ${strange}. Take another backup.`);
}

type Steps = typeof journalSteps;

/** Tables as they were when the backup was made, empty, and nobody else writing to them. */
async function prepared(trx: Transaction<Tables>, engine: Engine, step: number, steps: Steps): Promise<void> {
  if (engine.lockSchema) await engine.lockSchema.execute(trx);
  await sql`create table if not exists journal_steps (number integer primary key, at text not null)`.execute(
    trx,
  );
  const { rows } = await sql<{
    number: number | null;
  }>`select max(number) as number from journal_steps`.execute(trx);
  const done = rows[0]?.number ?? 0;
  await stepped(trx, engine, done, step, steps);
  if (engine.name === 'postgres') await sql`lock table cases in share row exclusive mode`.execute(trx);
  for (const { name } of caseTables.filter((table: KeptTable) => (table.since ?? 1) <= step)) {
    const found = await sql`select 1 from ${sql.table(name)} limit 1`.execute(trx);
    if (found.rows.length > 0)
      throw new Advice(
        'There are cases in this journal already, and a backup is restored into an empty one only. Stop the desk, set another file or database in its settings, and restore into that.',
      );
  }
  if (done > step)
    throw new Advice(
      `The backup is of an older journal (step ${step}), and this one was brought to step ${done} already. Set a file or database in the settings that no desk has used yet, and restore into that; it is brought up to date then.`,
    );
}

async function stepped(
  trx: Transaction<Tables>,
  engine: Engine,
  from: number,
  to: number,
  steps: Steps,
): Promise<void> {
  for (let number = from + 1; number <= to; number++) {
    await steps[number - 1]?.(trx, engine);
    await sql`insert into journal_steps (number, at) values (${number}, ${new Date().toISOString()})`.execute(
      trx,
    );
  }
}

/** Resolves to how many messages are held. Throws when the file is not the one that was looked at before. */
async function filled(
  trx: Transaction<Tables>,
  engine: Engine,
  file: string,
  keys: Keys,
  sha256: string,
): Promise<number> {
  let held = 0;
  for await (const part of readBackup(file)) {
    if (part.kind === 'end' && part.sha256 !== sha256)
      throw new Advice(`${file} was changed while it was restored. Nothing was restored; try again.`);
    if (part.kind !== 'rows') continue;
    let { columns, rows } = part;
    if (part.table === 'cases') rows = withGap(columns, rows);
    if (part.table === 'outbox') {
      const opened = await openedMessages(trx, columns, rows, keys);
      ({ columns, rows } = opened);
      held += opened.held;
    }
    await insert(trx, engine, part.table, columns, rows);
  }
  return held;
}

async function insert(
  trx: Transaction<Tables>,
  engine: Engine,
  table: string,
  columns: Columns,
  rows: readonly Row[],
): Promise<void> {
  const names = sql.join(Object.keys(columns).map((name) => sql.id(name)));
  const ids = engine.name === 'postgres' && table === 'cases' ? sql`overriding system value` : sql``;
  await sql`insert into ${sql.table(table)} (${names}) ${ids} select * from ${engine.rows(columns, rows)} as given`.execute(
    trx,
  );
}

function withGap(columns: Columns, rows: readonly Row[]): Row[] {
  const at = Object.keys(columns).indexOf('sent');
  return rows.map((row) => row.map((cell, i) => (i === at ? Number(cell) + gap : cell)));
}

/** The outbox as its table has it: each message open, or held. Its cases were restored before it. */
async function openedMessages(
  trx: Transaction<Tables>,
  columns: Columns,
  rows: readonly Row[],
  keys: Keys,
): Promise<{ readonly columns: Columns; readonly rows: readonly Row[]; readonly held: number }> {
  const names = Object.keys(columns);
  const at = (name: string): number => names.indexOf(name);
  const sealedOf = (row: Row): string | null => row[at('sealed')] as string | null;
  const sealed = rows.filter((row) => sealedOf(row) !== null);
  const threads = await threadsOf(trx, [...new Set(sealed.map((row) => row[at('case_id')] as number))]);
  const found = await keysOf(
    sealed.map((row) => sealedOf(row) as string),
    keys,
  );
  let held = 0;
  const open = rows.map((row): Row => {
    const one: Cell[] = [...row];
    const words = sealedOf(row);
    if (words !== null) {
      const thread = threads.get(row[at('case_id')] as number) ?? '';
      const body = openMessage(words, placeOfMessage(thread, row[at('n')] as number), found);
      if (body !== null) one[at('body')] = body;
      else {
        held += 1;
        const [state, why] = [row[at('state')] as number, row[at('why')] as string | null];
        one[at('body')] = holding({ sealed: words, state, why });
        one[at('state')] = setAside;
        one[at('why')] = whyHeld;
      }
    }
    return one.filter((_, i) => i !== at('sealed'));
  });
  const { sealed: _, ...own } = columns;
  return { columns: own, rows: open, held };
}

async function threadsOf(
  trx: Transaction<Tables>,
  ids: readonly number[],
): Promise<ReadonlyMap<number, string>> {
  if (ids.length === 0) return new Map();
  const rows = await trx.selectFrom('cases').select(['id', 'thread']).where('id', 'in', ids).execute();
  return new Map(rows.map(({ id, thread }) => [id, thread]));
}

/** New cases are numbered after the restored ones. */
async function numbered(trx: Transaction<Tables>, { name }: Engine): Promise<void> {
  const { max } = await trx
    .selectFrom('cases')
    .select((is) => is.fn.max('id').as('max'))
    .executeTakeFirstOrThrow();
  const last = Number(max ?? 0) + gap;
  if (name === 'postgres')
    await sql`select setval(pg_get_serial_sequence('cases', 'id'), ${last})`.execute(trx);
  else if (max !== null)
    await sql`update sqlite_sequence set seq = ${last} where name = 'cases'`.execute(trx);
}

async function countsOf(db: Kysely<Tables>): Promise<Record<string, number>> {
  const counts: Record<string, number> = {};
  for (const { name } of caseTables) {
    const { rows } = await sql<{ n: number }>`select count(*) as n from ${sql.table(name)}`.execute(db);
    counts[name] = Number(rows[0]?.n ?? 0);
  }
  return counts;
}

/** The cases may tell of erasures that are younger than the keys which were restored before them. */
async function loseErased(db: Kysely<Tables>, store: KeyStore): Promise<number> {
  const erased = await erasuresIn(db);
  if (erased.size === 0) return 0;
  let lost = 0;
  for await (const rows of store.pages()) {
    for (const { person, made } of rows) {
      if (made > (erased.get(digest(person)) ?? Number.NEGATIVE_INFINITY)) continue;
      await (await store.keys()).lose(person);
      lost += 1;
    }
  }
  return lost;
}
