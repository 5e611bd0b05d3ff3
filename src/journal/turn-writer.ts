import { sql, type Transaction } from 'kysely';
import type { Event } from '../../shared/case.ts';
import { keyOf } from '../../shared/outbound.ts';
import type { Cell, Engine } from './engine.ts';
import { type Appended, type JournalTurn, type Mark, platformOf, type Waiting } from './journal.ts';
import { cell, messageId, placeOfMessage } from './names.ts';
import { ownerOf, type Parts } from './seal.ts';
import type { Tables } from './tables.ts';
import { timersOf } from './turn-timers.ts';

/** What one transaction writes: turns of different threads, what was delivered, and threads given back. */
export interface TurnWriter {
  /** Messages that were delivered, by id, with the platform's reference. */
  writeMarks(trx: Transaction<Tables>, delivered: ReadonlyMap<string, string>): Promise<void>;
  lockedCases(
    trx: Transaction<Tables>,
    turns: readonly JournalTurn[],
    released: ReadonlyMap<number, number>,
  ): Promise<Map<string, CaseRow>>;
  writeReleases(trx: Transaction<Tables>, released: ReadonlyMap<number, number>): Promise<void>;
  /** One turn a thread. `granted` is told of the threads in which this instance delivers from the commit on. */
  writeTurns(
    trx: Transaction<Tables>,
    turns: readonly JournalTurn[],
    parts: ReadonlyMap<Event, Parts>,
    cases: ReadonlyMap<string, CaseRow>,
    granted: Map<string, Lease>,
  ): Promise<Appended[]>;
}

export interface TurnWriterOptions {
  readonly engine: Engine;
  readonly owner: string;
  readonly now: () => number;
  readonly newId: () => string;
  readonly newLease: () => number;
}

export function turnWriter({ engine, owner, now, newId, newLease }: TurnWriterOptions): TurnWriter {
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
        const key = keyOf(outbound);
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

  return { writeMarks, lockedCases, writeReleases, writeTurns };
}

/** A case's id, and the end of this instance's claim on its thread. */
export interface Lease {
  readonly id: number;
  readonly until: number;
}

export interface CaseRow {
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
