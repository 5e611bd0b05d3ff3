import { Kysely, sql } from 'kysely';
import type { Event } from '../../shared/case.ts';
import type { Outbound } from '../../shared/outbound.ts';
import { createBatches } from './batch.ts';
import type { Engine } from './engine.ts';
import {
  type Appended,
  type Journal,
  type JournalTurn,
  claimAge as usualClaimAge,
  type Waiting,
  type Which,
} from './journal.ts';
import type { Keys } from './keys.ts';
import { journalSteps, migrate } from './migrate.ts';
import { cell, messageId, placeOf, placeOfMessage, uncell } from './names.ts';
import { keyIdOf, ownerOf, type Parts, split, whole } from './seal.ts';
import type { Database, Tables } from './tables.ts';
import { timeIds } from './time-id.ts';
import { type Lease, turnWriter } from './turn-writer.ts';

/**
 * The journal in a database: what is read and claimed, and what waits to be written together (`turn-writer.ts` writes it).
 * What the databases do differently is in `engine.ts`.
 */
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

/** Turns in one transaction. More would write a little faster, and let everything else wait longer. */
const batchSize = 24;
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

  const { writeMarks, lockedCases, writeReleases, writeTurns } = turnWriter({
    engine,
    owner,
    now,
    newId,
    newLease,
  });

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
    async latest(place) {
      // A slash is followed by "0" in the order of characters, so this is all that begins with the place and a slash.
      const row = await db
        .selectFrom('cases')
        .select(['thread', 'state'])
        .where('seq', '>', 0)
        .where((is) =>
          is.or([
            is('thread', '=', cell(place)),
            is.and([is('thread', '>', `${cell(place)}/`), is('thread', '<', `${cell(place)}0`)]),
          ]),
        )
        .orderBy('id', 'desc')
        .limit(1)
        .executeTakeFirst();
      return row ? { thread: uncell(row.thread), settled: row.state === 'settled' } : null;
    },
    async withPeople(platform, limit) {
      const rows = await db
        .selectFrom('cases')
        .select('thread')
        .where('state', '=', 'with people')
        .where('platform', '=', cell(platform))
        .orderBy('id')
        .limit(limit)
        .execute();
      return rows.map(({ thread }) => uncell(thread));
    },
    async settled(after, limit) {
      const rows = await db
        .selectFrom('cases')
        .select(['thread', 'id'])
        .where('state', '=', 'settled')
        .where('id', '>', after ?? 0)
        .orderBy('id')
        .limit(limit)
        .execute();
      if (rows.length === 0) return [];
      const told = await db
        .selectFrom('events')
        .select(['case_id', 'body'])
        .where(
          'case_id',
          'in',
          rows.map(({ id }) => id),
        )
        .orderBy('case_id')
        .orderBy('seq')
        .execute();
      const events = Map.groupBy(told, ({ case_id }) => case_id);
      return rows.map(({ thread, id }) => ({
        thread: uncell(thread),
        mark: id,
        events: (events.get(id) ?? []).map(({ body }) => JSON.parse(body) as Event),
      }));
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
