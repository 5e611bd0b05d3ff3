import { betaInterval } from './beta.ts';

/** A mean with an interval that holds the true one with 95 %. */
export interface Estimate {
  readonly mean: number;
  readonly low: number;
  readonly high: number;
}

const z = 1.959963984540054;

/** Of many values: normal interval around the mean. Fewer than two tell nothing of their spread: both ends are the mean. */
export function estimate(values: readonly number[]): Estimate {
  const n = values.length;
  const mean = values.reduce((a, b) => a + b, 0) / Math.max(1, n);
  const variance = n > 1 ? values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / (n - 1) : 0;
  const half = z * Math.sqrt(variance / Math.max(1, n));
  return { mean, low: mean - half, high: mean + half };
}

/** Of a share: the equal-tailed interval from the uniform prior, widened to the share itself where none or all hit. */
export function share(hits: number, n: number): Estimate {
  if (n === 0) return { mean: 0, low: 0, high: 1 };
  const mean = hits / n;
  const { low, high } = betaInterval(hits, n);
  return { mean, low: Math.min(mean, low), high: Math.max(mean, high) };
}
