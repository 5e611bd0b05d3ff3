import type { Dialect, RawBuilder } from 'kysely';

/** What a database does differently, declared, so that the queries in `sql.ts` are written once. */
export interface Engine {
  readonly name: 'sqlite' | 'postgres';
  readonly dialect: Dialect;
  /** Column types of the tables. */
  readonly types: { readonly number: 'integer' | 'bigint'; readonly serial: string };
  /** Rows handed over in one parameter or one a column, as a table to select from. */
  rows(columns: Columns, rows: readonly (readonly Cell[])[]): RawBuilder<unknown>;
  /** `list` as the right side of an `in`. */
  among(list: readonly string[]): RawBuilder<unknown>;
  /** After a select: lock what was found until the end of the transaction. */
  readonly lockRows: RawBuilder<unknown>;
  /** The same, leaving out what somebody else has locked. */
  readonly skipLocked: RawBuilder<unknown>;
  /** Waits until nobody else changes the tables, until the end of the transaction. */
  readonly lockSchema: RawBuilder<unknown> | null;
  /** Turns written at the same time, each in its own transaction. */
  readonly writers: number;
  /** True for a failure that goes away by trying again: a deadlock, a lost connection, a restarting server. */
  passes(cause: unknown): boolean;
}

export type Cell = string | number | null;
export type Columns = Readonly<Record<string, 'number' | 'text'>>;
