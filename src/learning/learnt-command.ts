import { parseArgs } from 'node:util';
import { Advice } from '../advice.ts';
import { tablesOf } from '../core/step.ts';
import { counted } from '../keeping/desk.ts';
import { printable } from '../keeping/printable.ts';
import { decide, flowOf, type LearntDesk, tallied } from './decide.ts';
import { decided } from './decided.ts';
import { digestOf } from './digest.ts';
import { exportTo, importFrom } from './exchange-command.ts';
import { figuresOf, learnSettings } from './figures.ts';
import { entryLine, figuresLines } from './learnt-words.ts';
import { accept } from './propose.ts';
import type { Decision } from './store.ts';

/** `npm run learnt`: what the settled cases say of the flows' numbers, and what of it is used. */

const usage = `learnt show [FLOW]          what was learnt, beside the file's numbers; what is clearly off
       --all                also where the file may well be right
       --cases              the cases behind each
learnt accept FLOW [ID ...] --by NAME     the desk goes by these from now on (none named: all that are clearly off)
       --all                everything that was learnt
learnt withdraw FLOW --by NAME            back to the file's numbers
learnt exclude CASE --by NAME --why TEXT  nothing is learnt from this case
learnt include CASE --by NAME             it counts again
learnt export FLOW|--all [--out FILE]     counts for another community: no cases, nobody's words
learnt import FILE --by NAME              another community's counts, beside the own
learnt history [FLOW]       who decided what, and when
       --json               show and history, for programs`;

type Given = Exclude<ReturnType<typeof options>, string | null>;

/** Resolves to the exit code. Throws `Advice`. */
export async function learntCommand(args: readonly string[], desk: LearntDesk): Promise<number> {
  const given = options(args);
  if (given === null || typeof given === 'string') {
    desk.err(given === null ? usage : `${given}\n\n${usage}`);
    return 2;
  }
  switch (given.what) {
    case 'show':
      await show(given, desk);
      return 0;
    case 'accept':
      await acceptFor(given, desk);
      return 0;
    case 'withdraw':
      await withdraw(given, desk);
      return 0;
    case 'exclude':
      await exclude(given, desk);
      return 0;
    case 'include':
      await include(given, desk);
      return 0;
    case 'export':
      await exportTo(given.all ? null : (given.first as string), given.out, desk);
      return 0;
    case 'import':
      await importFrom(given.first as string, given.by, desk);
      return 0;
    case 'history':
      await history(given, desk);
      return 0;
    default:
      return given.what satisfies never;
  }
}

async function show({ first, all, cases, json }: Given, desk: LearntDesk): Promise<void> {
  const flows = first === undefined ? desk.flows : [flowOf(first, desk)];
  const known = decided(await desk.book.read(0));
  const tally = await tallied(known, desk);
  const found = flows.map((flow) => figuresOf(flow, tally, known, desk.settings, desk.now()));
  if (json) {
    const told = found.map(({ flow, accepted, proposals, ...rest }) => ({
      flow: flow.flow,
      version: flow.version,
      ...rest,
      accepted: accepted && {
        numbers: accepted.numbers,
        at: accepted.learnt.at,
        by: accepted.learnt.by,
        inUse: !accepted.stale,
      },
      proposals: proposals
        .filter(({ clear }) => all || clear)
        .map(({ cases: behind, ...one }) => ({
          ...one,
          cases: cases ? behind : behind.length,
        })),
    }));
    desk.out(JSON.stringify(told));
    return;
  }
  const { by } = desk.settings.community.learning;
  if (by !== null && !flows.some(({ details }) => details.some(({ id }) => id === by)))
    desk.err(`No flow asks for “${printable(by)}” (learning: by, in the community file).`);
  const some = found.filter(
    ({ cases: own, others, accepted }) => first !== undefined || own > 0 || others.length > 0 || accepted,
  );
  if (some.length === 0) {
    desk.out('No case is settled yet whose fault is confirmed. The desk goes by the numbers of the files.');
    return;
  }
  for (const line of some.flatMap((one) => figuresLines(one, { all, cases }))) desk.out(line);
  const left = known.excluded.size;
  if (left > 0) desk.out(`${counted(left, 'case is', 'cases are')} left out: “learnt history” tells which.`);
  if (some.some(({ proposals }) => proposals.some(({ clear }) => clear)))
    desk.out('* the file’s number lies outside the interval. Nothing of it is used until it is accepted.');
}

async function acceptFor({ first, more, all, by }: Given, desk: LearntDesk): Promise<void> {
  const flow = flowOf(first, desk);
  const at = desk.now();
  let taken = 0;
  const decision = await decide(desk, async (known) => {
    const tally = await tallied(known, desk);
    const { proposals, accepted } = figuresOf(flow, tally, known, desk.settings, at);
    const strange = more.filter((id) => !proposals.some((one) => one.id === id));
    if (strange.length > 0)
      throw new Advice(
        `Nothing was learnt under ${strange.map((id) => `“${printable(id)}”`).join(', ')}. “learnt show ${flow.flow} --all” lists what was.`,
      );
    const chosen = proposals.filter(({ id, clear }) => (more.length > 0 ? more.includes(id) : all || clear));
    if (chosen.length === 0)
      throw new Advice(
        `The cases do not clearly say otherwise than the file of ${flow.flow}: there is nothing to accept. Name one to accept it all the same.`,
      );
    taken = chosen.length;
    const before = accepted?.learnt ?? null;
    const who = { at, by };
    const learnt = accept(chosen, tablesOf(flow, desk.settings), learnSettings(desk.settings), who, before);
    return { kind: 'accepted', ...who, flow: flow.flow, learnt };
  });
  if (decision.kind !== 'accepted') return;
  desk.out(
    `Accepted for ${flow.flow}: ${counted(taken, 'place')}. It goes by learnt numbers in ${counted(decision.learnt.distributions.length, 'place')} now: numbers ${digestOf(decision.learnt)}.`,
  );
  desk.out('A desk that runs takes them up within a minute; cases under way go on by them.');
}

