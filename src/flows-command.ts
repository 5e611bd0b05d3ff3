import { mkdir, writeFile } from 'node:fs/promises';
import { join, relative } from 'node:path';
import { parseArgs } from 'node:util';
import type { Case } from '../shared/case.ts';
import { type Flow, Level } from '../shared/flow.ts';
import { compared } from './authoring/compare.ts';
import { explained } from './authoring/explain.ts';
import { imagined } from './authoring/given.ts';
import { neverAsked } from './authoring/never-asked.ts';
import { planTree } from './authoring/plan-tree.ts';
import { likelihoodTable } from './authoring/table.ts';
import type { Settings } from './core/settings.ts';
import { tablesOf } from './core/step.ts';
import { formatProblems } from './files/file-problem.ts';
import { flowSchemaText } from './flow-schema.ts';
import { type ReadFlows, readFlowFiles, readFlows } from './flows.ts';
import { mapSheet } from './pictures/map-sheet.ts';
import { treePicture } from './pictures/tree.ts';

const usage = `npm run flows -- check [FILE...]     mistakes and advice in these files, or in all of flows/
     --deep                          also: checks that no simulated case ever needs (a named file: always)
npm run flows -- table FLOW          every likelihood, fault by fault
npm run flows -- draw FLOW [DIR]     the map and the first steps of the plan as pictures (SVG)
npm run flows -- explain FLOW --given NAME=ANSWER ...    belief and plan for these answers
npm run flows -- compare OLD NEW     what a changed file changes in belief, cost and order
npm run flows -- schema              write flows/flow.schema.json, which editors use
     --level new|handy|trained       for whom (draw, explain, compare; default: handy)

FLOW is a file, or the name of one in flows/.`;

/** The project's own flows. */
export const flowsDir = join(import.meta.dirname, '..', 'flows');

/** Simulated cases in which a check that helps is asked at least once. */
const deepCases = 240;
/** Steps of the plan that are drawn. */
const drawnDeep = 4;

/** `npm run flows`: for people who write flows. Resolves to the exit code. `dir` is where flows lie. */
export async function flowsCommand(
  args: readonly string[],
  settings: () => Promise<Settings>,
  dir = shortest(flowsDir),
): Promise<number> {
  const [command = '', ...rest] = args;
  const given = options(rest);
  const problem = (words: string): number => {
    console.error(words);
    return 2;
  };
  if (!given) return problem(usage);
  const { names, level, deep, answers } = given;
  const one = async (name: string): Promise<Flow | string> => {
    const file = name.endsWith('.yaml') ? name : join(dir, `${name}.yaml`);
    const read = await readFlowFiles([file]);
    return 'problems' in read ? formatProblems(read.problems) : (read.flows[0] as Flow);
  };
  switch (command) {
    case 'check': {
      const read = await (names.length > 0 ? readFlowFiles(names) : readFlows(dir));
      return report(read, deep || names.length > 0 ? await settings() : null);
    }
    case 'schema': {
      const file = join(dir, 'flow.schema.json');
      await writeFile(file, flowSchemaText());
      console.log(`${file} is written.`);
      return 0;
    }
    case 'table':
    case 'draw':
    case 'explain': {
      const [name, folder] = names;
      if (name === undefined) return problem(usage);
      const flow = await one(name);
      if (typeof flow === 'string') return problem(flow);
      const core = await settings();
      if (command === 'table') {
        console.log(likelihoodTable(tablesOf(flow, core)));
        return 0;
      }
      const thought = imagined(flow, answers, level);
      if ('problems' in thought) return problem(thought.problems.join('\n'));
      if (command === 'draw') return draw(flow, thought.kase, core, folder ?? '.');
      console.log(explained(thought.kase, tablesOf(flow, core), core));
      return 0;
    }
    case 'compare': {
      const [before, after] = await Promise.all(names.slice(0, 2).map(one));
      if (before === undefined || after === undefined) return problem(usage);
      for (const flow of [before, after]) if (typeof flow === 'string') return problem(flow);
      console.log(compared(before as Flow, after as Flow, await settings(), level));
      return 0;
    }
    default:
      return problem(usage);
  }
}

function options(args: readonly string[]) {
  try {
    const { values, positionals } = parseArgs({
      args: [...args],
      allowPositionals: true,
      options: {
        given: { type: 'string', multiple: true, default: [] },
        level: { type: 'string', default: 'handy' },
        deep: { type: 'boolean', default: false },
      },
    });
    const level = Level.safeParse(values.level);
    if (!level.success) return null;
    // "--given a=1 b=2" is what people write.
    const answers = [...values.given, ...positionals.filter((one) => one.includes('='))];
    const names = positionals.filter((one) => !one.includes('='));
    return { names, answers, level: level.data, deep: values.deep };
  } catch {
    return null;
  }
}

async function draw(flow: Flow, kase: Case, settings: Settings, folder: string): Promise<number> {
  const tree = planTree(kase, tablesOf(flow, settings), settings, drawnDeep);
  const complaint = kase.answers.find((answer) => answer.kind === 'complaint-stated')?.complaint;
  const label = flow.complaints.find(({ id }) => id === complaint)?.label ?? 'any complaint';
  const files = [
    [`${flow.flow}-map.svg`, mapSheet(flow)],
    [`${flow.flow}-plan.svg`, treePicture(tree, `${flow.title}: ${label}`)],
  ] as const;
  await mkdir(folder, { recursive: true });
  for (const [name, svg] of files) {
    await writeFile(join(folder, name), svg);
    console.log(`${join(folder, name)} is written.`);
  }
  return 0;
}

function report(read: ReadFlows, settings: Settings | null): number {
  if ('problems' in read) {
    const files = new Set(read.problems.map(({ file }) => file)).size;
    console.error(formatProblems(read.problems));
    console.error(`${counted(read.problems.length, 'problem')} in ${counted(files, 'file')}.`);
    return 1;
  }
  if (read.advice.length > 0) console.log(`Advice:\n${formatProblems(read.advice)}`);
  const flows = read.flows.map(
    ({ flow, faults, checks, remedies }) =>
      `${flow} (${counted(faults.length, 'fault')}, ${counted(checks.length, 'check')}, ${counted(remedies.length, 'remedy', 'remedies')})`,
  );
  for (const flow of settings ? read.flows : []) {
    const idle = neverAsked(flow, settings as Settings, deepCases);
    if (idle.length > 0)
      console.log(
        `Advice: in ${deepCases} simulated cases of ${flow.flow} nobody was ever asked ${idle.join(', ')}. Each may cost too much for what it tells, or come too late to change anything.`,
      );
  }
  console.log(`${counted(flows.length, 'flow')} without problems: ${flows.join(', ')}.`);
  return 0;
}

const counted = (count: number, one: string, many = `${one}s`): string =>
  `${count} ${count === 1 ? one : many}`;

const shortest = (dir: string): string => {
  const near = relative(process.cwd(), dir);
  return near === '' || near.startsWith('..') ? dir : near;
};
