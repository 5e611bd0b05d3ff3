import { type Kysely, sql } from 'kysely';
import type { Keys } from '../journal/keys.ts';
import type { Tables } from '../journal/tables.ts';
import { idLength } from './key-store.ts';

export interface Unreadable {
  /** Cases with words that no key opens. */
  readonly cases: number;
  /** Keys that are missing. */
  readonly keys: number;
}

/** Rows of one query: a case and a key each. No case has half as many keys. */
const page = 4000;

/** Goes through all cases, a few thousand at a time. */
export async function unreadable(db: Kysely<Tables>, keys: Keys): Promise<Unreadable> {
  const missing = new Set<string>();
  let cases = 0;
  let after = 0;
  for (;;) {
    const { rows } = await sql<{
      case_id: number;
      key: string;
    }>`select distinct case_id, substr(sealed, 1, ${sql.lit(idLength)}) as key from events where sealed is not null and case_id > ${after} order by case_id limit ${page}`.execute(
      db,
    );
    const last = rows.at(-1)?.case_id;
    if (last === undefined) break;
    // The last case of a full page may go on in the next.
    const whole = rows.length < page ? rows : rows.filter(({ case_id }) => case_id < last);
    const ids = [...new Set(whole.map(({ key }) => key))];
    const found = await keys.find(ids);
    const lost = new Set(whole.flatMap(({ case_id, key }) => (found.has(key) ? [] : [case_id])));
    for (const id of ids) if (!found.has(id)) missing.add(id);
    cases += lost.size;
    if (rows.length < page) break;
    after = last - 1;
  }
  return { cases, keys: missing.size };
}
