import { QuestionKind } from '../../shared/case.ts';
import { type Finding, oneOf, type Path, quote, some, unknownName } from '../files/finding.ts';
import { type Draft, entries } from './draft.ts';
import { allSparse, type FaultNames, faultNames } from './sparse.ts';

/** Names in a flow: each thing has one of its own, and each name that is used stands for something. */
export function nameFindings(draft: Draft): Finding[] {
  const names = faultNames(draft);
  return [
    ...doubleIds(draft),
    ...reservedIds(draft),
    ...doubleLabels(draft),
    ...somethingElse(names),
    ...groupFindings(draft, names),
    ...sparseFindings(draft, names),
  ];
}

/** Lists whose entries share one set of ids: a step is known by its id alone, whatever kind of step it is. */
function idScopes({ flow }: Draft): Path[][] {
  const energy = flow.energy && 'proof' in flow.energy ? 'proof' : 'points';
  return [
    [['faults']],
    [['complaints']],
    [['details'], ['access'], ['energy', energy], ['checks'], ['remedies']],
    [
      ['map', 'parts'],
      ['map', 'leads'],
    ],
    ...entries(flow.details).map(([i]): Path[] => [['details', i, 'choices']]),
    ...entries(flow.checks).flatMap(([i]): Path[][] => [
      [['checks', i, 'outcomes']],
      [['checks', i, 'reading', 'bands']],
    ]),
  ];
}

function doubleIds(draft: Draft): Finding[] {
  return idScopes(draft).flatMap((lists) =>
    doubles(
      lists.flatMap((list) =>
        listed(draft, list).map(([path, entry]) => ({ path: [...path, 'id'], word: entry.id })),
      ),
      (id) => `the id ${quote(id)} is used twice`,
    ),
  );
}

interface Labelled {
  readonly id?: string | undefined;
  readonly name?: string | undefined;
  readonly label?: string | undefined;
}

/** Entries of a list of a flow that carry an id, with their places. */
function listed({ flow }: Draft, list: Path): [Path, Labelled][] {
  let at: unknown = flow;
  for (const part of list) at = (at as Record<string | number, unknown> | undefined)?.[part];
  return entries(at as readonly (Labelled | undefined)[] | undefined).map(([i, entry]) => [
    [...list, i],
    entry,
  ]);
}

function doubles(
  words: readonly { readonly path: Path; readonly word: string | undefined }[],
  problem: (word: string) => string,
): Finding[] {
  const firsts = new Map<string, Path>();
  return words.flatMap(({ path, word }): Finding[] => {
    if (word === undefined) return [];
    const plain = word.trim().replace(/\s+/g, ' ').toLowerCase();
    const first = firsts.get(plain);
    if (first) return [{ path, on: 'value', problem: problem(word), instead: 'give each its own', first }];
    firsts.set(plain, path);
    return [];
  });
}

function reservedIds(draft: Draft): Finding[] {
  const findings: Finding[] = [];
  const reserve = (lists: readonly Path[], taken: readonly string[], why: string): void => {
    for (const list of lists) {
      for (const [path, { id }] of listed(draft, list)) {
        if (id === undefined || !taken.includes(id)) continue;
        findings.push({
          path: [...path, 'id'],
          on: 'value',
          problem: `${quote(id)} ${why}`,
          instead: `write a longer id, such as ${quote(`${id}-2`)}`,
        });
      }
    }
  };
  reserve([['faults']], ['otherwise'], 'means "all other faults"');
  reserve([['access']], ['outside'], 'means the closed appliance');
  // Core's own answers and proof steps stand beside these.
  reserve([['complaints']], ['other', 'danger'], 'is an answer that every appliance has');
  reserve([['energy', 'points']], ['known-source-before', 'known-source-after'], 'is a step of every proof');
  const [, , steps = []] = idScopes(draft);
  reserve(steps, QuestionKind.options, 'is the name of a question that every appliance has');
  return findings;
}

