import { type Estimate, estimate, share } from '../rehearsal/statistics.ts';
import { type Bin, bins } from './bins.ts';
import type { Forecast } from './forecast.ts';
import { type Murphy, murphy, murphyMany, weighted } from './murphy.ts';
import { type Binary, brierMany, entropy, logScore, type Many, mean, ranked, skill } from './rules.ts';

/** How good the forecasts of one source were, all of them together. */
export interface Summary {
  readonly cases: number;
  /** Mean, nats. */
  readonly log: number;
  /** Mean over all faults, 0 to 2. */
  readonly brier: number;
  /** Mean entropy of the beliefs, nats: how bold they were. Odds that are right have a mean log score of the same size. */
  readonly sharpness: number;
  /** Shares in which what it was came first, and among the first three; with 95 % intervals as those of the bins. */
  readonly top1: Estimate;
  readonly top3: Estimate;
  /** Of the likeliest fault: was it right as often as was said? */
  readonly reliability: readonly Bin[];
  readonly murphy: Murphy;
  /** Brier over all faults, taken apart within each flow, since flows have other faults; weighted by cases. */
  readonly murphyMany: Murphy;
  readonly cost: CostSummary | null;
}

/** Means over the cases that have a cost, in the community's currency. */
export interface CostSummary {
  readonly cases: number;
  readonly expected: number;
  readonly was: number;
  /** was − expected, with its 95 % interval; of one case both ends are the difference itself. */
  readonly difference: Estimate;
  /** Distance of a case's cost from what was expected of it. */
  readonly distance: number;
}

/** Null where there is nothing to summarise: no score is not a score of 0. */
export function summarise(forecasts: readonly Forecast[]): Summary | null {
  if (forecasts.length === 0) return null;
  const orders = forecasts.map((one) => ({ order: ranked(one), truth: one.truth }));
  const top: Binary[] = orders.flatMap(({ order: [first], truth }) =>
    first ? [{ p: first[1], y: first[0] === truth }] : [],
  );
  const among = (n: number): Estimate =>
    share(
      orders.filter(({ order, truth }) => order.slice(0, n).some(([name]) => name === truth)).length,
      orders.length,
    );
  return {
    cases: forecasts.length,
    log: mean(forecasts.map(logScore)),
    brier: mean(forecasts.map(brierMany)),
    sharpness: mean(forecasts.map(({ belief }) => entropy(belief))),
    top1: among(1),
    top3: among(3),
    reliability: bins(top),
    murphy: murphy(top),
    murphyMany: weighted(
      [...Map.groupBy(forecasts, ({ flow }) => flow).values()].map((members) => {
        const weight = members.length / forecasts.length;
        return { weight, of: murphyMany(members), share: weight };
      }),
    ),
    cost: costs(forecasts),
  };
}

function costs(forecasts: readonly Forecast[]): CostSummary | null {
  const known = forecasts.flatMap(({ cost }) => cost ?? []);
  if (known.length === 0) return null;
  const differences = known.map(({ expected, was }) => was - expected);
  return {
    cases: known.length,
    expected: mean(known.map(({ expected }) => expected)),
    was: mean(known.map(({ was }) => was)),
    difference: estimate(differences),
    distance: mean(differences.map(Math.abs)),
  };
}

/** One source against another, over the same truths. */
export interface Comparison {
  /** Share of the other's mean score that is saved; null where the other loses nothing. */
  readonly log: number | null;
  readonly brier: number | null;
  /** What a case gains, other − own log score, nats, case by case, with its 95 % interval. Above 0: better than the other. */
  readonly gain: Estimate;
}

/** Throws RangeError unless both are about the same truths in the same order, at least one. */
export function compare(own: readonly Many[], other: readonly Many[]): Comparison {
  if (
    own.length === 0 ||
    own.length !== other.length ||
    own.some(({ truth }, i) => truth !== other[i]?.truth)
  )
    throw new RangeError('only forecasts of the same truths can be compared');
  const [a, b] = [own.map(logScore), other.map(logScore)];
  return {
    log: skill(mean(a), mean(b)),
    brier: skill(mean(own.map(brierMany)), mean(other.map(brierMany))),
    gain: estimate(a.map((score, i) => (b[i] as number) - score)),
  };
}
