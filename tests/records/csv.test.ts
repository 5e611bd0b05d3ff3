import { mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parse } from 'csv-parse/sync';
import fc from 'fast-check';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { Advice } from '../../src/advice.ts';
import { writeCsv } from '../../src/records/csv.ts';

let dir = '';
beforeEach(async () => {
  dir = await mkdtemp(join(tmpdir(), 'csv-'));
});
afterEach(() => rm(dir, { recursive: true, force: true }));

type Row = { readonly a: string | number; readonly b: string | number };
async function* each(rows: readonly Row[]) {
  yield* rows;
}
const text = async (rows: readonly Row[]): Promise<string> => {
  const file = join(dir, 'rows.csv');
  await writeCsv(file, ['a', 'b'], each(rows));
  return readFile(file, 'utf8');
};

test('fields are quoted and lines end as RFC 4180 says (section 2, rules 1, 3, 5 to 7)', async () => {
  expect(await text([{ a: 'plain', b: 'with, comma' }])).toBe('a,b\r\nplain,"with, comma"\r\n');
  expect(await text([{ a: 'say "now"', b: 'two\r\nlines' }])).toBe('a,b\r\n"say ""now""","two\r\nlines"\r\n');
});

test('there is a header also where there is nothing else', async () => {
  expect(await text([])).toBe('a,b\r\n');
});

test('a general reader gives back what was written, but for the apostrophe before formulas', async () => {
  const field = fc.oneof(fc.string(), fc.stringMatching(/^[=+\-@\t\r\n"', ;a-z0-9]{0,12}$/));
  await fc.assert(
    fc.asyncProperty(fc.array(fc.record({ a: field, b: field }), { maxLength: 8 }), async (rows) => {
      // Signs as OWASP lists them for CSV injection, narrow and wide.
      const guarded = (words: string) => (/^[=+\-@\t\r＝＋－＠]/.test(words) ? `'${words}` : words);
      expect(parse(await text(rows), { columns: true })).toEqual(
        rows.map(({ a, b }) => ({ a: guarded(a), b: guarded(b) })),
      );
    }),
    { numRuns: 150 },
  );
});

test('numbers stay numbers, below zero too', async () => {
  expect(await text([{ a: -3, b: 4.5 }])).toBe('a,b\r\n-3,4.5\r\n');
});

test('when the rows break off, the older file stays and nothing half lies beside it', async () => {
  const file = join(dir, 'rows.csv');
  await writeFile(file, 'older');
  async function* broken() {
    yield { a: 1, b: 2 };
    throw new Error('the journal is gone');
  }
  await expect(writeCsv(file, ['a', 'b'], broken())).rejects.toThrow('the journal is gone');
  expect(await readFile(file, 'utf8')).toBe('older');
  expect(await readdir(dir)).toEqual(['rows.csv']);
});

test('a place that cannot be written to is said as advice', async () => {
  await expect(writeCsv(join(dir, 'nowhere/rows.csv'), ['a', 'b'], each([]))).rejects.toThrow(Advice);
});