/** Two things that read alike cannot be told apart by somebody who taps on them. */
function doubleLabels(draft: Draft): Finding[] {
  const scopes: [Path[], 'label' | 'name', string][] = [
    [[['faults']], 'name', 'two faults are called'],
    [[['complaints']], 'label', 'two complaints read'],
    [[['checks'], ['remedies']], 'name', 'two steps are called'],
    [[['access']], 'name', 'two stages are called'],
    ...entries(draft.flow.details).map(([i]): [Path[], 'label', string] => [
      [['details', i, 'choices']],
      'label',
      'two answers read',
    ]),
    ...entries(draft.flow.checks).flatMap(([i]): [Path[], 'label', string][] => [
      [[['checks', i, 'outcomes']], 'label', 'two outcomes read'],
      [[['checks', i, 'reading', 'bands']], 'label', 'two bands read'],
    ]),
  ];
  return scopes.flatMap(([lists, key, problem]) =>
    doubles(
      lists.flatMap((list) =>
        listed(draft, list).map(([path, entry]) => ({ path: [...path, key], word: entry[key] })),
      ),
      (word) => `${problem} ${quote(word)}`,
    ),
  );
}

function somethingElse({ faults, complete }: FaultNames): Finding[] {
  if (faults.includes('something-else') || !complete || faults.length === 0) return [];
  const meant = faults.find((id) => /^(some|any)(thing)?[-_]?else$|^other(s|-faults?)?$|^unknown$/i.test(id));
  return [
    {
      path: ['faults'],
      on: 'value',
      problem: 'no fault has the id "something-else", for all that the others do not cover',
      instead: meant ? `call ${quote(meant)} so` : 'add it, with its weight',
    },
  ];
}

function groupFindings(draft: Draft, names: FaultNames): Finding[] {
  const { known, complete } = draft.ids(['faults']);
  return Object.entries(draft.flow.groups ?? {}).flatMap(([group, members]): Finding[] => {
    const path: Path = ['groups', group];
    const findings: Finding[] = [];
    if (names.faults.includes(group)) {
      findings.push({
        path,
        on: 'name',
        problem: `the group ${quote(group)} is called like a fault`,
        instead: 'give the group another name',
      });
    }
    if (group === 'otherwise') {
      findings.push({
        path,
        on: 'name',
        problem: '"otherwise" means "all other faults"',
        instead: 'give the group another name',
      });
    }
    if (complete) {
      for (const [i, fault] of entries(members)) {
        if (!known.includes(fault)) {
          findings.push(unknownName([...path, i], 'value', 'fault', fault, known));
        }
      }
    }
    return findings;
  });
}

function sparseFindings(draft: Draft, names: FaultNames): Finding[] {
  const known = [...names.faults, ...names.groups.keys()];
  return allSparse(draft).flatMap(({ path, sparse }) => [
    ...Object.keys(sparse)
      .filter((name) => names.complete && name !== 'otherwise' && !known.includes(name))
      .map((name) => unknownName([...path, name], 'name', 'fault', name, [...known, 'otherwise'])),
    ...torn(path, sparse, names),
  ]);
}

/** A fault in two groups with different values and no line of its own. */
function torn(path: Path, sparse: Readonly<Record<string, unknown>>, names: FaultNames): Finding[] {
  const groups = Object.keys(sparse).filter((name) => names.groups.has(name));
  for (const [i, group] of groups.entries()) {
    for (const other of groups.slice(i + 1)) {
      if (JSON.stringify(sparse[group]) === JSON.stringify(sparse[other])) continue;
      const both = (names.groups.get(group) ?? []).filter(
        (fault) => names.groups.get(other)?.includes(fault) && sparse[fault] === undefined,
      );
      if (both.length === 0) continue;
      return [
        {
          path: [...path, other],
          on: 'name',
          problem: `${some(both.map(quote))} stands in both groups, ${oneOf([group, other].map(quote))}`,
          instead: `add a line for ${some(both.map(quote))}`,
        },
      ];
    }
  }
  return [];
}
