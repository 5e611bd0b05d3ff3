import { uncell } from '../journal/names.ts';
import type { Database } from '../journal/tables.ts';
import { returnCode } from './return-code.ts';

const page = 5000;

/** The threads of all cases that have this code, oldest case first: one nearly always. Looks through all of them. */
export async function threadsOfCode(code: string, db: Database): Promise<readonly string[]> {
  const found: string[] = [];
  let after = 0;
  for (;;) {
    const rows = await db
      .selectFrom('cases')
      .select(['thread', 'id'])
      .where('id', '>', after)
      .orderBy('id')
      .limit(page)
      .execute();
    found.push(...rows.map(({ thread }) => uncell(thread)).filter((thread) => returnCode(thread) === code));
    const last = rows.at(-1);
    if (!last) return found;
    after = last.id;
  }
}
