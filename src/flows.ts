import { readdir } from 'node:fs/promises';
import { basename, join } from 'node:path';
import type { z } from 'zod';
import { Flow } from '../shared/flow.ts';
import { type FileProblem, placed, tidied } from './files/file-problem.ts';
import type { Finding, Path } from './files/finding.ts';
import { hiddenSigns } from './files/hidden-signs.ts';
import { at, type SchemaFindings, schemaFindings } from './files/schema-findings.ts';
import { codeOf, readText, wholeFile } from './files/text-file.ts';
import { readYaml } from './files/yaml-file.ts';
import { accessFindings } from './flow-checks/access.ts';
import { adviceOn } from './flow-checks/advice.ts';
import { type Draft, draftOf } from './flow-checks/draft.ts';
import { mapFindings } from './flow-checks/map.ts';
import { nameFindings } from './flow-checks/names.ts';
import { priceFindings } from './flow-checks/prices.ts';
import { reachFindings } from './flow-checks/reach.ts';
import { readingFindings } from './flow-checks/readings.ts';
import { safetyFindings } from './flow-checks/safety.ts';
import { shareFindings } from './flow-checks/shares.ts';
import { sheetFindings } from './flow-checks/sheet.ts';
import { vocabularyFindings } from './flow-checks/vocabulary.ts';

/** Reads `flows/`: text in, a flow that everything inside may trust out, or all its problems with their places. */
export type ParsedFlow =
  | { readonly flow: Flow; readonly advice: readonly FileProblem[] }
  | { readonly problems: readonly FileProblem[] };

/** `name` is what the file is called in problems. */
export function parseFlow(source: string, name: string): ParsedFlow {
  const yaml = readYaml(source);
  const syntax = yaml.mistakes.map((mistake): FileProblem => ({ file: name, where: '', ...mistake }));
  if (!yaml.readable) return { problems: syntax };

  const parsed = Flow.safeParse(yaml.data);
  const schema: SchemaFindings = parsed.success
    ? { findings: [], broken: [] }
    : schemaFindings(Flow, yaml.data, parsed.error.issues, {
        echo: true,
        special: (issue, path) => ownWords(issue, path, yaml.data),
      });
  const draft = draftOf(parsed.success ? parsed.data : yaml.data, schema.broken);
  const findings = [...schema.findings, ...hiddenSigns(yaml.data), ...betweenParts(draft)];
  const problems = placed(findings, yaml, name).filter(
    // Where the line itself could not be read, what follows from it is not worth saying.
    (problem) => !syntax.some((mistake) => mistake.line === problem.line),
  );
  if (parsed.success && syntax.length + problems.length === 0) {
    const flow = parsed.data;
    return {
      flow,
      // Worked out when somebody reads it: a desk that only starts has no use for it.
      get advice() {
        return placed(adviceOn(flow), yaml, name);
      },
    };
  }
  return { problems: tidied([...syntax, ...problems]) };
}

function betweenParts(draft: Draft): Finding[] {
  return [
    nameFindings,
    shareFindings,
    readingFindings,
    priceFindings,
    accessFindings,
    reachFindings,
    safetyFindings,
    mapFindings,
    sheetFindings,
    vocabularyFindings,
  ].flatMap((check) => check(draft));
}

/** Schema issues that deserve the trade's words. */
function ownWords(
  issue: z.core.$ZodIssue,
  path: Path,
  data: unknown,
): Pick<Finding, 'problem' | 'instead'> | undefined {
  const [list, i, field] = path;
  if (list === 'faults' && field === 'ends' && path.length === 3 && at(data, path) === undefined) {
    const id = at(data, ['faults', i ?? 0, 'id']);
    if (isCured(id, data)) return undefined;
    return {
      problem: 'a fault no remedy or referral answers',
      instead: 'add "ends: people" (somebody else can mend it) or "ends: replace"',
    };
  }
  if (list === 'energy' && (i === 'points' || i === 'proof') && path.length === 2) {
    const empty = at(data, path) === undefined || issue.code === 'too_small';
    if (!empty) return undefined;
    return {
      problem: 'an appliance that stores energy, and nothing says where it is proven safe',
      instead:
        i === 'points'
          ? 'add "points:" with every place where the meter goes'
          : 'add "proof:" with what is done and looked at before hands go in',
    };
  }
  return undefined;
}

/** A remedy names the fault, a group that holds it, or all others. */
function isCured(fault: unknown, data: unknown): boolean {
  const remedies = at(data, ['remedies']);
  if (typeof fault !== 'string' || !Array.isArray(remedies)) return true;
  return remedies.some((remedy) => {
    const cures = at(remedy, ['cures']);
    if (typeof cures !== 'object' || cures === null) return false;
    return Object.entries(cures).some(([name, chance]) => {
      const group = at(data, ['groups', name]);
      const meant = name === fault || name === 'otherwise' || (Array.isArray(group) && group.includes(fault));
      return meant && chance !== 0;
    });
  });
}

export type ReadFlows =
  | { readonly flows: readonly Flow[]; readonly advice: readonly FileProblem[] }
  | { readonly problems: readonly FileProblem[] };

/** All `*.yaml` files of a folder, in the order of their names. Problems of all files at once; advice where it is wanted. */
export async function readFlows(dir: string, advised = true): Promise<ReadFlows> {
  let names: string[];
  try {
    names = (await readdir(dir)).toSorted();
  } catch (cause) {
    return { problems: [wholeFile(dir, `the folder cannot be read (${codeOf(cause)})`, 'check its name')] };
  }
  const files = names.filter((name) => name.endsWith('.yaml')).map((name) => join(dir, name));
  const misnamed = names
    .filter((name) => name.endsWith('.yml'))
    .map((name) => wholeFile(join(dir, name), 'this file is not read', 'let its name end with ".yaml"'));
  if (files.length + misnamed.length === 0) {
    return {
      problems: [wholeFile(dir, 'no flow in this folder', 'add a file whose name ends with ".yaml"')],
    };
  }
  const read = await readFlowFiles(files, advised);
  if (misnamed.length === 0) return read;
  return { problems: tidied([...misnamed, ...('problems' in read ? read.problems : [])]) };
}

export async function readFlowFiles(files: readonly string[], advised = true): Promise<ReadFlows> {
  const flows: Flow[] = [];
  const problems: FileProblem[] = [];
  const advice: FileProblem[] = [];
  const fileOf = new Map<string, string>();
  for (const file of files) {
    const source = await readText(file);
    const parsed = typeof source === 'string' ? parseFlow(source, file) : { problems: [source] };
    if ('problems' in parsed) {
      problems.push(...parsed.problems);
      continue;
    }
    const other = fileOf.get(parsed.flow.flow);
    if (other !== undefined) {
      problems.push(
        wholeFile(file, `the flow "${parsed.flow.flow}" is also in ${other}`, 'rename one of them'),
      );
    }
    fileOf.set(parsed.flow.flow, file);
    flows.push(parsed.flow);
    if (!advised) continue;
    advice.push(...parsed.advice);
    if (basename(file, '.yaml') !== parsed.flow.flow) {
      advice.push(
        wholeFile(file, `the flow in it is called "${parsed.flow.flow}"`, 'give both the same name'),
      );
    }
  }
  return problems.length > 0 ? { problems: tidied(problems) } : { flows, advice: tidied(advice) };
}
