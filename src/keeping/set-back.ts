import { sql, type Transaction } from 'kysely';
import type { Event } from '../../shared/case.ts';
import type { Outbound } from '../../shared/outbound.ts';
import { deskId } from '../core/turn.ts';
import type { Cell, Engine } from '../journal/engine.ts';
import type { Tables } from '../journal/tables.ts';
import { timeIds } from '../journal/time-id.ts';
import { dated } from './desk.ts';
import { setAside, whyHeld } from './held-message.ts';

/**
 * Between a backup and its restoring, people went on: a set that the restored case holds for proven discharged may have
 * had power since. So every case under way is stopped, which takes back all that was known of plug and charge, and
 * people are told. They write, and it goes on with what is still known.
 */

/** Who has been silent for longer is not written to; the case is stopped all the same. */
const recent = 30 * 24 * 60 * 60_000;
const page = 500;

const toldWords = (made: number): string =>
  `This desk was set back to ${dated(made)}: what you told me after that is lost. If the plug is in, pull it; leave it out, and let nobody reach in. If you took a cover off since then, put it back on. Then write anything, and we go on from what I still know.`;

/** Part of the transaction that restores. Resolves to how many cases were under way. */
export async function setBack(
  trx: Transaction<Tables>,
  engine: Engine,
  made: number,
  now: () => number,
): Promise<number> {
  const newId = timeIds(now);
  const at = now();
  const message = JSON.stringify({ kind: 'say', words: toldWords(made) } satisfies Outbound);
  let count = 0;
  let after = 0;
  for (;;) {
    const cases = await trx
      .selectFrom('cases')
      .select(['id', 'seq', 'sent', 'last_at'])
      .where('state', 'in', ['asking', 'resting'])
      .where('seq', '>', 0)
      .where('id', '>', after)
      .orderBy('id')
      .limit(page)
      .execute();
    const last = cases.at(-1);
    if (!last) return count;
    const ids = cases.map(({ id }) => id);
    const events = cases.map(({ id, seq }): Cell[] => {
      const stopped: Event = { by: deskId, at, kind: 'stopped', seq: seq + 1 };
      return [id, seq + 1, newId(), JSON.stringify(stopped), null];
    });
    await sql`insert into events (case_id, seq, id, body, sealed) select * from ${engine.rows(eventColumns, events)} as given`.execute(
      trx,
    );
    // A question that is closed is not put to anybody any more, not even when its words can be read again.
    await trx
      .updateTable('outbox')
      .set({ state: setAside, body: null, why: 'its question was closed when the desk was set back' })
      .where('key', 'is not', null)
      .where('case_id', 'in', ids)
      .where((is) =>
        is.or([is('state', '=', 0), is.and([is('state', '=', setAside), is('why', '=', whyHeld)])]),
      )
      .execute();
    const messages = cases
      .filter(({ last_at }) => last_at > made - recent)
      .map(({ id, sent }): Cell[] => [id, sent + 1, message, at]);
    if (messages.length > 0)
      await sql`insert into outbox (case_id, n, body, since) select * from ${engine.rows(messageColumns, messages)} as given`.execute(
        trx,
      );
    await trx.deleteFrom('timers').where('case_id', 'in', ids).execute();
    await trx
      .updateTable('cases')
      .set((is) => ({
        seq: is('seq', '+', 1),
        sent: is('sent', '+', 1),
        state: 'resting',
        last_at: at,
      }))
      .where('id', 'in', ids)
      .execute();
    count += cases.length;
    after = last.id;
  }
}

const eventColumns = { case_id: 'number', seq: 'number', id: 'text', body: 'text', sealed: 'text' } as const;
const messageColumns = { case_id: 'number', n: 'number', body: 'text', since: 'number' } as const;
