/** A mean with its 95 % confidence interval. */
export interface Estimate {
  readonly mean: number;
  readonly low: number;
  readonly high: number;
}

const z = 1.959963984540054;

/** Of many values: normal interval around the mean. */
export function estimate(values: readonly number[]): Estimate {
  const n = values.length;
  const mean = values.reduce((a, b) => a + b, 0) / Math.max(1, n);
  const variance = n > 1 ? values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / (n - 1) : 0;
  const half = z * Math.sqrt(variance / Math.max(1, n));
  return { mean, low: mean - half, high: mean + half };
}

/** Of a share: Wilson's interval (Wilson 1927, from memory), which is right near 0 and 1 too. */
export function share(hits: number, n: number): Estimate {
  if (n === 0) return { mean: 0, low: 0, high: 1 };
  const p = hits / n;
  const scale = 1 + (z * z) / n;
  const middle = (p + (z * z) / (2 * n)) / scale;
  const half = (z * Math.sqrt((p * (1 - p)) / n + (z * z) / (4 * n * n))) / scale;
  return { mean: p, low: Math.max(0, middle - half), high: Math.min(1, middle + half) };
}
