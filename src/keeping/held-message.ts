import { type Kysely, sql } from 'kysely';
import { z } from 'zod';
import type { Key, Keys } from '../journal/keys.ts';
import type { Tables } from '../journal/tables.ts';
import { keyIdsOfMessage, openMessage, placeOfMessage } from './sealed-message.ts';

/**
 * A restored message whose keys are not there is set aside under seal, so that restoring the keys later loses none: it
 * stands in the outbox as this, and what it was before stands in it.
 */
const HeldMessage = z.strictObject({
  kind: z.literal('sealed'),
  sealed: z.string(),
  state: z.number().int(),
  why: z.string().nullable(),
});
type HeldMessage = z.infer<typeof HeldMessage>;

const beginning = '{"kind":"sealed"';

export const setAside = 2;
export const whyHeld = 'its words are sealed: restore the keys';

export const holding = (message: Omit<HeldMessage, 'kind'>): string =>
  JSON.stringify({ kind: 'sealed', ...message });

/** Keys of sealed messages, by their ids. */
export const keysOf = (sealed: readonly string[], keys: Keys): Promise<ReadonlyMap<string, Key>> => {
  const ids = [...new Set(sealed.flatMap(keyIdsOfMessage))];
  return ids.length === 0 ? Promise.resolve(new Map()) : keys.find(ids);
};

/** Puts every held message whose keys are there now back to where it stood. Resolves to how many wait again. */
export async function freeHeld(db: Kysely<Tables>, keys: Keys): Promise<number> {
  const rows = await db
    .selectFrom('outbox')
    .innerJoin('cases', 'cases.id', 'outbox.case_id')
    .select(['outbox.case_id', 'outbox.n', 'outbox.body', 'cases.thread'])
    .where('outbox.state', '=', setAside)
    .where(sql<boolean>`substr(outbox.body, 1, ${sql.lit(beginning.length)}) = ${beginning}`)
    .orderBy('outbox.case_id')
    .orderBy('outbox.n')
    .execute();
  let freed = 0;
  for (const { case_id, n, body, thread } of rows) {
    const held = HeldMessage.parse(JSON.parse(body ?? ''));
    const open = openMessage(held.sealed, placeOfMessage(thread, n), await keysOf([held.sealed], keys));
    if (open === null) continue;
    await db
      .updateTable('outbox')
      .set({ body: open, state: held.state, why: held.why })
      .where('case_id', '=', case_id)
      .where('n', '=', n)
      .execute();
    freed += 1;
  }
  return freed;
}
