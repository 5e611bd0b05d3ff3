import { DatabaseSync } from 'node:sqlite';
import { Advice } from '../advice.ts';
import { type Row, type Snapshot, selecting } from './snapshot.ts';

/** Rows between two turns of the event loop: the desk may be in this very process. */
const page = 500;

/**
 * A connection of its own with a deferred read transaction: under write-ahead logging it sees the file as it stood at its
 * first read, and writers do not wait for it.
 */
export async function sqliteSnapshot(file: string): Promise<Snapshot> {
  const database = opened(file);
  try {
    database.exec('begin');
    const rows = (query: string) => {
      const statement = database.prepare(query);
      statement.setReturnArrays(true);
      return statement;
    };
    const all = (query: string): readonly Row[] => rows(query).all() as unknown as Row[];
    return {
      step: stepIn(all, file),
      async *pages(table, columns, order) {
        let few: Row[] = [];
        for (const row of rows(selecting(table, columns, order)).iterate() as unknown as Iterable<Row>) {
          few.push(row);
          if (few.length < page) continue;
          yield few;
          few = [];
          await new Promise(setImmediate);
        }
        yield few;
      },
      all: async (query) => all(query),
      close: async () => database.close(),
    };
  } catch (cause) {
    database.close();
    throw cause;
  }
}

function opened(file: string): DatabaseSync {
  try {
    return new DatabaseSync(file, { readOnly: true, timeout: 10_000 });
  } catch (cause) {
    throw new Advice(`The journal ${file} cannot be opened: ${(cause as Error).message}.`);
  }
}

function stepIn(all: (query: string) => readonly Row[], file: string): number {
  const [book] = all("select 1 from sqlite_master where name = 'journal_steps'");
  const [row] = book ? all('select max(number) from journal_steps') : [];
  if (typeof row?.[0] !== 'number') throw new Advice(`${file} is no journal of this desk.`);
  return row[0];
}
