import { Advice } from '../advice.ts';
import { deskId } from '../core/turn.ts';
import type { Journal } from '../journal/journal.ts';
import { openJournal } from '../journal/open-journal.ts';
import { happen } from './again.ts';
import { counted, type Desk, dated, mustBeThere } from './desk.ts';
import { erasureId, erasuresOf } from './erasure.ts';

/**
 * Takes a person's words, names and pictures out of everything: of the journal at once, and of the backups once the last
 * backup of keys that holds this person's key is gone (`README.md` beside this file). What counts stays; but nothing is learnt
 * any more from the person's own cases.
 */

const usage = 'erase person ID      make everything this person wrote unreadable';

export interface EraseDesk extends Desk {
  /** Removes the snapshot of a case from the cache, or says that it may still be there. */
  forgetCached(thread: string): Promise<'gone' | 'unsure'>;
  /** How long backups of keys are kept. */
  readonly keyBackupDays: number;
  /** After how long a settled case loses its words. */
  readonly retentionDays: number;
}

const day = 24 * 60 * 60_000;

/** Resolves to the exit code: 1 when something is left to do. Throws `Advice`. */
export async function eraseCommand(args: readonly string[], desk: EraseDesk): Promise<number> {
  const [what, person, more] = args;
  if (what !== 'person' || !person || more !== undefined) {
    desk.err(usage);
    return 2;
  }
  mustBeThere(desk.journal, 'journal');
  mustBeThere(desk.keys, 'keys');
  const { journal: place, keys, now, err } = desk;
  const journal = await openJournal({ journal: place, keys, now, report: err });
  try {
    const erased = await erase(journal, person, desk);
    if (erased.known.length === 0)
      throw new Advice(
        `No case holds words of “${person}”, and a key of theirs, if there was one, is lost. If there should be some: an id is written as the platform's adapter writes it; "report THREAD --words" shows those of a case.`,
      );
    for (const line of words(person, erased, desk)) desk.out(line);
    return erased.unsure.length === 0 ? 0 : 1;
  } finally {
    await journal.close();
  }
}

export interface Erased {
  /** Threads whose case says so now, for the first time. */
  readonly touched: readonly string[];
  /** Those and the ones of earlier erasures of this person. */
  readonly known: readonly string[];
  /** Of those, where a snapshot in the cache may still hold words. */
  readonly unsure: readonly string[];
}

/**
 * The key first: from then on nothing can be read. Then each case says that it happened, which makes running desks read it
 * anew; then the cache. After a crash anywhere, running it again does the rest.
 */
export async function erase(
  journal: Journal,
  person: string,
  { now, forgetCached }: Pick<EraseDesk, 'now' | 'forgetCached'>,
): Promise<Erased> {
  const at = now();
  const before = await journal.threadsOf(person);
  await journal.forget(person);
  const threads = new Set([...before, ...(await journal.threadsOf(person))]);
  const touched: string[] = [];
  for (const thread of threads) {
    const done = await happen(journal, thread, erasureId(person, at), (kase) =>
      kase.asker === person
        ? { kind: 'forgotten', by: deskId, at }
        : { kind: 'erased', by: deskId, at, person },
    );
    if (done) touched.push(thread);
  }
  // What the person said while this ran has a new key.
  await journal.forget(person);
  const known = [...new Set([...touched, ...(await journal.takenIn(erasuresOf(person)))])];
  const unsure: string[] = [];
  for (const thread of known) if ((await forgetCached(thread)) === 'unsure') unsure.push(thread);
  return { touched, known, unsure };
}

function words(
  person: string,
  { touched, known, unsure }: Erased,
  { now, keyBackupDays, retentionDays }: EraseDesk,
): string[] {
  const earlier = known.length - touched.length;
  const until = dated(now() + keyBackupDays * day);
  return [
    `What “${person}” wrote, is called and sent is unreadable: ${counted(touched.length, 'case')} touched${earlier > 0 ? `, ${earlier} erased before` : ''}.`,
    `With a backup of keys made before now, backups can still show it: until ${until}, if those are deleted after ${counted(keyBackupDays, 'day')}. Whoever restores one of them has to erase this person again.`,
    `What others wrote about this person is theirs. It goes ${counted(retentionDays, 'day')} after the last word in a settled case.`,
    ...(unsure.length > 0
      ? [
          `The cache did not answer, and may hold words of ${counted(unsure.length, 'case')} until they expire there: ${unsure.join(', ')}. Run this again when the cache can be reached.`,
        ]
      : []),
  ];
}
