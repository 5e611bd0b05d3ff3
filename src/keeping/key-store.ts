import { Kysely, sql } from 'kysely';
import { Advice } from '../advice.ts';
import type { Engine } from '../journal/engine.ts';
import { type Key, type Keys, sqlKeys } from '../journal/keys.ts';
import { keySteps } from '../journal/migrate.ts';
import { engineOf, type Place } from '../journal/open-journal.ts';
import type { KeyTables } from '../journal/tables.ts';

/** The keys, past the port that the journal has of them: by person without making any, and all of them. */
export interface KeyStore {
  readonly db: Kysely<KeyTables>;
  readonly engine: Engine;
  /** Keys of those persons that have one. */
  held(persons: readonly string[]): Promise<ReadonlyMap<string, Key>>;
  /** All of them, a page at a time; each page is as the table was when it was read. */
  pages(): AsyncGenerator<readonly KeyRow[]>;
  /** The port itself: it brings the table up to date, which a backup need not wait for. */
  keys(): Promise<Keys>;
  close(): Promise<void>;
}

export type KeyRow = KeyTables['person_keys'];

/** Of a key's id, in characters. */
export const idLength = 36;

const page = 1000;

/** `fresh`: the table is made and brought up to date where it is not. Throws `Advice`. */
export async function openKeyStore(
  place: Place,
  now: () => number,
  report: (problem: string) => void,
  fresh: boolean,
): Promise<KeyStore> {
  const engine = engineOf(place, report);
  const db = new Kysely<KeyTables>({ dialect: engine.dialect });
  let port: Promise<Keys> | null = null;
  const store: KeyStore = {
    db,
    engine,
    async held(persons) {
      const rows = await db
        .selectFrom('person_keys')
        .select(['person', 'id', 'key'])
        .where('person', 'in', engine.among(persons) as never)
        .execute();
      return new Map(rows.map(({ person, id, key }) => [person, { id, secret: Buffer.from(key, 'base64') }]));
    },
    // One query a page and no transaction over all of them: losing a key waits for whoever still reads the old state.
    async *pages() {
      let after: string | null = null;
      for (;;) {
        let query = db.selectFrom('person_keys').select(['person', 'id', 'key', 'made']);
        if (after !== null) query = query.where('person', '>', after);
        const rows = await query.orderBy('person').limit(page).execute();
        yield rows;
        const last = rows.at(-1);
        if (!last || rows.length < page) return;
        after = last.person;
      }
    },
    keys() {
      port ??= sqlKeys(engineOf(place, report), now);
      return port;
    },
    async close() {
      await (await port)?.close();
      await db.destroy();
    },
  };
  try {
    if (fresh) await store.keys();
    else await mustBeCurrent(db);
    return store;
  } catch (cause) {
    await db.destroy();
    throw cause;
  }
}

async function mustBeCurrent(db: Kysely<KeyTables>): Promise<void> {
  const step = await sql<{ number: number | null }>`select max(number) as number from key_steps`
    .execute(db)
    .then(
      ({ rows }) => rows[0]?.number ?? 0,
      () => 0,
    );
  if (step === 0) throw new Advice('There are no keys where the settings say. Check them.');
  if (step > keySteps.length)
    throw new Advice(`The keys are newer than this program (step ${step}). Update the program.`);
  if (step < keySteps.length)
    throw new Advice(
      `The keys are older than this program (step ${step} of ${keySteps.length}). Start the desk once, which brings them up to date.`,
    );
}
