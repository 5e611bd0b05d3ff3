import { parseArgs } from 'node:util';
import type { Case, Event } from '../../shared/case.ts';
import { Advice } from '../advice.ts';
import { withoutPersonal } from '../core/personal.ts';
import { emptyCase, fold } from '../core/reduce.ts';
import type { Settings } from '../core/settings.ts';
import { deskId } from '../core/turn.ts';
import { openJournal } from '../journal/open-journal.ts';
import { digestOf } from '../learning/digest.ts';
import type { Learnt } from '../learning/learnt.ts';
import { sqlBook } from '../learning/sql-book.ts';
import type { Entry } from '../learning/store.ts';
import { type Desk, mustBeThere } from './desk.ts';
import { programVersion, ReportCommunity, type ReportHeader, reportName, sumOf } from './report-format.ts';

/** A case as lines that can be sent to whoever looks for a mistake in the program; `replay` reads them. */

const usage = `report THREAD            a case for a report of a mistake: no words, names, pictures or ids of people
report THREAD --words    with all of them`;

export interface ReportDesk extends Desk {
  readonly settings: Settings;
}

/** Resolves to the exit code. Throws `Advice`. */
export async function reportCommand(args: readonly string[], desk: ReportDesk): Promise<number> {
  const given = options(args);
  if (!given) {
    desk.err(usage);
    return 2;
  }
  const { thread, words } = given;
  const { journal: place, keys, now, err } = desk;
  mustBeThere(place, 'journal');
  mustBeThere(keys, 'keys');
  const journal = await openJournal({ journal: place, keys, now, report: err });
  try {
    const { events } = await journal.read(thread);
    if (events.length === 0)
      throw new Advice(
        `There is no case in the thread “${thread}”. Say it as it stands in the log, such as discord:100:17; in the terminal it is terminal/NAME, or terminal/case.`,
      );
    if (words)
      err(
        'This report holds what people wrote, their names and their pictures. Send it only to whom they would send it.',
      );
    const book = await sqlBook(journal.db).read(0);
    for (const line of reportOf(thread, events, words, desk, book)) desk.out(line);
    return 0;
  } finally {
    await journal.close();
  }
}

function options(args: readonly string[]): { readonly thread: string; readonly words: boolean } | null {
  try {
    const { values, positionals } = parseArgs({
      args: [...args],
      allowPositionals: true,
      options: { words: { type: 'boolean' } },
    });
    const [thread, more] = positionals;
    return thread && more === undefined ? { thread, words: values.words === true } : null;
  } catch {
    return null;
  }
}

export function reportOf(
  thread: string,
  events: readonly Event[],
  words: boolean,
  { settings, now }: Pick<ReportDesk, 'settings' | 'now'>,
  book: readonly Entry[] = [],
): string[] {
  const told = words ? events : nameless(events);
  const called = words ? thread : 'thread';
  const kase = fold(emptyCase(called), told);
  const header: ReportHeader = {
    format: reportName,
    version: 1,
    program: programVersion(),
    made: now(),
    thread: called,
    words,
    flow: kase.flow === null ? null : { flow: kase.flow, version: kase.version, follows: kase.follows },
    community: onlyNeeded(settings),
    ...learntIn(kase, book),
    budget: settings.budget,
  };
  return [header, ...told, { case: sumOf(kase) }].map((line) => JSON.stringify(line));
}

function learntIn({ numbers }: Case, book: readonly Entry[]): { learnt?: Learnt } {
  if (numbers === 'file') return {};
  for (const { decision } of book.toReversed())
    if (decision.kind === 'accepted' && digestOf(decision.learnt) === numbers)
      return { learnt: { ...decision.learnt, by: '' } };
  return {};
}

function onlyNeeded({ community }: Settings): ReportCommunity {
  const needed = Object.keys(ReportCommunity.shape);
  return ReportCommunity.parse(
    Object.fromEntries(Object.entries(community).filter(([name]) => needed.includes(name))),
  );
}

/** A platform's id is a name, too: people are numbered as they come. */
function nameless(events: readonly Event[]): Event[] {
  const numbers = new Map<string, string>([[deskId, deskId]]);
  const called = (person: string): string => {
    const known = numbers.get(person) ?? `person ${numbers.size}`;
    numbers.set(person, known);
    return known;
  };
  return events.map((event) => {
    const one = { ...withoutPersonal(event), by: called(event.by) };
    return 'person' in one ? { ...one, person: called(one.person) } : one;
  });
}
