import { existsSync } from 'node:fs';
import { Kysely } from 'kysely';
import { Advice } from '../advice.ts';
import { keySteps } from '../journal/migrate.ts';
import { engineOf, type Place } from '../journal/open-journal.ts';
import type { Tables } from '../journal/tables.ts';
import type { Desk } from './desk.ts';
import { digest, erasuresIn } from './erasure.ts';
import { freeHeld } from './held-message.ts';
import { keyTable } from './kept.ts';
import { type KeyRow, type KeyStore, openKeyStore } from './key-store.ts';
import { checkBackup, readBackup } from './read-backup.ts';
import { type Unreadable, unreadable } from './unreadable.ts';

export interface RestoredKeys {
  readonly made: number;
  readonly added: number;
  /** The very same key was here. */
  readonly same: number;
  /** The person has another key here: what the restored one opens stays unreadable. */
  readonly other: number;
  /** The journal says that these people were erased after their key was made. */
  readonly erased: number;
  /** Messages that can go out again. */
  readonly freed: number;
  readonly unreadable: Unreadable;
}

/** Restores keys beside those that are there, in one transaction, after the whole file was found in order. Throws `Advice`. */
export async function restoreKeys(file: string, desk: Desk): Promise<RestoredKeys> {
  const { header, sha256 } = await checkBackup(file);
  if (header.kind === 'cases')
    throw new Advice(`${file} is a backup of cases. Restore it with: restore ${file}`);
  if (header.step > keySteps.length)
    throw new Advice(
      `${file} was written by a newer program (step ${header.step} of the keys; this program knows ${keySteps.length}). Update the program, then restore it.`,
    );
  const { name, columns } = keyTable;
  if (header.tables.join() !== name)
    throw new Advice(`${file} holds something else than keys. Take another backup.`);

  const store = await openKeyStore(desk.keys, desk.now, desk.err, true);
  const journal = await journalOf(desk.journal, desk);
  try {
    const erased = journal ? await erasuresIn(journal) : new Map<string, number>();
    const counts = { added: 0, same: 0, other: 0, erased: 0 };
    await store.db.transaction().execute(async (trx) => {
      for await (const part of readBackup(file)) {
        if (part.kind === 'end' && part.sha256 !== sha256)
          throw new Advice(`${file} was changed while it was restored. Nothing was restored; try again.`);
        if (part.kind !== 'rows') continue;
        if (Object.keys(part.columns).join() !== Object.keys(columns).join())
          throw new Advice(`${file} holds something else than keys. Take another backup.`);
        const all = part.rows.map(
          ([person, id, key, made]): KeyRow => ({
            person: String(person),
            id: String(id),
            key: String(key),
            made: Number(made),
          }),
        );
        const rows = all.filter(
          ({ person, made }) => made > (erased.get(digest(person)) ?? Number.NEGATIVE_INFINITY),
        );
        counts.erased += all.length - rows.length;
        await add({ ...store, db: trx }, rows, counts);
      }
    });
    return {
      made: header.made,
      ...counts,
      freed: journal ? await freeHeld(journal, await store.keys()) : 0,
      unreadable: journal ? await unreadable(journal, await store.keys()) : { cases: 0, keys: 0 },
    };
  } finally {
    await journal?.destroy();
    await store.close();
  }
}

async function add(
  { db, engine }: Pick<KeyStore, 'db' | 'engine'>,
  rows: readonly KeyRow[],
  counts: { added: number; same: number; other: number },
): Promise<void> {
  if (rows.length === 0) return;
  const there = await db
    .selectFrom('person_keys')
    .select(['person', 'id'])
    .where('person', 'in', engine.among(rows.map(({ person }) => person)) as never)
    .execute();
  const idOf = new Map(there.map(({ person, id }) => [person, id]));
  for (const { person, id } of rows) {
    if (!idOf.has(person)) counts.added += 1;
    else if (idOf.get(person) === id) counts.same += 1;
    else counts.other += 1;
  }
  const missing = rows.filter(({ person }) => !idOf.has(person));
  if (missing.length > 0)
    await db
      .insertInto('person_keys')
      .values(missing)
      .onConflict((at) => at.column('person').doNothing())
      .execute();
}

/** Null where there is no journal yet: keys may be restored first. It is left as it is, so that an older one fits in. */
async function journalOf(place: Place, { err }: Desk): Promise<Kysely<Tables> | null> {
  if (place.kind === 'sqlite' && !existsSync(place.file)) return null;
  const db = new Kysely<Tables>({ dialect: engineOf(place, err).dialect });
  const tables = await db.introspection.getTables();
  if (tables.some(({ name }) => name === 'journal_steps')) return db;
  await db.destroy();
  return null;
}
