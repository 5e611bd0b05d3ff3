import { writeFile } from 'node:fs/promises';
import { parseArgs } from 'node:util';
import type { Draw } from '../../shared/adapter.ts';
import type { Case } from '../../shared/case.ts';
import type { Flow } from '../../shared/flow.ts';
import { Advice } from '../advice.ts';
import { look, type View } from '../core/next.ts';
import { noGuide } from '../core/no-guide.ts';
import { paperOf } from '../core/paper.ts';
import { emptyCase, fold } from '../core/reduce.ts';
import { libraryOf, type Settings } from '../core/settings.ts';
import { tablesOf } from '../core/step.ts';
import { unchosen } from '../core/unchosen.ts';
import type { SqlJournal } from '../journal/sql.ts';
import { earlierCases } from '../outcomes/earlier.ts';
import { createPrint } from './print.ts';
import { readReturnCode, returnCode } from './return-code.ts';
import { threadsOfCode } from './threads-of-code.ts';

/** `npm run card`: a case's job card, on paper or as it stands in the thread. */
const usage = `npm run card -- CASE     the job card of a case as PDF, one page; CASE is its thread, its place, its name in the terminal, or the code on its paper
     --out FILE.pdf      where to write it (default: job-card-CODE.pdf)
     --markdown          as text, here`;

export interface CardDesk {
  readonly journal: Pick<SqlJournal, 'db' | 'read' | 'latest' | 'settled'>;
  readonly flows: readonly Flow[];
  readonly settings: Settings;
  readonly draw: Draw;
  readonly now: () => number;
  readonly out: (line: string) => void;
  readonly err: (line: string) => void;
}

/** Resolves to the exit code. Throws `Advice` where there is no such case, or more than one, or the file cannot be written. */
export async function cardCommand(args: readonly string[], desk: CardDesk): Promise<number> {
  const given = options(args);
  if (!given) {
    desk.err(usage);
    return 2;
  }
  const kase = await caseOf(given.name, desk);
  const view = await viewOf(kase, desk);
  const paper = paperOf(view);
  if (given.markdown) {
    desk.out(paper.card);
    return 0;
  }
  const code = returnCode(kase.id);
  const { pdf, name } = await createPrint({ ...desk, community: desk.settings.community })(paper, kase.id);
  const file = given.out ?? name;
  await writeFile(file, pdf).catch((cause: unknown) => {
    throw new Advice(`${file} cannot be written: ${cause instanceof Error ? cause.message : String(cause)}`);
  });
  desk.err(`${file} is written. Its code is ${code}: “npm run card -- ${code}” finds the case again.`);
  return 0;
}

async function caseOf(name: string, { journal }: CardDesk): Promise<Case> {
  for (const thread of await threadsOf(name, journal)) {
    const { events } = await journal.read(thread);
    if (events.length > 0) return fold(emptyCase(thread), events);
  }
  throw new Advice(
    `There is no case “${name}”. Say its thread, as it stands in the log, its name in the terminal (“case” without --case), or the six signs on its paper.`,
  );
}

/** The thread itself, or the terminal's case of that name; else the latest case at that place, where threads have none of their own; else the one with that code. */
async function threadsOf(name: string, journal: CardDesk['journal']): Promise<readonly string[]> {
  const code = readReturnCode(name);
  const coded = code === null ? [] : await threadsOfCode(code, journal.db);
  if (coded.length > 1)
    throw new Advice(`More than one case has the code ${code}: ${coded.join(', ')}. Say which thread.`);
  const latest = await journal.latest(name);
  return [name, `terminal/${name}`, ...(latest ? [latest.thread] : []), ...coded];
}

async function viewOf(kase: Case, { journal, flows, settings, now }: CardDesk): Promise<View> {
  const flow = flowOf(kase, flows, settings);
  const earlier = earlierCases({ journal, flows, settings });
  if (kase.state === 'with people') await earlier.load();
  const given = { ...settings, earlier: earlier.find };
  return look(kase, tablesOf(flow, given), given, now(), kase.demonstration);
}

function flowOf({ flow: id }: Case, flows: readonly Flow[], settings: Settings): Flow {
  if (id === null) return libraryOf(settings) ? unchosen : (flows[0] as Flow);
  return flows.find(({ flow }) => flow === id) ?? noGuide(id);
}

function options(
  args: readonly string[],
): { readonly name: string; readonly out: string | undefined; readonly markdown: boolean } | null {
  try {
    const { values, positionals } = parseArgs({
      args: [...args],
      allowPositionals: true,
      options: { out: { type: 'string' }, markdown: { type: 'boolean', default: false } },
    });
    const [name, ...others] = positionals;
    return name && others.length === 0 ? { name, out: values.out, markdown: values.markdown } : null;
  } catch {
    return null;
  }
}
