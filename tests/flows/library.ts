import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { parse } from 'yaml';
import { z } from 'zod';
import type { Flow } from '../../shared/flow.ts';
import type { FileProblem } from '../../src/files/file-problem.ts';
import { formatProblems } from '../../src/files/file-problem.ts';
import { parseFlow } from '../../src/flows.ts';

/** The project's own flows, as the desk reads them, and what people may write about them. */

const dir = join(import.meta.dirname, '../../flows');

export const files: readonly { readonly flow: Flow; readonly advice: readonly FileProblem[] }[] = readdirSync(
  dir,
)
  .filter((name) => name.endsWith('.yaml'))
  .toSorted()
  .map((name) => {
    const parsed = parseFlow(readFileSync(join(dir, name), 'utf8'), name);
    if ('problems' in parsed) throw new Error(formatProblems(parsed.problems));
    return parsed;
  });
export const flows: readonly Flow[] = files.map(({ flow }) => flow);
export const flowOf = (id: string): Flow => {
  const flow = flows.find((one) => one.flow === id);
  if (!flow) throw new Error(`no flow ${id}`);
  return flow;
};

/** Flows that lead to a cure or to people; the others only say why something stays closed. */
export const full = flows.filter(
  ({ never_open, general }) => never_open === undefined && general === undefined,
);
export const closed = flows.filter(({ never_open }) => never_open !== undefined);

const Sentence = z.strictObject({ text: z.string(), complaint: z.string().nullable() });
/** What owners may write, by flow; made before the words of the flow, and never changed to fit them. */
export const sentences: ReadonlyMap<string, readonly z.infer<typeof Sentence>[]> = new Map(
  readdirSync(join(import.meta.dirname, 'sentences'))
    .filter((name) => name.endsWith('.yaml'))
    .map((name) => [
      name.replace('.yaml', ''),
      z.array(Sentence).parse(parse(readFileSync(join(import.meta.dirname, 'sentences', name), 'utf8'))),
    ]),
);
