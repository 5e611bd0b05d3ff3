import { Kysely, sql, type Transaction } from 'kysely';
import type { Event } from '../../shared/case.ts';
import type { Outbound } from '../../shared/outbound.ts';
import { createBatches } from './batch.ts';
import type { Cell, Engine } from './engine.ts';
import {
  type Appended,
  type Journal,
  type JournalTurn,
  type Mark,
  platformOf,
  claimAge as usualClaimAge,
  type Waiting,
  type Which,
} from './journal.ts';
import type { Keys } from './keys.ts';
import { journalSteps, migrate } from './migrate.ts';
import { keyIdOf, ownerOf, type Parts, split, whole } from './seal.ts';
import type { Database, Tables } from './tables.ts';
import { timeIds } from './time-id.ts';
import { timersOf } from './turn-timers.ts';

/** The journal in a database; queries are written here and nowhere else. What the databases do differently is in `engine.ts`. */
export interface SqlJournalOptions {
  readonly engine: Engine;
  readonly keys: Keys;
  /** Names this instance; no two that run share one. */
  readonly owner: string;
  /** The machine's clock: claims are held by it. */
  readonly now: () => number;
  /** How long a claim counts, milliseconds; the same for all instances. */
  readonly claimAge?: number;
  /** Called before and after each write, by name: where a test may end the process. */
  readonly passing?: (point: string) => void;
}

/** Turns in one transaction. */
const batchSize = 64;
/** How long what is not urgent waits for a turn to ride with, milliseconds. */
const patience = 20;
/** A write that fails for a reason that passes is tried so many times, over some ten seconds. */
const writeTries = 8;

export interface SqlJournal extends Journal {
  readonly db: Database;
}

