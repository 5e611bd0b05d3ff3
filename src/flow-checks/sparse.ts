import type { Path } from '../files/finding.ts';
import { type Draft, entries } from './draft.ts';

/** Values by fault as a file gives them: a fault's own line, else that of its group, else `otherwise`. */
export type SparseValues<V> = Readonly<Record<string, V | undefined>>;

/** Faults and groups of a flow, as far as they could be read. */
export interface FaultNames {
  readonly faults: readonly string[];
  readonly complete: boolean;
  readonly groups: ReadonlyMap<string, readonly string[]>;
  /** Groups whose members are all known faults. */
  readonly soundGroups: ReadonlySet<string>;
}

export function faultNames(draft: Draft): FaultNames {
  const { known, complete } = draft.ids(['faults']);
  const groups = new Map<string, readonly string[]>();
  const soundGroups = new Set<string>();
  for (const [name, members] of Object.entries(draft.flow.groups ?? {})) {
    const faults = entries(members).map(([, fault]) => fault);
    groups.set(name, faults);
    if (draft.sound(['groups', name]) && faults.every((fault) => known.includes(fault)))
      soundGroups.add(name);
  }
  return { faults: known, complete: complete && draft.sound(['groups']), groups, soundGroups };
}

export function valueFor<V>(sparse: SparseValues<V>, fault: string, names: FaultNames): V | undefined {
  const own = sparse[fault];
  if (own !== undefined) return own;
  for (const [name, value] of Object.entries(sparse)) {
    if (value !== undefined && names.groups.get(name)?.includes(fault)) return value;
  }
  return sparse.otherwise;
}

/** Every name in it stands for something, so that sums over it mean something. */
export function isClear(sparse: SparseValues<unknown>, names: FaultNames): boolean {
  return Object.keys(sparse).every(
    (name) => name === 'otherwise' || names.faults.includes(name) || names.soundGroups.has(name),
  );
}

/** All places of a flow where values are given by fault. */
export function allSparse({ flow }: Draft): { path: Path; sparse: SparseValues<unknown> }[] {
  const all: { path: Path; sparse: SparseValues<unknown> }[] = [];
  const add = (path: Path, sparse: SparseValues<unknown> | undefined): void => {
    if (sparse) all.push({ path, sparse });
  };
  for (const [i, complaint] of entries(flow.complaints)) add(['complaints', i, 'likely'], complaint.likely);
  for (const [i, detail] of entries(flow.details)) {
    for (const [j, choice] of entries(detail.choices)) {
      add(['details', i, 'choices', j, 'likely'], choice.likely);
    }
  }
  for (const [i, check] of entries(flow.checks)) {
    for (const [j, outcome] of entries(check.outcomes)) {
      add(['checks', i, 'outcomes', j, 'likely'], outcome.likely);
    }
    add(['checks', i, 'reading', 'expect'], check.reading?.expect);
  }
  for (const [i, remedy] of entries(flow.remedies)) add(['remedies', i, 'cures'], remedy.cures);
  return all;
}
