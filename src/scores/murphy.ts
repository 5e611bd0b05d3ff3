import { binned } from './bins.ts';
import { type Binary, brier, given, type Many, mean, skill } from './rules.ts';

/** How a Brier score comes apart: brier = reliability − resolution + uncertainty + within. */
export interface Murphy {
  readonly brier: number;
  /** Mean square distance of what was said and what came, by groups: 0 is best. */
  readonly reliability: number;
  /** How far the groups differ in what came: more is better. */
  readonly resolution: number;
  /** What always saying the base rate would score. */
  readonly uncertainty: number;
  /** What is lost, or won, by forecasts differing within a group; 0 where each group holds one value. */
  readonly within: number;
  /** 1 − brier / uncertainty: what is gained over the base rate; null where everything came out alike. */
  readonly skill: number | null;
  /** Mean distance of what was said and what came, by groups (expected calibration error). */
  readonly calibration: number;
}

/**
 * Murphy's decomposition (Murphy 1973, J. Appl. Met. 12:595) of yes-or-no forecasts in tenths, with the part within groups
 * that makes it exact (Stephenson, Coelho and Jolliffe 2008, Weather and Forecasting 23:752). Beliefs hardly ever repeat to the
 * last digit: grouped by value, each would be a group of its own, and reliability would be nearly the whole score.
 */
export const murphy = (forecasts: readonly Binary[]): Murphy =>
  apart(
    forecasts,
    binned(forecasts).map(({ members }) => members),
  );

/** Grouped by what was said to the last digit, for forecasts of few values: `within` is 0. */
export const murphyByValue = (forecasts: readonly Binary[]): Murphy =>
  apart(forecasts, [...Map.groupBy(forecasts, ({ p }) => p).values()]);

const one = (y: boolean): number => (y ? 1 : 0);

function apart(forecasts: readonly Binary[], groups: readonly (readonly Binary[])[]): Murphy {
  const n = Math.max(1, forecasts.length);
  const base = mean(forecasts.map(({ y }) => one(y)));
  let [reliability, resolution, within, calibration] = [0, 0, 0, 0];
  for (const members of groups) {
    const said = mean(members.map(({ p }) => p));
    const came = mean(members.map(({ y }) => one(y)));
    const weight = members.length / n;
    reliability += weight * (said - came) ** 2;
    resolution += weight * (came - base) ** 2;
    calibration += weight * Math.abs(said - came);
    // Variance less twice the covariance with what came.
    for (const { p, y } of members) within += ((p - said) ** 2 - 2 * (p - said) * (one(y) - came)) / n;
  }
  const uncertainty = base * (1 - base);
  const score = brier(forecasts);
  return {
    brier: score,
    reliability,
    resolution,
    uncertainty,
    within,
    skill: skill(score, uncertainty),
    calibration,
  };
}

/**
 * The same for forecasts over many names: each name is a yes-or-no forecast, and the parts add up over the names.
 * `calibration` is the mean over the names.
 */
export function murphyMany(forecasts: readonly Many[]): Murphy {
  const names = new Set(forecasts.flatMap(({ belief, truth }) => [...Object.keys(belief), truth]));
  const parts = [...names].map((name) =>
    murphy(forecasts.map((one) => ({ p: given(one, name), y: one.truth === name }))),
  );
  return weighted(parts.map((of) => ({ weight: 1, of, share: 1 / names.size })));
}

/** Parts added up by weight; `share` is the weight of the calibration error, which is a mean. */
export function weighted(
  parts: readonly { readonly weight: number; readonly of: Murphy; readonly share: number }[],
): Murphy {
  const sum = (part: Exclude<keyof Murphy, 'skill' | 'calibration'>): number =>
    parts.reduce((total, { weight, of }) => total + weight * of[part], 0);
  const [score, uncertainty] = [sum('brier'), sum('uncertainty')];
  return {
    brier: score,
    reliability: sum('reliability'),
    resolution: sum('resolution'),
    uncertainty,
    within: sum('within'),
    skill: skill(score, uncertainty),
    calibration: parts.reduce((total, { share, of }) => total + share * of.calibration, 0),
  };
}
