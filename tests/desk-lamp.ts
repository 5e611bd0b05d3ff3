import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { Flow } from '../shared/flow.ts';
import { formatProblem, formatProblems } from '../src/files/file-problem.ts';
import { type ParsedFlow, parseFlow } from '../src/flows.ts';

/** A small flow file of an invented desk lamp, and what is said about texts that were made from it. */
const fixtures = join(import.meta.dirname, 'fixtures');
export const lamp = await readFile(join(fixtures, 'desk-lamp.yaml'), 'utf8');
export const brokenLamp = await readFile(join(fixtures, 'desk-lamp-broken.yaml'), 'utf8');

export function flowOf(parsed: ParsedFlow): Flow {
  if ('problems' in parsed) throw new Error(formatProblems(parsed.problems));
  return parsed.flow;
}

export type Change = readonly [from: string, to: string];

/** The good lamp with some text replaced; each piece of text has to stand in it. */
export function changed(...changes: readonly Change[]): string {
  return changes.reduce((text, [from, to]) => {
    if (!text.includes(from)) throw new Error(`the fixture does not say: ${from}`);
    return text.replace(from, () => to);
  }, lamp);
}

/** What is said about a text, without the file's name. */
export function saidOf(source: string): string[] {
  const parsed = parseFlow(source, 'lamp');
  return ('problems' in parsed ? parsed.problems : parsed.advice).map((problem) =>
    formatProblem(problem).replace(/^lamp:/, ''),
  );
}
