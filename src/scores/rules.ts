import { share as shareOf } from '../rehearsal/statistics.ts';

/** Proper scores of probabilities, and how they come apart. Logarithms are natural. */

/** One yes-or-no forecast and what came. */
export interface Binary {
  readonly p: number;
  readonly y: boolean;
}

/** Probabilities by name, summing to 1, and the name that it was. */
export interface Many {
  readonly belief: ReadonlyMap<string, number>;
  readonly truth: string;
}

const mean = (values: readonly number[]): number =>
  values.reduce((sum, one) => sum + one, 0) / Math.max(1, values.length);
const one = (y: boolean): number => (y ? 1 : 0);

/** −log of what was given to what it was, in nats; a probability of 0 would be infinitely wrong and counts as 1e-12. */
export const logScore = ({ belief, truth }: Many): number =>
  -Math.log(Math.max(belief.get(truth) ?? 0, 1e-12));

/** Sum of squares over all that it could have been: 0 is perfect, 2 the worst. */
export const brierMany = ({ belief, truth }: Many): number =>
  [...new Set([...belief.keys(), truth])].reduce(
    (sum, name) => sum + ((belief.get(name) ?? 0) - one(name === truth)) ** 2,
    0,
  );

/** Mean square of a yes-or-no forecast. */
export const brier = (forecasts: readonly Binary[]): number =>
  mean(forecasts.map(({ p, y }) => (p - one(y)) ** 2));

/** Mean −log of what was given to what came, nats. */
export const logLoss = (forecasts: readonly Binary[]): number =>
  mean(forecasts.map(({ p, y }) => -Math.log(Math.max(y ? p : 1 - p, 1e-12))));

/** How spread a belief is, in nats: 0 when it is sure. */
export const entropy = (belief: ReadonlyMap<string, number>): number =>
  [...belief.values()].reduce((sum, p) => (p > 0 ? sum - p * Math.log(p) : sum), 0);

export interface Bin {
  readonly from: number;
  readonly to: number;
  readonly n: number;
  /** Mean forecast in the bin, and the share that came true with its 95 % interval (Beta, uniform prior). */
  readonly forecast: number;
  readonly share: number;
  readonly low: number;
  readonly high: number;
}

/** Forecasts by tenths, or by `edges` (rising, from 0 to 1; the last end belongs to the last bin). Empty bins are left out. */
export function bins(forecasts: readonly Binary[], edges = tenths): Bin[] {
  return edges.slice(0, -1).flatMap((from, i): Bin[] => {
    const to = edges[i + 1] as number;
    const last = i === edges.length - 2;
    const inside = forecasts.filter(({ p }) => p >= from && (p < to || (last && p <= to)));
    if (inside.length === 0) return [];
    const hits = inside.filter(({ y }) => y).length;
    const { low, high } = shareOf(hits, inside.length);
    return [
      {
        from,
        to,
        n: inside.length,
        forecast: mean(inside.map(({ p }) => p)),
        share: hits / inside.length,
        low,
        high,
      },
    ];
  });
}

const tenths = Array.from({ length: 11 }, (_, i) => i / 10);

export interface Murphy {
  readonly brier: number;
  readonly reliability: number;
  readonly resolution: number;
  readonly uncertainty: number;
  /** 1 − Brier / uncertainty: what is gained over always saying the base rate. */
  readonly skill: number;
  /** Mean distance of forecast and share, by bins (expected calibration error). */
  readonly calibration: number;
}

/**
 * Murphy's decomposition (Murphy 1973, Journal of Applied Meteorology 12): Brier = reliability − resolution + uncertainty, exact
 * where each bin holds one forecast value, as it does here: forecasts are grouped by their value, not by tenths.
 */
export function murphy(forecasts: readonly Binary[]): Murphy {
  const n = Math.max(1, forecasts.length);
  const base = mean(forecasts.map(({ y }) => one(y)));
  const groups = Map.groupBy(forecasts, ({ p }) => p);
  let [reliability, resolution, calibration] = [0, 0, 0];
  for (const [p, members] of groups) {
    const share = mean(members.map(({ y }) => one(y)));
    const weight = members.length / n;
    reliability += weight * (p - share) ** 2;
    resolution += weight * (share - base) ** 2;
    calibration += weight * Math.abs(p - share);
  }
  const uncertainty = base * (1 - base);
  const score = brier(forecasts);
  return {
    brier: score,
    reliability,
    resolution,
    uncertainty,
    skill: uncertainty === 0 ? 0 : 1 - score / uncertainty,
    calibration,
  };
}
