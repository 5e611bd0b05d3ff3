import type { Forecast } from './forecast.ts';
import {
  type Bin,
  type Binary,
  bins,
  brierMany,
  entropy,
  logScore,
  type Many,
  type Murphy,
  murphy,
} from './rules.ts';

/** How good forecasts were, all of them together. */
export interface Summary {
  readonly cases: number;
  /** Mean, nats; smaller is better. */
  readonly log: number;
  /** Mean over all faults, 0 to 2. */
  readonly brier: number;
  /** Mean entropy of the beliefs, nats: how bold they were. */
  readonly sharpness: number;
  readonly top1: number;
  readonly top3: number;
  /** Of the likeliest fault: was it right as often as was said? */
  readonly reliability: readonly Bin[];
  readonly murphy: Murphy;
}

const mean = (values: readonly number[]): number =>
  values.reduce((sum, one) => sum + one, 0) / Math.max(1, values.length);
const ranked = ({ belief }: Many): readonly (readonly [string, number])[] =>
  [...belief].toSorted(([a, p], [b, q]) => q - p || (a < b ? -1 : 1));

export function summarise(forecasts: readonly Many[]): Summary {
  const tops = forecasts.map((one) => ({ ranked: ranked(one), truth: one.truth }));
  const top: Binary[] = tops.flatMap(({ ranked: [first], truth }) =>
    first ? [{ p: first[1], y: first[0] === truth }] : [],
  );
  const among = (n: number): number =>
    mean(
      tops.map(({ ranked: order, truth }) => (order.slice(0, n).some(([name]) => name === truth) ? 1 : 0)),
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
  };
}

export interface Scores {
  readonly flow: string;
  readonly desk: Summary;
  /** The same cases by the flow's weights alone. */
  readonly commonest: Summary;
  /** By month, YYYY-MM: mean log score of the desk. */
  readonly months: readonly { readonly month: string; readonly cases: number; readonly log: number }[];
}

/** Per flow, and all of them as `all`. */
export function scores(forecasts: readonly Forecast[]): Scores[] {
  const flows = [...new Set(forecasts.map(({ flow }) => flow))].toSorted();
  const of = (flow: string, list: readonly Forecast[]): Scores => ({
    flow,
    desk: summarise(list),
    commonest: summarise(list.map(({ truth, commonest }) => ({ truth, belief: commonest }))),
    months: [...Map.groupBy(list, ({ at }) => new Date(at).toISOString().slice(0, 7))]
      .toSorted(([a], [b]) => (a < b ? -1 : 1))
      .map(([month, members]) => ({ month, cases: members.length, log: mean(members.map(logScore)) })),
  });
  return [
    of('all', forecasts),
    ...flows.map((flow) =>
      of(
        flow,
        forecasts.filter((one) => one.flow === flow),
      ),
    ),
  ];
}
