import { Document, isScalar, visit } from 'yaml';
import { z } from 'zod';
import { Level } from '../../shared/flow.ts';
import type { Tables } from '../core/tables.ts';
import { formatProblem, placed, tidied } from '../files/file-problem.ts';
import type { Finding, Path } from '../files/finding.ts';
import { hiddenSigns } from '../files/hidden-signs.ts';
import { schemaFindings } from '../files/schema-findings.ts';
import { readYaml } from '../files/yaml-file.ts';
import { noComplaint } from './cells.ts';
import { faded, type Tally, type Weighted, weighted } from './counts.ts';

/** A community's counts as a file that people can read: ids of flows and numbers, no cases, nobody's words. */

const id = z
  .string()
  .regex(/^[a-z][a-z0-9]*(-[a-z0-9]+)*$/, 'an id is as in the flow')
  .max(40);
const complaint = z.union([id, z.literal(noComplaint)]);
const count = z.number().min(0).max(10_000_000);

export const FlowCounts = z.strictObject({
  /** Cases behind them, each as one. */
  cases: z.number().int().min(0).max(10_000_000),
  /** By complaint and fault. */
  faults: z.record(complaint, z.record(id, count)).default({}),
  /** By detail, choice, complaint and fault. */
  details: z.record(id, z.record(id, z.record(complaint, z.record(id, count)))).default({}),
  /** By remedy and fault. */
  cures: z
    .record(id, z.record(id, z.strictObject({ worked: count.optional(), not: count.optional() })))
    .default({}),
  /** By check, fault, level of who looked, and outcome. */
  seen: z.record(id, z.record(id, z.partialRecord(Level, z.record(id, count)))).default({}),
});
export type FlowCounts = z.infer<typeof FlowCounts>;

export const Exchange = z.strictObject({
  learnt_counts: z.literal(1),
  /** The community: what it sends later takes the place of what it sent before. */
  from: z
    .string()
    .trim()
    .min(1)
    .max(500)
    .regex(/^[^\n]*$/, 'a name stands on one line'),
  /** The day on which the counts weigh so. */
  day: z.iso.date(),
  flows: z.record(id, FlowCounts),
});
export type Exchange = z.infer<typeof Exchange>;

/** The community's own counts only: passed on, another's would come back to it. Rounded to thousandths of a case. */
export function exportCounts(tally: Tally, flows: readonly string[], from: string, at: number): string {
  const counts = flows.map((flow) => {
    const { cases, cells } = weighted(tally, flow, at);
    const tree: Tree = {};
    for (const [cell, n] of [...cells].toSorted(([a], [b]) => (a < b ? -1 : 1))) {
      const rounded = Math.round(n * 1000) / 1000;
      if (rounded > 0) plant(tree, cell.split('/'), rounded);
    }
    return [flow, { cases, ...tree }] as const;
  });
  const document = new Document(
    Exchange.parse({ learnt_counts: 1, from, day: dayOf(at), flows: Object.fromEntries(counts) }),
  );
  visit(document, {
    Map(_, map) {
      // What only holds numbers stays on a line.
      map.flow = map !== document.contents && map.items.every(({ value }) => isScalar(value));
    },
  });
  document.commentBefore =
    ' Counts of confirmed faults, for other communities to add to theirs. Ids and numbers only.';
  return document.toString({ lineWidth: 110 });
}

/** A file's counts, or what is wrong with it, a line each. */
export function readExchange(
  source: string,
  name: string,
): { readonly exchange: Exchange } | { readonly problems: readonly string[] } {
  const yaml = readYaml(source);
  const syntax = yaml.mistakes.map((mistake) => ({ file: name, where: '', ...mistake }));
  if (!yaml.readable) return { problems: tidied(syntax).map(formatProblem) };
  const parsed = Exchange.safeParse(yaml.data);
  const schema = parsed.success
    ? []
    : schemaFindings(Exchange, yaml.data, parsed.error.issues, { echo: true }).findings;
  const findings = [...schema, ...(parsed.success ? tooMany(parsed.data) : []), ...hiddenSigns(yaml.data)];
  const problems = tidied([...syntax, ...placed(findings, yaml, name)]);
  if (parsed.success && problems.length === 0) return { exchange: parsed.data };
  return { problems: problems.map(formatProblem) };
}

