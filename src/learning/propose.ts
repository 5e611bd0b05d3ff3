import type { Tables } from '../core/tables.ts';
import { cureCell, detailCell, faultCell, noComplaint, seenCell } from './cells.ts';
import { casesBehind, type Tally, type Weighted, weighted } from './counts.ts';
import type { Distribution, Learnt } from './learnt.ts';
import {
  complaintShares,
  complaintsOf,
  cureRate,
  type Figure,
  faultsGiven,
  faultsOfChoice,
  type LearnSettings,
  outcomeShares,
} from './posterior.ts';

/** What the counts would change, beside the file's numbers. Nothing of it is used until somebody accepts it. */
export interface Proposal {
  /** Stable: the kind and the names it is about. */
  readonly id: string;
  readonly distribution: Distribution;
  /** The file's own number lies outside the interval somewhere. */
  readonly clear: boolean;
  /** Ids of the community's own cases behind it. */
  readonly cases: readonly string[];
}

/**
 * Proposals for everything that was counted, in the flow's order. `counts` are the tally's on that day, with other communities'
 * added where there are any. `by`: a detail whose choices (makes, models) get faults of their own; null for none.
 */
export function propose(
  tables: Tables,
  tally: Tally,
  counts: Weighted,
  settings: LearnSettings,
  by: string | null = null,
): Proposal[] {
  const { flow, faults } = tables;
  const behind = casesBehind(tally, flow.flow);
  const proposals: (Proposal | null)[] = [];
  const complaints = complaintsOf(tables);
  proposals.push(
    proposal(
      (shares) => ({ kind: 'complaints', shares }),
      complaints,
      complaintShares(tables, counts, settings),
      () => behind('faults/'),
    ),
  );
  for (const complaint of complaints)
    proposals.push(
      proposal(
        (shares) => ({ kind: 'faults', complaint, shares }),
        faults,
        faultsGiven(tables, counts, complaint, settings),
        () => behind(faultCell(complaint)),
      ),
    );
  for (const { id: choice } of flow.details.find(({ id }) => id === by)?.choices ?? [])
    for (const complaint of complaints)
      proposals.push(
        proposal(
          (shares) => ({ kind: 'choice', detail: by as string, choice, complaint, shares }),
          faults,
          faultsOfChoice(tables, counts, { detail: by as string, choice, complaint }, settings),
          () => behind(detailCell(by as string, choice, complaint)),
        ),
      );
  for (const fault of faults) {
    for (const remedy of tables.cures.keys()) {
      const rate = cureRate(tables, counts, { remedy, fault }, settings);
      proposals.push(
        proposal(
          (shares) => ({ kind: 'cure', remedy, fault, shares }),
          ['worked'],
          rate ? [rate] : [],
          () => behind(cureCell(remedy, fault)),
        ),
      );
    }
    for (const [check, { outcomes }] of tables.checks)
      proposals.push(
        proposal(
          (shares) => ({ kind: 'outcomes', check, fault, shares }),
          outcomes,
          outcomeShares(tables, counts, { check, fault }, settings),
          () => behind(seenCell(check, fault)),
        ),
      );
  }
  return proposals.filter((one) => one !== null);
}

/** Proposals of a tally alone, as it weighs at a time (milliseconds). */
export const proposeFrom = (
  tables: Tables,
  tally: Tally,
  at: number,
  settings: LearnSettings,
  by: string | null = null,
): Proposal[] => propose(tables, tally, weighted(tally, tables.flow.flow, at), settings, by);

function proposal(
  make: (shares: Record<string, Figure>) => Distribution,
  names: readonly string[],
  figures: readonly Figure[],
  behind: () => string[],
): Proposal | null {
  if (figures.every(({ count }) => count === 0)) return null;
  const distribution = make(Object.fromEntries(names.map((name, i) => [name, figures[i] as Figure])));
  return {
    id: nameOf(distribution),
    distribution,
    clear: figures.some(({ file, low, high }) => file < low || file > high),
    cases: behind(),
  };
}

export interface Acceptance {
  readonly at: number;
  /** Id of who accepts. */
  readonly by: string;
}

/**
 * Accepted proposals as what is used from now on, in place of what was accepted before: of the same numbers the new ones, of others
 * the old ones, as long as they belong to the same version of the flow.
 */
export function accept(
  proposals: readonly Proposal[],
  { flow }: Tables,
  settings: LearnSettings,
  { at, by }: Acceptance,
  before: Learnt | null = null,
): Learnt {
  const kept = before && before.flow === flow.flow && before.version === flow.version ? before : null;
  const distributions = new Map(
    [...(kept?.distributions ?? []), ...proposals.map(({ distribution }) => distribution)].map((one) => [
      nameOf(one),
      one,
    ]),
  );
  return {
    learnt: 1,
    flow: flow.flow,
    version: flow.version,
    at,
    by,
    trust: settings.reliability.handy,
    distributions: [...distributions.values()],
  };
}

/** A name without blanks or brackets, which shells take for something else. */
export function nameOf(one: Distribution): string {
  switch (one.kind) {
    case 'complaints':
      return one.kind;
    case 'faults':
      return `faults/${spelt(one.complaint)}`;
    case 'choice':
      return `choice/${one.detail}/${one.choice}/${spelt(one.complaint)}`;
    case 'cure':
      return `cure/${one.remedy}/${one.fault}`;
    case 'outcomes':
      return `outcomes/${one.check}/${one.fault}`;
  }
}

/** No id of a flow has that sign in it. */
const spelt = (complaint: string): string => (complaint === noComplaint ? 'none_stated' : complaint);
