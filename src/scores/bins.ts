import { share as shareOf } from '../rehearsal/statistics.ts';
import { type Binary, mean } from './rules.ts';

/** Forecasts that said about the same, and how often it came true. */
export interface Bin {
  readonly from: number;
  readonly to: number;
  readonly n: number;
  /** Mean forecast in the bin. */
  readonly forecast: number;
  /**
   * The share that came true with its 95 % interval: equal tails of the Beta distribution from the uniform prior, widened to
   * the share itself where all came true, or none.
   */
  readonly share: number;
  readonly low: number;
  readonly high: number;
}

export const tenths: readonly number[] = Array.from({ length: 11 }, (_, i) => i / 10);

/** Members of each bin between `edges` (rising, from 0 to 1; the last end belongs to the last bin). Empty ones are left out. */
export function binned(
  forecasts: readonly Binary[],
  edges = tenths,
): { readonly from: number; readonly to: number; readonly members: readonly Binary[] }[] {
  const last = edges.length - 2;
  const place = ({ p }: Binary): number =>
    Math.min(
      last,
      edges.findLastIndex((edge) => p >= edge),
    );
  return [...Map.groupBy(forecasts, place)]
    .toSorted(([a], [b]) => a - b)
    .map(([i, members]) => ({ from: edges[i] as number, to: edges[i + 1] as number, members }));
}

export const bins = (forecasts: readonly Binary[], edges = tenths): Bin[] =>
  binned(forecasts, edges).map(({ from, to, members }) => {
    const hits = members.filter(({ y }) => y).length;
    const { mean: share, low, high } = shareOf(hits, members.length);
    return { from, to, n: members.length, forecast: mean(members.map(({ p }) => p)), share, low, high };
  });
