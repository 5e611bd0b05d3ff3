import { openCache } from '../../src/cache/open-cache.ts';
import { openJournal } from '../../src/journal/open-journal.ts';
import type { Live } from '../../src/runtime/live-cases.ts';
import type { Database } from './database.ts';
import type { Evidence, Snapshot } from './evidence.ts';

/** What stands in the database once all desks are gone: tables by plain queries, events and snapshots by the journal. */
export async function lookInside(
  database: Database,
): Promise<Pick<Evidence, 'cases' | 'turns' | 'numbers' | 'outbox' | 'timers' | 'events' | 'snapshots'>> {
  const { query } = database;
  const cases = (await query('select id, thread, seq, sent from cases order by id')).map((row) => ({
    id: Number(row.id),
    thread: String(row.thread),
    seq: Number(row.seq),
    sent: Number(row.sent),
  }));
  const nameOf = new Map(cases.map(({ id, thread }) => [id, thread]));
  const threadOf = (row: Record<string, unknown>): string =>
    nameOf.get(Number(row.case_id)) ?? `a case without a row, ${row.case_id}`;
  // In the order of their transactions: nearly that of their turns.
  const order = database.journal.kind === 'sqlite' ? 'rowid' : 'xmin::text::bigint';
  const turns = (await query(`select case_id, inbound from turns order by ${order}`)).map((row) => ({
    thread: threadOf(row),
    inbound: String(row.inbound),
  }));
  const numbers = (await query('select case_id, seq from events order by case_id, seq')).map((row) => ({
    thread: threadOf(row),
    seq: Number(row.seq),
  }));
  const outbox = (await query('select case_id, n, state from outbox where state <> 1')).map((row) => ({
    id: `${row.case_id}.${row.n}`,
    state: Number(row.state) === 2 ? ('set aside' as const) : ('waiting' as const),
  }));
  const timers = (await query('select case_id, key, due from timers')).map((row) => ({
    thread: threadOf(row),
    key: String(row.key),
    due: Number(row.due),
  }));

  const journal = await openJournal({
    journal: database.journal,
    keys: database.keys,
    report: () => undefined,
  });
  const cache = await openCache({
    url: null,
    db: journal.db,
    version: 'crash',
    notify: () => undefined,
    now: Date.now,
  });
  const events = new Map();
  const snapshots = new Map<string, Snapshot>();
  for (const { thread } of cases) {
    events.set(thread, (await journal.read(thread)).events);
    const live = (await cache.get('case', thread)) as Live | undefined;
    if (!live?.mark) continue;
    const stretch = await journal.read(thread, live.mark);
    snapshots.set(thread, { kase: live.kase, from: stretch.from, after: stretch.events });
  }
  await cache.close();
  await journal.close();
  return { cases, turns, numbers, outbox, timers, events, snapshots };
}
