import { writeFile } from 'node:fs/promises';
import { join, relative } from 'node:path';
import { formatProblems } from './files/file-problem.ts';
import { flowSchemaText } from './flow-schema.ts';
import { type ReadFlows, readFlowFiles, readFlows } from './flows.ts';

const usage = `npm run flows -- check [FILE...]   check these files, or all of flows/
npm run flows -- schema            write flows/flow.schema.json, which editors use`;

/** The project's own flows. */
export const flowsDir = join(import.meta.dirname, '..', 'flows');

/** `npm run flows`: for people who write flows. Resolves to the exit code. `dir` is where flows lie. */
export async function flowsCommand(args: string[], dir = shortest(flowsDir)): Promise<number> {
  const [command, ...rest] = args;
  const unknown = rest.filter((arg) => arg.startsWith('-'));
  if (command === 'check' && unknown.length === 0) {
    return report(await (rest.length > 0 ? readFlowFiles(rest) : readFlows(dir)));
  }
  if (command === 'schema' && rest.length === 0) {
    const file = join(dir, 'flow.schema.json');
    await writeFile(file, flowSchemaText());
    console.log(`${file} is written.`);
    return 0;
  }
  console.error(usage);
  return 2;
}

function report(read: ReadFlows): number {
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
  console.log(`${counted(flows.length, 'flow')} without problems: ${flows.join(', ')}.`);
  return 0;
}

const counted = (count: number, one: string, many = `${one}s`): string =>
  `${count} ${count === 1 ? one : many}`;

const shortest = (dir: string): string => {
  const near = relative(process.cwd(), dir);
  return near === '' || near.startsWith('..') ? dir : near;
};
