import type { ColumnType, Generated, Kysely } from 'kysely';

/** The tables as queries see them; made and changed by `migrations/` alone. Times are milliseconds since 1970-01-01 UTC. */
export interface Tables {
  cases: {
    id: Generated<number>;
    thread: string;
    platform: string;
    /** Number of the last event. */
    seq: number;
    /** Number of the last message written to the outbox. */
    sent: number;
    state: string;
    /** Of the last event. */
    last_at: number;
    /** Who delivers in this thread, and until when that holds. */
    lease_owner: string | null;
    lease_until: number;
  };
  events: {
    case_id: number;
    seq: number;
    id: string;
    /** The event as JSON text, its personal text left empty. */
    body: string;
    /** The personal text, under its person's key (`seal.ts`). */
    sealed: string | null;
  };
  /** Inbound messages taken in. */
  turns: { case_id: number; inbound: string };
  outbox: {
    case_id: number;
    n: number;
    /** Of a question, so that it can be changed later. */
    key: string | null;
    body: string | null;
    reference: string | null;
    tries: ColumnType<number, number | undefined, number>;
    next_try: ColumnType<number, number | undefined, number>;
    since: number;
    /** 0 waiting, 1 delivered, 2 set aside. */
    state: ColumnType<number, number | undefined, number>;
    why: string | null;
  };
  timers: {
    case_id: number;
    key: string;
    due: number;
    platform: string;
    claimed_until: ColumnType<number, number | undefined, number>;
  };
  /** Whose words a case holds. */
  people: { person: string; case_id: number };
  /** What people decided about learning, numbered without gaps; JSON text. See `src/learning/store.ts`. */
  learning: { n: number; body: string };
  /** What may be lost: see `src/cache/`. */
  cache: { key: string; value: string; expires: number | null };
}

/** Keys that make personal text readable, kept apart from the cases: see `keys.ts`. */
export interface KeyTables {
  person_keys: { person: string; id: string; key: string; made: number };
}

export type Database = Kysely<Tables>;