/**
 * Another community's counts as they weigh at a time (milliseconds), older than their day by what has passed since; to be merged
 * with a community's own. Names that the flow does not have change nothing.
 */
export function imported(
  { day, flows }: Exchange,
  flow: string,
  at: number,
  halfLife: number | null,
): Weighted {
  const counts = Object.hasOwn(flows, flow) ? flows[flow] : undefined;
  if (!counts) return { cases: 0, cells: new Map() };
  const weight = faded(Date.parse(day), at, halfLife);
  const cells = new Map<string, number>();
  const { faults, details, cures, seen } = counts;
  for (const [kind, tree] of Object.entries({ faults, details, cures, seen }))
    for (const [path, n] of leaves(tree as Tree)) cells.set([kind, ...path].join('/'), n * weight);
  return { cases: counts.cases, cells };
}

/** How many counts of a file are about names that a flow has, and the others, by their paths. */
export function namesIn(
  { flows }: Exchange,
  tables: Tables,
): { readonly known: number; readonly strange: readonly string[] } {
  const counts = flows[tables.flow.flow];
  if (!counts) return { known: 0, strange: [] };
  const { faults, details, cures, seen } = counts;
  const complaint = (name: string): boolean => name === noComplaint || tables.complaints.has(name);
  const fault = (name: string): boolean => tables.faults.includes(name);
  const choice = (detail: string, name: string): boolean =>
    tables.flow.details.some(({ id, choices }) => id === detail && choices.some((one) => one.id === name));
  const known = (kind: string, path: readonly string[]): boolean => {
    const [a = '', b = '', c = '', d = ''] = path;
    switch (kind) {
      case 'faults':
        return complaint(a) && fault(b);
      case 'details':
        return choice(a, b) && complaint(c) && fault(d);
      case 'cures':
        return tables.cures.has(a) && fault(b);
      default:
        return fault(b) && (tables.checks.get(a)?.outcomes.includes(d) ?? false);
    }
  };
  const all = Object.entries({ faults, details, cures, seen }).flatMap(([kind, tree]) =>
    [...leaves(tree as Tree)].map(([path]) => ({ kind, path })),
  );
  const strange = all.filter(({ kind, path }) => !known(kind, path));
  return {
    known: all.length - strange.length,
    strange: strange.map(({ kind, path }) => [tables.flow.flow, kind, ...path].join('/')),
  };
}

export const dayOf = (at: number): string => new Date(at).toISOString().slice(0, 10);

/** A case has one fault and says one thing of a check: more of them than cases is a slip, or made up. */
function tooMany({ flows }: Exchange): Finding[] {
  const finding = (path: Path): Finding => ({
    path,
    on: 'name',
    problem: 'these counts are more than the cases they come from',
    instead: 'ask for the file anew; numbers in it are not meant to be changed',
  });
  return Object.entries(flows).flatMap(([flow, { cases, faults, seen }]) => [
    ...(sumOf(faults) > cases + 1 ? [finding(['flows', flow, 'faults'])] : []),
    ...Object.entries(seen).flatMap(([check, tree]) =>
      sumOf(tree as Tree) > cases + 1 ? [finding(['flows', flow, 'seen', check])] : [],
    ),
  ]);
}

const sumOf = (tree: Tree): number => [...leaves(tree)].reduce((sum, [, n]) => sum + n, 0);

interface Tree {
  [name: string]: number | Tree;
}

function plant(tree: Tree, path: readonly string[], n: number): void {
  const [name, ...rest] = path as [string, ...string[]];
  if (rest.length === 0) {
    tree[name] = n;
    return;
  }
  const branch = tree[name];
  const next = typeof branch === 'object' ? branch : {};
  tree[name] = next;
  plant(next, rest, n);
}

function* leaves(tree: Tree): Generator<readonly [readonly string[], number]> {
  for (const [name, value] of Object.entries(tree)) {
    if (typeof value === 'number') yield [[name], value];
    else for (const [path, n] of leaves(value)) yield [[name, ...path], n];
  }
}
