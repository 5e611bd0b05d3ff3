import { z } from 'zod';

/**
 * A backup is gzip of lines of JSON: a header; for each table a line that names it and its columns, then its rows as
 * lists of cells; and a last line with how many rows there are and the SHA-256 of all bytes before it, so that a file
 * that was cut off or damaged is noticed.
 */
export const formatName = 'mendthread backup';
export const formatVersion = 1;

export const BackupKind = z.enum(['cases', 'keys']);
export type BackupKind = z.infer<typeof BackupKind>;

/** What every version's header has. */
export const AnyHeader = z.looseObject({ format: z.literal(formatName), version: z.number().int() });

const name = z.string().regex(/^[a-z_]{1,40}$/);

export const Header = z.strictObject({
  format: z.literal(formatName),
  version: z.literal(formatVersion),
  kind: BackupKind,
  /** Of the journal's tables, or of the keys'. */
  step: z.number().int().positive(),
  /** Milliseconds. */
  made: z.number().int(),
  tables: z.array(name),
});
export type Header = z.infer<typeof Header>;

export const TableLine = z.strictObject({
  table: name,
  columns: z.record(name, z.enum(['number', 'text'])),
});
export type TableLine = z.infer<typeof TableLine>;

export const EndLine = z.strictObject({
  end: z.record(name, z.number().int().nonnegative()),
  sha256: z.string().regex(/^[0-9a-f]{64}$/),
});
export type EndLine = z.infer<typeof EndLine>;