export async function sqlJournal(options: SqlJournalOptions): Promise<SqlJournal> {
  const { engine, keys, owner, now, claimAge = usualClaimAge, passing = () => undefined } = options;
  const db = new Kysely<Tables>({ dialect: engine.dialect });
  await migrate(db, engine, 'journal_steps', journalSteps);
  const newId = timeIds(now);

  /** Delivered, and not written yet: message id to reference. */
  let marks = new Map<string, string>();
  /** Threads in which this instance delivers no more: case to the end of the lease that is given back. */
  let releases = new Map<number, number>();
  const leases = new Map<string, Lease>();
  let lastLease = 0;
  let riding: NodeJS.Timeout | null = null;

  /** Later than every lease before it, so that a late release gives back no newer one. */
  const newLease = (): number => {
    lastLease = Math.max(lastLease + 1, now() + claimAge);
    return lastLease;
  };

  const batches = createBatches<JournalTurn, Appended>({
    size: batchSize,
    writers: engine.writers,
    write: (turns) => persistent(() => write(turns)),
  });

  async function persistent<T>(work: () => Promise<T>): Promise<T> {
    for (let attempt = 1; ; attempt++) {
      try {
        return await work();
      } catch (cause) {
        if (attempt === writeTries || !engine.passes(cause)) throw cause;
        await new Promise((resolve) => setTimeout(resolve, 20 * 2 ** attempt));
      }
    }
  }

  /** Of a thread's turns one at a time: the next is judged by what the one before it left. */
  async function write(turns: readonly JournalTurn[]): Promise<Appended[]> {
    const results = new Map<JournalTurn, Appended>();
    let left = turns;
    do {
      const first = left.filter(({ thread }, i) => left.findIndex((other) => other.thread === thread) === i);
      left = left.filter((turn) => !first.includes(turn));
      const answers = await writeTogether(first);
      first.forEach((turn, i) => {
        results.set(turn, answers[i] as Appended);
      });
    } while (left.length > 0);
    return turns.map((turn) => results.get(turn) as Appended);
  }

  async function writeTogether(turns: readonly JournalTurn[]): Promise<Appended[]> {
    const parts = await sealed(turns);
    const delivered = marks;
    marks = new Map();
    const released = releasable(delivered);
    try {
      passing('write:before');
      const granted = new Map<string, Lease>();
      const done = await db.transaction().execute(async (trx) => {
        await writeMarks(trx, delivered);
        const cases = await lockedCases(trx, turns, released);
        await writeReleases(trx, released);
        const answers = await writeTurns(trx, turns, parts, cases, granted);
        passing('write:within');
        return answers;
      });
      passing('write:after');
      // Not before the commit: what is given back meanwhile is the lease before this one.
      for (const [thread, lease] of granted) leases.set(thread, lease);
      for (const [id, reference] of delivered) if (written.get(id) === reference) written.delete(id);
      return done;
    } catch (cause) {
      marks = new Map([...delivered, ...marks]);
      releases = new Map([...released, ...releases]);
      throw cause;
    } finally {
      if (marks.size > 0 || releases.size > 0) ride();
    }
  }

  /**
   * Takes the releases that may be written together with these marks. While another write still has marks of a case under
   * way, whoever took over would find those messages waiting, and post them again.
   */
  function releasable(delivered: ReadonlyMap<string, string>): Map<number, number> {
    const held = new Set(
      [...written.keys()].flatMap((id) => (delivered.has(id) ? [] : (placeOfMessage(id)?.caseId ?? []))),
    );
    const taken = new Map([...releases].filter(([caseId]) => !held.has(caseId)));
    for (const caseId of taken.keys()) releases.delete(caseId);
    return taken;
  }

  /** Marks on their way to the database: still waiting there, and delivered all the same. */
  const written = new Map<string, string>();

  async function sealed(turns: readonly JournalTurn[]): Promise<Map<Event, Parts>> {
    const owners = new Set(turns.flatMap(({ events }) => events.flatMap((event) => ownerOf(event) ?? [])));
    const current = owners.size === 0 ? new Map() : await keys.current([...owners]);
    return new Map(
      turns.flatMap(({ thread, events }) =>
        events.map((event) => [
          event,
          split(event, placeOf(thread, event.seq), current.get(ownerOf(event) ?? '')),
        ]),
      ),
    );
  }

  async function writeTurns(
    trx: Transaction<Tables>,
    turns: readonly JournalTurn[],
    parts: ReadonlyMap<Event, Parts>,
    cases: ReadonlyMap<string, CaseRow>,
    granted: Map<string, Lease>,
  ): Promise<Appended[]> {
    if (turns.length === 0) return [];
    const onTop = turns.filter(({ thread, after }) => cases.get(thread)?.seq === after);
    const fresh = await writeInbound(trx, onTop, cases);
    const late = turns.filter((turn) => !onTop.includes(turn));
    const seen = await seenBefore(trx, late, cases);
    const kept = onTop.filter((turn) => fresh.has(turn));

    const events: Cell[][] = [];
    const outbox: Cell[][] = [];
    const timers: { gone: Cell[][]; set: Cell[][] } = { gone: [], set: [] };
    const people = new Map<string, Cell[]>();
    const heads: Cell[][] = [];
    const answers = new Map<JournalTurn, Appended>();
    for (const turn of kept) {
      const kase = cases.get(turn.thread) as CaseRow;
      let mark: Mark | null = null;
      for (const event of turn.events) {
        const { body, sealed } = parts.get(event) as Parts;
        mark = { seq: event.seq, id: newId() };
        events.push([kase.id, event.seq, mark.id, body, sealed]);
        const person = sealed === null ? null : ownerOf(event);
        if (person !== null) people.set(JSON.stringify([person, kase.id]), [cell(person), kase.id]);
      }
      const messages = turn.outbound.map((outbound, i): Waiting => {
        const key = outbound.kind === 'ask' ? outbound.key : null;
        const n = kase.sent + 1 + i;
        outbox.push([kase.id, n, key === null ? null : cell(key), JSON.stringify(outbound), now()]);
        return { id: messageId(kase.id, n, key !== null), outbound, tries: 0, since: now() };
      });
      for (const [key, due] of timersOf(turn)) {
        if (due === null) timers.gone.push([kase.id, cell(key)]);
        else timers.set.push([kase.id, cell(key), due, platformOf(turn.thread)]);
      }
      const mine = kase.lease_owner === owner || kase.lease_until < now();
      const until = mine && messages.length > 0 ? newLease() : null;
      if (until !== null) granted.set(turn.thread, { id: kase.id, until });
      heads.push([
        kase.id,
        kase.seq + turn.events.length,
        kase.sent + messages.length,
        turn.state,
        turn.events.at(-1)?.at ?? null,
        until,
      ]);
      answers.set(turn, { kind: 'done', mark, messages, mine, behind: fresh.get(turn) === true });
    }
    if (events.length > 0)
      await sql`insert into events (case_id, seq, id, body, sealed) select * from ${engine.rows(eventColumns, events)} as given`.execute(
        trx,
      );
    if (outbox.length > 0)
      await sql`insert into outbox (case_id, n, key, body, since) select * from ${engine.rows(outboxColumns, outbox)} as given`.execute(
        trx,
      );
    if (timers.gone.length > 0)
      await sql`delete from timers where (case_id, key) in ${engine.rows(timerKeys, timers.gone)}`.execute(
        trx,
      );
    if (timers.set.length > 0)
      await sql`insert into timers (case_id, key, due, platform) select * from ${engine.rows(timerColumns, timers.set)} as given where true on conflict (case_id, key) do update set due = excluded.due, claimed_until = 0`.execute(
        trx,
      );
    if (people.size > 0)
      await sql`insert into people (person, case_id) select * from ${engine.rows(peopleColumns, [...people.values()])} as given where true on conflict do nothing`.execute(
        trx,
      );
    if (heads.length > 0)
      await sql`update cases set seq = given.seq, sent = given.sent, state = given.state, last_at = coalesce(given.last_at, cases.last_at), lease_owner = case when given.until is null then cases.lease_owner else ${owner} end, lease_until = coalesce(given.until, cases.lease_until) from ${engine.rows(headColumns, heads)} as given where cases.id = given.id`.execute(
        trx,
      );
    for (const turn of kept) await writeErasures(trx, turn, (cases.get(turn.thread) as CaseRow).id);
    return turns.map(
      (turn) =>
        answers.get(turn) ??
        (onTop.includes(turn) || seen.has(turn) ? { kind: 'seen' } : { kind: 'conflict' }),
    );
  }

  /**
   * The cases of these turns, new ones made; nobody else changes them until the end, nor those that are given back. All
   * of them are locked at once and in one order, so that no two transactions wait for each other.
   */
  async function lockedCases(
    trx: Transaction<Tables>,
    turns: readonly JournalTurn[],
    released: ReadonlyMap<number, number>,
  ): Promise<Map<string, CaseRow>> {
    if (turns.length === 0 && released.size === 0) return new Map();
    const threads = turns.map(({ thread }) => thread);
    const select = async (): Promise<Map<string, CaseRow>> => {
      const { rows } =
        await sql<CaseRow>`select id, thread, seq, sent, lease_owner, lease_until from cases where id in (select id from cases where thread in ${engine.among(threads.map(cell))} union select id from ${engine.rows(releaseColumns, [...released])} as given) order by id ${engine.lockRows}`.execute(
          trx,
        );
      const byCell = new Map(rows.map((row) => [row.thread, row]));
      return new Map(
        threads.flatMap((thread) => {
          const row = byCell.get(cell(thread));
          return row ? [[thread, row]] : [];
        }),
      );
    };
    const found = await select();
    const missing = threads.filter((thread) => !found.has(thread));
    if (missing.length === 0) return found;
    await trx
      .insertInto('cases')
      .values(
        missing.toSorted().map((thread) => ({
          thread: cell(thread),
          platform: platformOf(thread),
          seq: 0,
          sent: 0,
          state: 'asking',
          last_at: 0,
          lease_until: 0,
        })),
      )
      .onConflict((at) => at.column('thread').doNothing())
      .execute();
    return select();
  }

  /**
   * Which of these were not there before, and whether something waits to be delivered in their cases: asked once they are
   * locked, so that nobody adds to it meanwhile.
   */
  async function writeInbound(
    trx: Transaction<Tables>,
    turns: readonly JournalTurn[],
    cases: ReadonlyMap<string, CaseRow>,
  ): Promise<Map<JournalTurn, boolean>> {
    if (turns.length === 0) return new Map();
    const { rows } = await sql<{
      case_id: number;
      inbound: string;
      behind: boolean | number;
    }>`insert into turns (case_id, inbound) select * from ${engine.rows(turnColumns, inboundRows(turns, cases))} as given where true on conflict do nothing returning case_id, inbound, exists (select 1 from outbox where outbox.case_id = turns.case_id and outbox.state = 0) as behind`.execute(
      trx,
    );
    const behind = new Set(rows.flatMap(({ case_id, behind }) => (behind ? [case_id] : [])));
    return new Map(
      [...matching(turns, cases, rows)].map((turn) => [
        turn,
        behind.has((cases.get(turn.thread) as CaseRow).id),
      ]),
    );
  }

  async function seenBefore(
    trx: Transaction<Tables>,
    turns: readonly JournalTurn[],
    cases: ReadonlyMap<string, CaseRow>,
  ): Promise<Set<JournalTurn>> {
    if (turns.length === 0) return new Set();
    const { rows } = await sql<{
      case_id: number;
      inbound: string;
    }>`select case_id, inbound from turns where (case_id, inbound) in ${engine.rows(turnColumns, inboundRows(turns, cases))}`.execute(
      trx,
    );
    return matching(turns, cases, rows);
  }

  async function writeMarks(trx: Transaction<Tables>, delivered: ReadonlyMap<string, string>): Promise<void> {
    const asks: Cell[][] = [];
    const others: Cell[][] = [];
    for (const [id, reference] of delivered) {
      const at = placeOfMessage(id);
      if (!at) continue;
      if (at.keyed) asks.push([at.caseId, at.n, cell(reference)]);
      else others.push([at.caseId, at.n]);
    }
    if (asks.length > 0)
      await sql`update outbox set state = 1, body = null, why = null, reference = given.reference from ${engine.rows(markColumns, asks)} as given where outbox.case_id = given.case_id and outbox.n = given.n`.execute(
        trx,
      );
    if (others.length > 0)
      await sql`delete from outbox where (case_id, n) in ${engine.rows(messageKeys, others)}`.execute(trx);
  }

  async function writeReleases(
    trx: Transaction<Tables>,
    released: ReadonlyMap<number, number>,
  ): Promise<void> {
    if (released.size === 0) return;
    await sql`update cases set lease_until = 0 from ${engine.rows(releaseColumns, [...released])} as given where cases.id = given.id and cases.lease_owner = ${owner} and cases.lease_until = given.until`.execute(
      trx,
    );
  }

  /** What is forgotten is no longer kept, not even sealed. */
  async function writeErasures(trx: Transaction<Tables>, turn: JournalTurn, caseId: number): Promise<void> {
    for (const event of turn.events) {
      if (event.kind === 'forgotten') {
        await trx.updateTable('events').set({ sealed: null }).where('case_id', '=', caseId).execute();
        await trx.deleteFrom('people').where('case_id', '=', caseId).execute();
        await trx
          .updateTable('outbox')
          .set({ body: null })
          .where('case_id', '=', caseId)
          .where('state', '=', 2)
          .execute();
      }
      if (event.kind === 'erased')
        await trx
          .deleteFrom('people')
          .where('case_id', '=', caseId)
          .where('person', '=', cell(event.person))
          .execute();
    }
  }

  /** Writes marks and releases soon, if no turn takes them along. */
  function ride(): void {
    riding ??= setTimeout(() => {
      riding = null;
      if (marks.size > 0 || releases.size > 0) batches.nudge().catch(() => ride());
    }, patience);
  }

  const flushed = async (): Promise<void> => {
    if (marks.size > 0 || releases.size > 0) await batches.nudge();
  };

  const readEvents = async (thread: string, from: number) => {
    const rows = await db
      .selectFrom('events')
      .innerJoin('cases', 'cases.id', 'events.case_id')
      .select(['events.seq', 'events.id', 'events.body', 'events.sealed'])
      .where('cases.thread', '=', cell(thread))
      .where('events.seq', '>=', from)
      .orderBy('events.seq')
      .execute();
    const ids = new Set(rows.flatMap(({ sealed }) => (sealed === null ? [] : [keyIdOf(sealed)])));
    const found = ids.size === 0 ? new Map() : await keys.find([...ids]);
    return {
      events: rows.map((row) =>
        whole(
          row,
          placeOf(thread, row.seq),
          row.sealed === null ? undefined : found.get(keyIdOf(row.sealed)),
        ),
      ),
      ids: rows.map(({ id }) => id),
    };
  };

  return {
    db,
    async read(thread, after) {
      if (after) {
        const { events, ids } = await readEvents(thread, after.seq);
        if (ids[0] === after.id) {
          const last = events.at(-1);
          return {
            from: after.seq,
            events: events.slice(1),
            mark: { seq: last?.seq ?? after.seq, id: ids.at(-1) ?? after.id },
          };
        }
      }
      const { events, ids } = await readEvents(thread, 0);
      const last = events.at(-1);
      return { from: 0, events, mark: last ? { seq: last.seq, id: ids.at(-1) as string } : null };
    },
    append(turn) {
      const held = leases.get(turn.thread);
      if (held && turn.outbound.length > 0) releases.delete(held.id);
      return batches.add(turn);
    },

    async take(thread) {
      const until = newLease();
      passing('take:before');
      const row = await db
        .updateTable('cases')
        .set({ lease_owner: owner, lease_until: until })
        .where('thread', '=', cell(thread))
        .where((is) => is.or([is('lease_until', '<', now()), is('lease_owner', '=', owner)]))
        .returning('id')
        .executeTakeFirst();
      passing('take:after');
      if (!row) {
        const known = await db
          .selectFrom('cases')
          .select('id')
          .where('thread', '=', cell(thread))
          .executeTakeFirst();
        return known ? null : [];
      }
      releases.delete(row.id);
      leases.set(thread, { id: row.id, until });
      // A mark may be written while this is read: the message then still waits in what is read, and not here any more.
      const marked = new Set(written.keys());
      const rows = await db
        .selectFrom('outbox')
        .select(['n', 'key', 'body', 'tries', 'since'])
        .where('case_id', '=', row.id)
        .where('state', '=', 0)
        .orderBy('n')
        .execute();
      const waiting = rows
        .map(
          (one): Waiting => ({
            id: messageId(row.id, one.n, one.key !== null),
            outbound: JSON.parse(one.body ?? 'null') as Outbound,
            tries: one.tries,
            since: one.since,
          }),
        )
        .filter(({ id }) => !marked.has(id));
      return waiting;
    },
    async release(thread) {
      const held = leases.get(thread);
      if (!held) return;
      leases.delete(thread);
      releases.set(held.id, held.until);
      ride();
    },
    async waiting({ now: at, platforms, limit }: Which) {
      const { rows } = await sql<{
        thread: string;
      }>`select cases.thread from outbox join cases on cases.id = outbox.case_id where outbox.state = 0 and outbox.next_try <= ${at} and outbox.n = (select min(n) from outbox as other where other.case_id = outbox.case_id and other.state = 0) and (cases.lease_until < ${now()} or cases.lease_owner = ${owner}) and cases.platform in ${engine.among(platforms)} order by outbox.since limit ${limit}`.execute(
        db,
      );
      return rows.map(({ thread }) => uncell(thread));
    },
    async delivered(id, reference) {
      if (!placeOfMessage(id)) return;
      marks.set(id, reference);
      written.set(id, reference);
      ride();
    },
    async failed(id, tries, next) {
      await change(id, { tries, next_try: Math.ceil(next) });
    },
    async setAside(id, why) {
      // Nobody is going to read its words here; the case goes to people.
      await change(id, { state: 2, why: cell(why), body: null });
    },
    async reference(thread, key) {
      await flushed();
      const row = await db
        .selectFrom('outbox')
        .innerJoin('cases', 'cases.id', 'outbox.case_id')
        .select('outbox.reference')
        .where('cases.thread', '=', cell(thread))
        .where('outbox.key', '=', cell(key))
        .where('outbox.reference', 'is not', null)
        .orderBy('outbox.n', 'desc')
        .executeTakeFirst();
      return row?.reference == null ? null : uncell(row.reference);
    },
    async backlog() {
      const row = await db
        .selectFrom('outbox')
        .select((is) => [is.fn.countAll<number>().as('waiting'), is.fn.min('since').as('oldest')])
        .where('state', '=', 0)
        .executeTakeFirstOrThrow();
      const aside = await db
        .selectFrom('outbox')
        .select((is) => is.fn.countAll<number>().as('count'))
        .where('state', '=', 2)
        .executeTakeFirstOrThrow();
      return {
        waiting: Number(row.waiting),
        oldest: row.oldest === null ? null : Number(row.oldest),
        setAside: Number(aside.count),
      };
    },

    async claim({ now: at, platforms, limit }) {
      passing('claim:before');
      const { rows } = await sql<{
        thread: string;
        key: string;
        due: number;
      }>`update timers set claimed_until = ${now() + claimAge} where (case_id, key) in (select case_id, key from timers where due <= ${at} and claimed_until < ${now()} and platform in ${engine.among(platforms)} order by due limit ${limit} ${engine.skipLocked}) returning (select thread from cases where id = timers.case_id) as thread, key, due`.execute(
        db,
      );
      passing('claim:after');
      return rows
        .map(({ thread, key, due }) => ({ thread: uncell(thread), key: uncell(key), due }))
        .sort((a, b) => a.due - b.due);
    },
    async nextDue() {
      const row = await db
        .selectFrom('timers')
        .select((is) => is.fn.min('due').as('due'))
        .executeTakeFirst();
      return row?.due ?? null;
    },

    async threadsOf(person) {
      const rows = await db
        .selectFrom('people')
        .innerJoin('cases', 'cases.id', 'people.case_id')
        .select('cases.thread')
        .where('people.person', '=', cell(person))
        .orderBy('cases.id')
        .execute();
      return rows.map(({ thread }) => uncell(thread));
    },
    async takenIn(prefix) {
      const rows = await db
        .selectFrom('cases')
        .select('thread')
        .where('id', 'in', (from) =>
          from
            .selectFrom('turns')
            .select('case_id')
            .where(sql`substr(inbound, 1, ${sql.lit(prefix.length)})`, '=', prefix),
        )
        .orderBy('id')
        .execute();
      return rows.map(({ thread }) => uncell(thread));
    },
    async forget(person) {
      await keys.lose(person);
      await db
        .updateTable('outbox')
        .set({ body: null })
        .where('state', '=', 2)
        .where('case_id', 'in', (from) =>
          from.selectFrom('people').select('case_id').where('person', '=', cell(person)),
        )
        .execute();
    },
    async wordsOlderThan(before, limit) {
      const rows = await db
        .selectFrom('cases')
        .select('thread')
        .where('state', '=', 'settled')
        .where('last_at', '<', before)
        .where((is) =>
          is.exists(is.selectFrom('people').select('person').whereRef('people.case_id', '=', 'cases.id')),
        )
        .limit(limit)
        .execute();
      return rows.map(({ thread }) => uncell(thread));
    },

    async close() {
      if (riding) clearTimeout(riding);
      riding = null;
      await batches.drained();
      for (const [thread, held] of leases) {
        releases.set(held.id, held.until);
        leases.delete(thread);
      }
      await flushed();
      await batches.drained();
      if (riding) clearTimeout(riding);
      await db.destroy();
      await keys.close();
    },
  };

  async function change(
    id: string,
    set: { tries: number; next_try: number } | { state: number; why: string; body: null },
  ): Promise<void> {
    const at = placeOfMessage(id);
    if (!at) return;
    await db.updateTable('outbox').set(set).where('case_id', '=', at.caseId).where('n', '=', at.n).execute();
  }
}

