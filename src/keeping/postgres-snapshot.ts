import pg from 'pg';
import { Advice } from '../advice.ts';
import { type Row, type Snapshot, selecting } from './snapshot.ts';

/** Rows fetched at once. */
const page = 1000;

/** One connection with one read-only transaction, whose first query says what all others see, and a cursor a table. */
export async function postgresSnapshot(url: string): Promise<Snapshot> {
  const client = new pg.Client({ connectionString: url, connectionTimeoutMillis: 10_000, types: numbers });
  // A connection that breaks is told of by the query that wants it.
  client.on('error', () => undefined);
  try {
    await client.connect();
  } catch (cause) {
    throw new Advice(`The journal's database cannot be reached: ${(cause as Error).message}.`);
  }
  try {
    const all = async (query: string): Promise<readonly Row[]> =>
      (await client.query<Row[]>({ text: query, rowMode: 'array' })).rows as unknown as Row[];
    await client.query('begin transaction isolation level repeatable read, read only');
    return {
      step: await stepIn(all),
      async *pages(table, columns, order) {
        await client.query(`declare kept no scroll cursor for ${selecting(table, columns, order)}`);
        for (;;) {
          const rows = await all(`fetch ${page} from kept`);
          yield rows;
          if (rows.length < page) break;
        }
        await client.query('close kept');
      },
      all,
      close: () => client.end(),
    };
  } catch (cause) {
    await client.end();
    throw cause;
  }
}

async function stepIn(all: (query: string) => Promise<readonly Row[]>): Promise<number> {
  const [book] = await all("select to_regclass('journal_steps') is not null");
  const [row] = book?.[0] ? await all('select max(number) from journal_steps') : [];
  if (typeof row?.[0] !== 'number')
    throw new Advice("There is no journal in the database: check the settings' address of it.");
  return row[0];
}

/** Counts and times are whole numbers far below 2^53. */
const numbers: pg.CustomTypesConfig = {
  getTypeParser: ((oid: number, format?: 'text' | 'binary') =>
    oid === pg.types.builtins.INT8
      ? Number
      : pg.types.getTypeParser(oid, format as 'text')) as typeof pg.types.getTypeParser,
};
