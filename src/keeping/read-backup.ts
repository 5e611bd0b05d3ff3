import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { createGunzip } from 'node:zlib';
import { Advice } from '../advice.ts';
import { codeOf } from '../files/text-file.ts';
import type { Cell, Columns } from '../journal/engine.ts';
import { AnyHeader, type BackupKind, EndLine, formatVersion, Header, TableLine } from './backup-format.ts';
import type { Row } from './snapshot.ts';

/** What a backup says, in its order. The `end` comes only when everything before it was whole. */
export type Part =
  | { readonly kind: 'header'; readonly header: Header }
  | {
      readonly kind: 'rows';
      readonly table: string;
      readonly columns: Columns;
      readonly rows: readonly Row[];
    }
  | { readonly kind: 'end'; readonly rows: Readonly<Record<string, number>>; readonly sha256: string };

/** A line is an event or a message, never so long. */
const longestLine = 64 * 1024 * 1024;
const newline = 10;

/** Reads a backup with constant memory. Throws `Advice`: no backup, a newer one, cut off, damaged. */
export async function* readBackup(file: string): AsyncGenerator<Part> {
  const hash = createHash('sha256');
  const counts: Record<string, number> = {};
  let header: Header | null = null;
  let table: TableLine | null = null;
  let end: EndLine | null = null;
  let rows: Row[] = [];
  let number = 0;

  const some = function* (): Generator<Part> {
    if (table && rows.length > 0) yield { kind: 'rows', table: table.table, columns: table.columns, rows };
    rows = [];
  };
  for await (const lines of linesOf(file)) {
    for (const bytes of lines) {
      number += 1;
      const said = parsed(bytes, file, number);
      if (end) throw damaged(file, `something follows its last line`);
      if (!header) {
        header = headerIn(said, file);
        yield { kind: 'header', header };
      } else if (Array.isArray(said)) {
        if (!table || !fits(said, table.columns)) throw damaged(file, `line ${number} fits no table`);
        rows.push(said as Cell[]);
        counts[table.table] = (counts[table.table] ?? 0) + 1;
      } else if (EndLine.safeParse(said).success) {
        end = EndLine.parse(said);
        continue;
      } else {
        yield* some();
        table = tableIn(said, header, file, number);
        counts[table.table] = 0;
      }
      hash.update(bytes).update('\n');
    }
    yield* some();
  }
  if (!header || !end) throw damaged(file, 'it is cut off: its last line is missing');
  const sha256 = hash.digest('hex');
  if (end.sha256 !== sha256) throw damaged(file, 'its bytes are not those that were written');
  for (const name of new Set([...Object.keys(counts), ...Object.keys(end.end), ...header.tables]))
    if (counts[name] !== end.end[name]) throw damaged(file, `rows of ${name} are missing`);
  yield { kind: 'end', rows: end.end, sha256 };
}

/** Reads all of it and keeps nothing: what it is, and that it is whole. Throws `Advice`. */
export async function checkBackup(
  file: string,
): Promise<{ readonly header: Header; readonly sha256: string }> {
  let header: Header | null = null;
  for await (const part of readBackup(file)) {
    if (part.kind === 'header') header = part.header;
    if (part.kind === 'end' && header) return { header, sha256: part.sha256 };
  }
  throw damaged(file, 'it is empty');
}

/** What stands under this name now; null: nothing. */
export async function kindOf(file: string): Promise<BackupKind | 'other' | null> {
  try {
    for await (const lines of linesOf(file)) {
      const found = lines[0] && Header.safeParse(JSON.parse(lines[0].toString('utf8')));
      return found?.success ? found.data.kind : 'other';
    }
    return 'other';
  } catch (cause) {
    return cause instanceof Advice && cause.cause === 'ENOENT' ? null : 'other';
  }
}

function headerIn(said: unknown, file: string): Header {
  const any = AnyHeader.safeParse(said);
  if (!any.success) throw new Advice(`${file} is no backup of this desk. Name a file that "backup" wrote.`);
  if (any.data.version > formatVersion)
    throw new Advice(
      `${file} was written by a newer program (form ${any.data.version} of a backup; this one reads ${formatVersion}). Update the program, then restore it.`,
    );
  const header = Header.safeParse(said);
  if (!header.success) throw damaged(file, 'its first line is not what was written');
  return header.data;
}

function tableIn(said: unknown, header: Header, file: string, number: number): TableLine {
  const line = TableLine.safeParse(said);
  if (!line.success || !header.tables.includes(line.data.table))
    throw damaged(file, `line ${number} is neither row nor table`);
  return line.data;
}

const fits = (row: readonly unknown[], columns: Columns): boolean => {
  const kinds = Object.values(columns);
  return (
    row.length === kinds.length &&
    row.every(
      (cell, i) =>
        cell === null || (kinds[i] === 'number' ? Number.isSafeInteger(cell) : typeof cell === 'string'),
    )
  );
};

function parsed(bytes: Buffer, file: string, number: number): unknown {
  try {
    return JSON.parse(bytes.toString('utf8'));
  } catch {
    throw number === 1
      ? new Advice(`${file} is no backup of this desk. Name a file that "backup" wrote.`)
      : damaged(file, `line ${number} cannot be read`);
  }
}

/** Whole lines, as they come out of the file. */
async function* linesOf(file: string): AsyncGenerator<readonly Buffer[]> {
  const source = createReadStream(file);
  const plain = createGunzip({ chunkSize: 256 * 1024 });
  source.on('error', (cause) => plain.destroy(cause));
  let left: Buffer = Buffer.alloc(0);
  try {
    for await (const chunk of source.pipe(plain) as AsyncIterable<Buffer>) {
      const bytes = left.length === 0 ? chunk : Buffer.concat([left, chunk]);
      const lines: Buffer[] = [];
      let from = 0;
      for (let to = bytes.indexOf(newline); to >= 0; to = bytes.indexOf(newline, from)) {
        lines.push(bytes.subarray(from, to));
        from = to + 1;
      }
      left = bytes.subarray(from);
      if (left.length > longestLine) throw damaged(file, 'a line of it has no end');
      yield lines;
    }
  } catch (cause) {
    if (cause instanceof Advice) throw cause;
    const code = codeOf(cause);
    if (code === 'Z_BUF_ERROR') throw damaged(file, 'it is cut off');
    if (code.startsWith('Z_')) throw damaged(file, 'it cannot be unpacked');
    if (cause instanceof Error && 'syscall' in cause)
      throw new Advice(`${file} cannot be read (${code}). Check its name.`, { cause: code });
    throw cause;
  } finally {
    source.destroy();
  }
  if (left.length > 0) throw damaged(file, 'it is cut off');
}

const damaged = (file: string, what: string): Advice =>
  new Advice(`${file} is damaged: ${what}. Nothing of it was restored. Take another backup.`);
