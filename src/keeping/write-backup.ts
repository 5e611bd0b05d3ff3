import { createHash, randomBytes } from 'node:crypto';
import { createWriteStream } from 'node:fs';
import { open, rename, rm, stat } from 'node:fs/promises';
import { dirname } from 'node:path';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { createGzip } from 'node:zlib';
import { Advice } from '../advice.ts';
import { codeOf } from '../files/text-file.ts';
import type { Columns } from '../journal/engine.ts';
import type { Header } from './backup-format.ts';
import { kindOf } from './read-backup.ts';
import type { Row } from './snapshot.ts';

/** Rows of one table, a page at a time. */
export interface Source {
  readonly table: string;
  readonly columns: Columns;
  pages(): AsyncIterable<readonly Row[]>;
}

export interface Written {
  /** By table. */
  readonly rows: Readonly<Record<string, number>>;
  readonly bytes: number;
}

/**
 * Writes a backup under a temporary name beside `file`, readable by its owner alone, and renames it once it is whole and on
 * the disk. Throws `Advice` when `file` is something else than an older backup of the same kind.
 */
export async function writeBackup(
  file: string,
  header: Header,
  sources: readonly Source[],
): Promise<Written> {
  await mayBeReplaced(file, header.kind);
  const partial = `${file}.${randomBytes(4).toString('hex')}.partial`;
  const rows: Record<string, number> = {};
  try {
    await pipeline(
      Readable.from(lines(header, sources, rows)),
      createGzip(),
      createWriteStream(partial, { mode: 0o600, flags: 'wx', flush: true }),
    );
    const { size } = await stat(partial);
    await rename(partial, file);
    await settled(dirname(file));
    return { rows, bytes: size };
  } catch (cause) {
    await rm(partial, { force: true });
    if (ofFiles.test(codeOf(cause)))
      throw new Advice(`The backup cannot be written to ${file} (${codeOf(cause)}). Nothing was written.`);
    throw cause;
  }
}

/** The place, not the database, is what went wrong. */
const ofFiles = /^E(NOENT|ACCES|PERM|NOSPC|ROFS|DQUOT|ISDIR|NOTDIR|IO|FBIG|NAMETOOLONG)$/;

async function* lines(
  header: Header,
  sources: readonly Source[],
  rows: Record<string, number>,
): AsyncGenerator<string> {
  const hash = createHash('sha256');
  const hashed = (text: string): string => {
    hash.update(text);
    return text;
  };
  yield hashed(`${JSON.stringify(header)}\n`);
  for (const { table, columns, pages } of sources) {
    rows[table] = 0;
    yield hashed(`${JSON.stringify({ table, columns })}\n`);
    for await (const page of pages()) {
      if (page.length === 0) continue;
      rows[table] += page.length;
      yield hashed(page.map((row) => `${JSON.stringify(row)}\n`).join(''));
    }
  }
  yield `${JSON.stringify({ end: rows, sha256: hash.digest('hex') })}\n`;
}

/** Keys in the file of the cases would make an erasure worth nothing. */
async function mayBeReplaced(file: string, kind: Header['kind']): Promise<void> {
  const there = await kindOf(file);
  if (there === null || there === kind) return;
  throw new Advice(
    there === 'other'
      ? `${file} is there already and is no backup. Name another file.`
      : `${file} is a backup of ${there}, and this one is of ${kind}. Keep them in files of their own, and best in places of their own: whoever has both can read what people wrote.`,
  );
}

/** The new name is on the disk, too. */
async function settled(dir: string): Promise<void> {
  const handle = await open(dir);
  try {
    await handle.sync();
  } finally {
    await handle.close();
  }
}