/** A case's id, and the end of this instance's claim on its thread. */
interface Lease {
  readonly id: number;
  readonly until: number;
}

interface CaseRow {
  readonly id: number;
  readonly thread: string;
  readonly seq: number;
  readonly sent: number;
  readonly lease_owner: string | null;
  readonly lease_until: number;
}

const eventColumns = { case_id: 'number', seq: 'number', id: 'text', body: 'text', sealed: 'text' } as const;
const outboxColumns = { case_id: 'number', n: 'number', key: 'text', body: 'text', since: 'number' } as const;
const timerKeys = { case_id: 'number', key: 'text' } as const;
const timerColumns = { ...timerKeys, due: 'number', platform: 'text' } as const;
const peopleColumns = { person: 'text', case_id: 'number' } as const;
const headColumns = {
  id: 'number',
  seq: 'number',
  sent: 'number',
  state: 'text',
  last_at: 'number',
  until: 'number',
} as const;
const turnColumns = { case_id: 'number', inbound: 'text' } as const;
const messageKeys = { case_id: 'number', n: 'number' } as const;
const markColumns = { ...messageKeys, reference: 'text' } as const;
const releaseColumns = { id: 'number', until: 'number' } as const;

/** What a database's text cannot hold, a zero character or half of a surrogate pair, is written as JSON. */
const cell = (text: string): string =>
  text.isWellFormed() && !text.includes('\0') && !text.startsWith('"') ? text : JSON.stringify(text);
