import type { Cell } from '../journal/engine.ts';

/** A journal as it stood at one moment, read past the desk that goes on writing. It holds up no write. */
export interface Snapshot {
  /** The step of its tables. */
  readonly step: number;
  /** A table, a page at a time; cells in the order of `columns`. */
  pages(table: string, columns: readonly string[], order: readonly string[]): AsyncIterable<readonly Row[]>;
  /** A small answer. */
  all(query: string): Promise<readonly Row[]>;
  close(): Promise<void>;
}

export type Row = readonly Cell[];

/** One query for one table, the same in both databases. */
export function selecting(table: string, columns: readonly string[], order: readonly string[]): string {
  const list = (names: readonly string[]): string => names.map((name) => `"${name}"`).join(', ');
  return `select ${list(columns)} from "${table}"${order.length > 0 ? ` order by ${list(order)}` : ''}`;
}
