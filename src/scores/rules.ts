/** Proper scores of probabilities. Logarithms are natural; smaller is better everywhere. */

/** One yes-or-no forecast and what came. */
export interface Binary {
  readonly p: number;
  readonly y: boolean;
}

/** Probabilities by name, summing to 1, and the name that it was. */
export interface Many {
  readonly belief: Readonly<Record<string, number>>;
  readonly truth: string;
}

/** A probability of 0 for what came would be infinitely wrong; it counts as this much. */
const least = 1e-12;

export const mean = (values: readonly number[]): number =>
  values.reduce((sum, one) => sum + one, 0) / Math.max(1, values.length);

/** A name that nobody thought of was given nothing; "constructor" is a name like any other. */
export const given = ({ belief }: Pick<Many, 'belief'>, name: string): number =>
  Object.hasOwn(belief, name) ? (belief[name] as number) : 0;

/** −log of what was given to what it was, nats. */
export const logScore = (one: Many): number => -Math.log(Math.max(given(one, one.truth), least));

/** Sum of squares over all that it could have been: 0 is perfect, 2 the worst (Brier 1950). */
export const brierMany = (one: Many): number =>
  [...new Set([...Object.keys(one.belief), one.truth])].reduce(
    (sum, name) => sum + (given(one, name) - (name === one.truth ? 1 : 0)) ** 2,
    0,
  );

/** Mean square of yes-or-no forecasts. */
export const brier = (forecasts: readonly Binary[]): number =>
  mean(forecasts.map(({ p, y }) => (p - (y ? 1 : 0)) ** 2));

/** Mean −log of what was given to what came, nats. */
export const logLoss = (forecasts: readonly Binary[]): number =>
  mean(forecasts.map(({ p, y }) => -Math.log(Math.max(y ? p : 1 - p, least))));

/** How spread a belief is, nats: 0 when it is sure. */
export const entropy = (belief: Many['belief']): number =>
  Object.values(belief).reduce((sum, p) => (p > 0 ? sum - p * Math.log(p) : sum), 0);

/** 1 − score / reference: the share of the other's loss that is saved. Null where the other loses nothing. */
export const skill = (score: number, reference: number): number | null =>
  reference > 0 ? 1 - score / reference : null;

/** Names by their chance, likeliest first; of equal ones the first by letters, so that it is always the same. */
export const ranked = ({ belief }: Pick<Many, 'belief'>): readonly (readonly [string, number])[] =>
  Object.entries(belief).toSorted(([a, p], [b, q]) => q - p || (a < b ? -1 : 1));
