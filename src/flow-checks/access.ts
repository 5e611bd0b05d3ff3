import { type Finding, propose, quote, unknownName } from '../files/finding.ts';
import { type Draft, entries } from './draft.ts';

/** Stages: each behind one that stands before it in the file, and named only where it exists. */
export function accessFindings(draft: Draft): Finding[] {
  return [...orderFindings(draft), ...stageFindings(draft)];
}

function orderFindings(draft: Draft): Finding[] {
  const stages = draft.ids(['access']);
  const behindOf = stageTree(draft);
  const before = new Set<string>();
  return entries(draft.flow.access).flatMap(([i, stage]): Finding[] => {
    const { behind, id } = stage;
    const known = behind === undefined || before.has(behind);
    if (id !== undefined) before.add(id);
    if (known || behind === undefined) return [];
    const here = { path: ['access', i, 'behind'], on: 'value' } as const;
    if (behind === 'outside') {
      return [{ ...here, problem: '"outside" is no stage', instead: 'take "behind" out' }];
    }
    if (!stages.known.includes(behind)) {
      return stages.complete
        ? [
            unknownName(
              here.path,
              'value',
              'stage',
              behind,
              stages.known.filter((other) => other !== id),
            ),
          ]
        : [];
    }
    const ring = id === undefined ? [] : ringFrom(id, behindOf);
    if (ring.length > 0) {
      // Said once, at the first of the ring; it names the others.
      if (stages.known.find((other) => ring.includes(other)) !== id) return [];
      const problem =
        ring.length === 1
          ? 'this stage lies behind itself'
          : `these stages lie behind each other: ${ring.map(quote).join(', ')}`;
      return [{ ...here, problem, instead: 'let the outermost one have no "behind"' }];
    }
    return [
      {
        ...here,
        problem: `the stage ${quote(behind)} stands further down`,
        instead: 'put the stages in the order in which they are opened',
      },
    ];
  });
}

export type StageTree = ReadonlyMap<string, string | undefined>;

export const stageTree = (draft: Draft): StageTree =>
  new Map(
    entries(draft.flow.access).flatMap(([, { id, behind }]) =>
      id === undefined ? [] : [[id, behind] as const],
    ),
  );

/** The stages of the ring that a stage is part of; empty when it is in none. */
function ringFrom(id: string, behindOf: StageTree): string[] {
  const ring = [id];
  let at = behindOf.get(id);
  while (at !== undefined && at !== id && !ring.includes(at)) {
    ring.push(at);
    at = behindOf.get(at);
  }
  return at === id ? ring : [];
}

/** The stages from this one out to the outside; also for trees that do not end. */
export function wayOut(stage: string, behindOf: StageTree): string[] {
  const way: string[] = [];
  let at: string | undefined = stage;
  while (at !== undefined && behindOf.has(at) && !way.includes(at)) {
    way.push(at);
    at = behindOf.get(at);
  }
  return way;
}

/** Everywhere else that a stage is named. */
function stageFindings(draft: Draft): Finding[] {
  const { flow } = draft;
  const stages = draft.ids(['access']);
  const named: [Finding['path'], string | undefined][] = [
    ...entries(flow.checks).map(([i, step]): (typeof named)[0] => [['checks', i, 'access'], step.access]),
    ...entries(flow.remedies).map(([i, step]): (typeof named)[0] => [['remedies', i, 'access'], step.access]),
    ...entries(flow.map?.parts).map(([i, part]): (typeof named)[0] => [
      ['map', 'parts', i, 'stage'],
      part.stage,
    ]),
  ];
  const findings = named.flatMap(([path, stage]): Finding[] =>
    stage === undefined || stage === 'outside' || !stages.complete || stages.known.includes(stage)
      ? []
      : [unknownName(path, 'value', 'stage', stage, ['outside', ...stages.known])],
  );
  for (const [i, detail] of entries(flow.details)) {
    for (const [j, { limit }] of entries(detail.choices)) {
      const path = ['details', i, 'choices', j, 'limit'] as const;
      if (!limit || !draft.sound(path)) continue;
      const { deepest } = limit;
      if (deepest === undefined && limit.live === undefined) {
        findings.push({
          path,
          on: 'value',
          problem: 'a limit that forbids nothing',
          instead: 'add "deepest:" with a stage, or "live: never"',
        });
      }
      if (deepest === undefined || deepest === 'outside' || !stages.complete) continue;
      if (stages.known.includes(deepest)) continue;
      const known = ['outside', ...stages.known];
      findings.push({
        path: [...path, 'deepest'],
        on: 'value',
        problem: `unknown stage ${quote(deepest)}`,
        instead: propose(deepest, known),
      });
    }
  }
  return findings;
}
