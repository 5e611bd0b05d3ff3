import { createHash } from 'node:crypto';
import type { Kysely } from 'kysely';
import type { Tables } from '../journal/tables.ts';

/**
 * What an erasure leaves in the journal, as ids of its turns: a digest of whose words went, and when. So a rerun finds the
 * cases again, and a restored key of somebody who was erased since is known for what it is.
 * These ids begin so, whoever was erased.
 */
export const anyErasure = 'erased:';

/** How the ids of all turns begin in which this person was erased. */
export const erasuresOf = (person: string): string => `${anyErasure}${digest(person)}:`;

/** Id of the turns of one erasure. */
export const erasureId = (person: string, at: number): string => `${erasuresOf(person)}${at}`;

export const digest = (person: string): string => createHash('sha256').update(person).digest('hex');

/** When each person was erased last, milliseconds, by the digest of their id. */
export async function erasuresIn(db: Kysely<Tables>): Promise<ReadonlyMap<string, number>> {
  const rows = await db
    .selectFrom('turns')
    .select('inbound')
    .distinct()
    .where('inbound', 'like', `${anyErasure}%`)
    .execute();
  const last = new Map<string, number>();
  for (const { inbound } of rows) {
    const found = /^erased:([0-9a-f]{64}):(\d{1,16})$/.exec(inbound);
    if (!found) continue;
    const [, whose, at] = found as unknown as [string, string, string];
    last.set(whose, Math.max(last.get(whose) ?? 0, Number(at)));
  }
  return last;
}
