import { openJournal } from '../../src/journal/open-journal.ts';

/** A program of its own that opens the journal in the folder named, and closes it. */
const dir = process.argv[2] as string;
const journal = await openJournal({
  journal: { kind: 'sqlite', file: `${dir}/desk.db` },
  keys: { kind: 'sqlite', file: `${dir}/desk-keys.db` },
  report: console.error,
});
console.log((await journal.read('t')).events.length);
await journal.close();
