import type { Flow } from '../../shared/flow.ts';
import type { Settings } from '../core/settings.ts';
import { tablesOf } from '../core/step.ts';
import { merged, type Tally, type Weighted, weighted } from './counts.ts';
import type { Decided } from './decided.ts';
import { digestOf } from './digest.ts';
import { imported } from './exchange.ts';
import type { Learnt } from './learnt.ts';
import type { LearnSettings } from './posterior.ts';
import { type Proposal, propose } from './propose.ts';

/** What has been learnt of one flow by now, and what of it is used. */
export interface FlowFigures {
  readonly flow: Flow;
  /** The community's own confirmed cases. */
  readonly cases: number;
  /** What other communities sent. */
  readonly others: readonly { readonly from: string; readonly day: string; readonly cases: number }[];
  /** Accepted numbers; `stale`: beside another version of the flow, so they are not used. */
  readonly accepted: { readonly learnt: Learnt; readonly numbers: string; readonly stale: boolean } | null;
  readonly proposals: readonly Proposal[];
}

export const learnSettings = ({ community }: Settings): LearnSettings => ({
  strength: community.learning.strengths,
  reliability: community.reliability,
});

/** `flow` is the file's. */
export function figuresOf(
  flow: Flow,
  tally: Tally,
  { learnt, imports }: Pick<Decided, 'learnt' | 'imports'>,
  settings: Settings,
  at: number,
): FlowFigures {
  const { half_life_days: halfLife, by } = settings.community.learning;
  const theirs = imports.filter((one) => one.flow === flow.flow);
  const own = weighted(tally, flow.flow, at);
  const counts: Weighted = merged([
    own,
    ...theirs.map(({ exchange }) => imported(exchange, flow.flow, at, halfLife)),
  ]);
  const accepted = learnt.get(flow.flow);
  return {
    flow,
    cases: own.cases,
    others: theirs.map(({ exchange: { from, day, flows } }) => ({
      from,
      day,
      cases: flows[flow.flow]?.cases ?? 0,
    })),
    accepted: accepted
      ? { learnt: accepted, numbers: digestOf(accepted), stale: accepted.version !== flow.version }
      : null,
    proposals: propose(tablesOf(flow, settings), tally, counts, learnSettings(settings), by),
  };
}
