import { randomBytes } from 'node:crypto';
import { createWriteStream } from 'node:fs';
import { rename, rm } from 'node:fs/promises';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { stringify } from 'csv-stringify';
import { Advice } from '../advice.ts';
import { codeOf } from '../files/text-file.ts';

/**
 * Writes rows to `file` as they come: RFC 4180 with a header, one row held at a time. What a table program would take for a
 * formula gets an apostrophe in front. The file takes its name once it is whole; until then an older one stays. Throws
 * `Advice` where the place cannot be written to; whatever `rows` throws comes through.
 */
export async function writeCsv<C extends string>(
  file: string,
  columns: readonly C[],
  rows: AsyncIterable<{ readonly [column in C]: string | number }>,
): Promise<void> {
  const partial = `${file}.${randomBytes(4).toString('hex')}.partial`;
  try {
    await pipeline(
      Readable.from(rows),
      stringify({ header: true, columns: [...columns], escape_formulas: true, record_delimiter: 'windows' }),
      createWriteStream(partial, { flags: 'wx' }),
    );
    await rename(partial, file);
  } catch (cause) {
    await rm(partial, { force: true });
    const code = codeOf(cause);
    if (ofFiles.test(code)) throw new Advice(`${file} cannot be written (${code}). Nothing was written.`);
    throw cause;
  }
}

/** The place, not the data, is what went wrong. */
const ofFiles = /^E(NOENT|ACCES|PERM|NOSPC|ROFS|DQUOT|ISDIR|NOTDIR|IO|FBIG|NAMETOOLONG)$/;
