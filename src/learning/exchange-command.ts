import { createHash } from 'node:crypto';
import { writeFile } from 'node:fs/promises';
import { Advice } from '../advice.ts';
import { tablesOf } from '../core/step.ts';
import { formatProblem } from '../files/file-problem.ts';
import { codeOf, readText } from '../files/text-file.ts';
import { counted } from '../keeping/desk.ts';
import { printable } from '../keeping/printable.ts';
import { decide, flowOf, type LearntDesk, tallied } from './decide.ts';
import { decided } from './decided.ts';
import { dayOf, exportCounts, namesIn, readExchange } from './exchange.ts';

/** Counts to other communities and from them. */

/** Of one flow; null: of all that have cases. `out`: a file; none: in the terminal. Throws `Advice`. */
export async function exportTo(one: string | null, out: string | undefined, desk: LearntDesk): Promise<void> {
  const known = decided(await desk.book.read(0));
  const tally = await tallied(known, desk);
  const flows =
    one === null
      ? desk.flows.map(({ flow }) => flow).filter((flow) => tally.flows.has(flow))
      : [flowOf(one, desk).flow];
  const text = exportCounts(tally, flows, desk.settings.community.name, desk.now());
  // Whoever is sent it reads it by the same rules.
  const read = readExchange(text, 'the export');
  if ('problems' in read)
    throw new Advice(
      `These counts make no file that another community could read; export one flow at a time.\n${read.problems.join('\n')}`,
    );
  if (out === undefined) {
    desk.out(text.trimEnd());
    return;
  }
  try {
    await writeFile(out, text);
  } catch (cause) {
    throw new Advice(`${out} cannot be written (${codeOf(cause)}).`);
  }
  const cases = flows.reduce((sum, flow) => sum + (tally.flows.get(flow)?.cases.size ?? 0), 0);
  desk.out(`${out}: counts of ${counted(cases, 'case')} in ${counted(flows.length, 'flow')}.`);
}

const day = 86_400_000;

/** `by`: who adds them. Throws `Advice`, with all problems of the file. */
export async function importFrom(file: string, by: string, desk: LearntDesk): Promise<void> {
  const text = await readText(file);
  if (typeof text !== 'string') throw new Advice(printable(formatProblem(text)));
  const read = readExchange(text, file);
  if ('problems' in read) {
    const shown = read.problems.slice(0, 20).map(printable);
    const more = read.problems.length - shown.length;
    throw new Advice([...shown, ...(more > 0 ? [`and ${more} more`] : [])].join('\n'));
  }
  const { from, day: of, flows } = read.exchange;
  const at = desk.now();
  if (from === desk.settings.community.name)
    throw new Advice(`These are the counts of ${printable(from)} itself: its cases would count twice.`);
  if (of > dayOf(at + day)) throw new Advice(`The counts are of ${of}, and that day is still to come.`);
  const here = desk.flows.filter(({ flow }) => Object.hasOwn(flows, flow));
  const names = here.map((flow) => namesIn(read.exchange, tablesOf(flow, desk.settings)));
  const strange = names.flatMap((one) => one.strange);
  const gone = Object.keys(flows).filter((id) => !here.some(({ flow }) => flow === id));
  if (here.length === 0)
    throw new Advice(
      `No flow of these is here: ${gone.slice(0, 10).map(printable).join(', ') || 'it names none'}.`,
    );
  if (names.every(({ known }) => known === 0))
    throw new Advice(
      `The flows here have none of the names in it: ${strange.slice(0, 10).map(printable).join(', ') || 'it has none'}.`,
    );
  const digest = createHash('sha256').update(text).digest('hex');
  await decide(desk, async (_, entries) => {
    for (const { decision: one } of entries) {
      if (one.kind !== 'imported') continue;
      if (one.digest === digest)
        throw new Advice(`This file is in already, since ${dayOf(one.at)}, and counts once.`);
      const both = Object.keys(flows).some((flow) => Object.hasOwn(one.exchange.flows, flow));
      if (one.exchange.from === from && both && one.exchange.day > of)
        throw new Advice(`Newer counts of ${printable(from)} are in already: of ${one.exchange.day}.`);
    }
    return { kind: 'imported', at, by, digest, exchange: read.exchange };
  });
  const cases = here.reduce((sum, { flow }) => sum + (flows[flow]?.cases ?? 0), 0);
  desk.out(
    `Counts of ${printable(from)} of ${of}: ${counted(cases, 'case')} in ${counted(here.length, 'flow')}. They stand beside the own in “learnt show”, and take the place of what ${printable(from)} sent before.`,
  );
  if (gone.length > 0) desk.err(`Not here, and passed over: ${gone.slice(0, 10).map(printable).join(', ')}.`);
  if (strange.length > 0)
    desk.err(
      `Names that the flows here do not have, passed over: ${strange.slice(0, 10).map(printable).join(', ')}${strange.length > 10 ? ` and ${strange.length - 10} more` : ''}.`,
    );
}