async function withdraw({ first, by }: Given, desk: LearntDesk): Promise<void> {
  // Of a flow whose file is gone, too.
  const flow = first as string;
  await decide(desk, async (known) => {
    if (!known.learnt.has(flow)) throw new Advice(`No learnt numbers are in use for “${printable(flow)}”.`);
    return { kind: 'withdrawn', at: desk.now(), by, flow };
  });
  desk.out(`${flow} goes by the numbers of its file again.`);
}

async function exclude({ first, by, why }: Given, desk: LearntDesk): Promise<void> {
  const id = first as string;
  if (!(await desk.knows(id)))
    throw new Advice(
      `There is no case “${printable(id)}”. “learnt show --cases” lists those behind each number.`,
    );
  await decide(desk, async (known) => {
    if (known.excluded.has(id)) throw new Advice(`Case ${printable(id)} is left out already.`);
    return { kind: 'excluded', at: desk.now(), by, case: id, why };
  });
  desk.out(`Nothing is learnt from case ${printable(id)} any more.`);
  await usedBefore(desk);
}

async function include({ first, by }: Given, desk: LearntDesk): Promise<void> {
  const id = first as string;
  await decide(desk, async (known) => {
    if (!known.excluded.has(id)) throw new Advice(`Case ${printable(id)} is not left out.`);
    return { kind: 'included', at: desk.now(), by, case: id };
  });
  desk.out(`Case ${printable(id)} counts again, once it is settled and its fault confirmed.`);
}

/** What was accepted stays as it was until somebody accepts again. */
async function usedBefore({ book, out }: LearntDesk): Promise<void> {
  const { learnt } = decided(await book.read(0));
  if (learnt.size > 0)
    out(
      `Numbers that are in use (${[...learnt.keys()].join(', ')}) may have been accepted with it: look with “learnt show”, and accept again.`,
    );
}

async function history({ first, json }: Given, { book, out }: LearntDesk): Promise<void> {
  const entries = (await book.read(0)).filter(
    ({ decision }) => first === undefined || isAbout(decision, first),
  );
  if (json) out(JSON.stringify(entries.map(({ n, decision }) => ({ n, ...decision }))));
  else if (entries.length === 0) out('Nothing has been decided yet.');
  else for (const entry of entries) out(entryLine(entry));
}

function isAbout(one: Decision, flow: string): boolean {
  switch (one.kind) {
    case 'accepted':
    case 'withdrawn':
      return one.flow === flow;
    case 'imported':
      return Object.hasOwn(one.exchange.flows, flow);
    case 'excluded':
    case 'included':
      return false;
    default:
      return one satisfies never;
  }
}

const whats = ['show', 'accept', 'withdraw', 'exclude', 'include', 'export', 'import', 'history'] as const;
type What = (typeof whats)[number];
/** Who decides signs for it. */
const signed: readonly What[] = ['accept', 'withdraw', 'exclude', 'include', 'import'];
/** Options, and what may stand after the word: how many names at least and at most. */
const may: Readonly<Record<What, readonly [options: readonly string[], least: number, most: number]>> = {
  show: [['all', 'cases', 'json'], 0, 1],
  accept: [['all', 'by'], 1, 1000],
  withdraw: [['by'], 1, 1],
  exclude: [['by', 'why'], 1, 1],
  include: [['by'], 1, 1],
  export: [['all', 'out'], 0, 1],
  import: [['by'], 1, 1],
  history: [['json'], 0, 1],
};

/** What was asked for; a sentence where one thing is missing; null where it cannot be read. */
function options(args: readonly string[]) {
  try {
    const { values, positionals } = parseArgs({
      args: [...args],
      allowPositionals: true,
      options: {
        all: { type: 'boolean', default: false },
        cases: { type: 'boolean', default: false },
        json: { type: 'boolean', default: false },
        by: { type: 'string' },
        why: { type: 'string' },
        out: { type: 'string' },
      },
    });
    const [word, ...names] = positionals;
    const what = whats.find((one) => one === word);
    if (what === undefined) return null;
    const [known, least, most] = may[what];
    const { all, cases, json, out } = values;
    const strange = Object.entries(values).some(([name, value]) => value !== false && !known.includes(name));
    if (strange || names.length < least || names.length > most) return null;
    const [first, ...more] = names;
    // Either one, or all.
    if (what === 'export' && (first !== undefined) === all) return null;
    if (what === 'accept' && more.length > 0 && all) return null;
    const by = values.by?.trim() ?? '';
    if (signed.includes(what) && (by === '' || by.length > 200))
      return 'Say who decides it: --by NAME, at most 200 characters.';
    const why = values.why?.trim() ?? '';
    if (what === 'exclude' && (why === '' || why.length > 500))
      return 'Say why: --why TEXT, at most 500 characters.';
    return { what, first, more, all, cases, json, by, why, out };
  } catch {
    return null;
  }
}
