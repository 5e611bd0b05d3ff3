import { Advice } from '../advice.ts';
import type { Columns } from '../journal/engine.ts';
import { journalSteps, keySteps } from '../journal/migrate.ts';
import { formatName, formatVersion } from './backup-format.ts';
import { counted, type Desk, mustBeThere } from './desk.ts';
import { fileArgument } from './file-argument.ts';
import { caseTables, keyTable } from './kept.ts';
import { type KeyStore, openKeyStore } from './key-store.ts';
import { snapshotOf } from './open-snapshot.ts';
import { sealMessages } from './outbox-words.ts';
import type { Row, Snapshot } from './snapshot.ts';
import { type Source, type Written, writeBackup } from './write-backup.ts';

/**
 * Backups, made while the desk runs: the cases in one file, people's keys in another. Neither alone shows what people
 * wrote. How the two, restoring and erasing hang together is told in `README.md` beside this file.
 */

const usage = `backup FILE          the cases, without the keys: what people wrote is unreadable in it
backup --keys FILE   the keys alone; keep them elsewhere, and not for long`;

/** Resolves to the exit code. Throws `Advice`. */
export async function backupCommand(args: readonly string[], desk: Desk): Promise<number> {
  const given = fileArgument(args);
  if (!given) {
    desk.err(usage);
    return 2;
  }
  if (given.keys) {
    const { rows } = await backupKeys(given.file, desk);
    desk.out(
      `${given.file}: ${counted(rows[keyTable.name] ?? 0, 'key')}. Keep it apart from the backups of the cases, and delete it when its days are over.`,
    );
    return 0;
  }
  const { rows, bytes, without } = await backupCases(given.file, desk);
  desk.out(
    `${given.file}: ${counted(rows.cases ?? 0, 'case')}, ${counted(rows.events ?? 0, 'event')}, ${Math.ceil(bytes / 1024)} kB.`,
  );
  if (without > 0)
    desk.out(
      `${counted(without, 'message')} on the way out had words in it that were erased: kept without them, and set aside.`,
    );
  return 0;
}

export interface BackedUp extends Written {
  /** Messages of which the words were left out. */
  readonly without: number;
}

/** One consistent picture of the cases. Throws `Advice`. */
export async function backupCases(file: string, desk: Desk): Promise<BackedUp> {
  const { journal, keys, now, err } = desk;
  mustBeThere(journal, 'journal');
  mustBeThere(keys, 'keys');
  const store = await openKeyStore(keys, now, err, false);
  try {
    const snapshot = await snapshotOf(journal);
    try {
      if (snapshot.step !== journalSteps.length) throw otherStep(snapshot.step);
      let without = 0;
      const sources = caseTables.map(({ name, columns, order }): Source => {
        const all = { table: name, columns };
        const pages = () => snapshot.pages(name, Object.keys(columns), order);
        if (name !== 'outbox') return { ...all, pages };
        return {
          table: name,
          columns: { ...columns, sealed: 'text' },
          pages: () => withoutWords(pages(), columns, snapshot, store, () => (without += 1)),
        };
      });
      const header = { ...formed, kind: 'cases' as const, step: snapshot.step, made: now() };
      const written = await writeBackup(
        file,
        { ...header, tables: sources.map(({ table }) => table) },
        sources,
      );
      return { ...written, without };
    } finally {
      await snapshot.close();
    }
  } finally {
    await store.close();
  }
}

/** The keys alone. Throws `Advice`. */
export async function backupKeys(file: string, { keys, now, err }: Desk): Promise<Written> {
  mustBeThere(keys, 'keys');
  const store = await openKeyStore(keys, now, err, false);
  const { name, columns } = keyTable;
  async function* pages(): AsyncGenerator<readonly Row[]> {
    for await (const rows of store.pages())
      yield rows.map(({ person, id, key, made }) => [person, id, key, made]);
  }
  try {
    const header = { ...formed, kind: 'keys' as const, step: keySteps.length, made: now(), tables: [name] };
    return await writeBackup(file, header, [{ table: name, columns, pages }]);
  } finally {
    await store.close();
  }
}

const formed = { format: formatName, version: formatVersion } as const;

/** The outbox with each body sealed in a column of its own, or left out and its message set aside. */
async function* withoutWords(
  pages: AsyncIterable<readonly Row[]>,
  columns: Columns,
  snapshot: Snapshot,
  store: KeyStore,
  dropped: () => void,
): AsyncGenerator<readonly Row[]> {
  const names = Object.keys(columns);
  const at = (name: string): number => names.indexOf(name);
  for await (const rows of pages) {
    const sealed = await sealMessages(
      rows.map((row) => ({
        caseId: row[at('case_id')] as number,
        n: row[at('n')] as number,
        body: row[at('body')] as string | null,
        since: row[at('since')] as number,
      })),
      snapshot,
      store,
    );
    yield rows.map((row, i): Row => {
      const one = [...row];
      // Another database's text may not hold every sign that a platform's message had.
      const why = one[at('why')];
      if (typeof why === 'string') one[at('why')] = why.toWellFormed().replaceAll('\0', '');
      const words = sealed[i] ?? null;
      if (words === null) return [...one, null];
      one[at('body')] = null;
      if (words !== 'erased') return [...one, words];
      dropped();
      one[at('state')] = 2;
      one[at('why')] ??= 'words in it were erased before it was backed up';
      return [...one, null];
    });
  }
}

const otherStep = (step: number): Advice =>
  new Advice(
    step > journalSteps.length
      ? `The journal is newer than this program (step ${step}; this program knows ${journalSteps.length}). Update the program, then make the backup.`
      : `The journal is older than this program (step ${step} of ${journalSteps.length}). Start the desk once, which brings it up to date, or make the backup with the program that runs on it.`,
  );