export const uncell = (text: string): string => (text.startsWith('"') ? JSON.parse(text) : text);

const placeOf = (thread: string, seq: number): string => `${thread}#${seq}`;

/** A question's message is kept once it was delivered, so that it can be changed; its id says so. */
const messageId = (caseId: number, n: number, keyed: boolean): string => `${caseId}.${n}${keyed ? '.q' : ''}`;
function placeOfMessage(id: string): { caseId: number; n: number; keyed: boolean } | null {
  const found = /^(\d+)\.(\d+)(\.q)?$/.exec(id);
  return found ? { caseId: Number(found[1]), n: Number(found[2]), keyed: found[3] !== undefined } : null;
}

const inboundRows = (
  turns: readonly JournalTurn[],
  cases: ReadonlyMap<string, CaseRow>,
): (readonly Cell[])[] =>
  turns.map(({ thread, inbound }) => [(cases.get(thread) as CaseRow).id, cell(inbound)]);

function matching(
  turns: readonly JournalTurn[],
  cases: ReadonlyMap<string, CaseRow>,
  rows: readonly { case_id: number; inbound: string }[],
): Set<JournalTurn> {
  const found = new Set(rows.map(({ case_id, inbound }) => JSON.stringify([case_id, inbound])));
  return new Set(
    turns.filter(({ thread, inbound }) =>
      found.has(JSON.stringify([(cases.get(thread) as CaseRow).id, cell(inbound)])),
    ),
  );
}
