/** Chance from a seed: the same seed gives the same cases on every machine. */
export interface Random {
  /** Even in [0, 1). */
  next(): number;
  /** Normal with mean 0 and deviation 1. */
  normal(): number;
  /** Gamma with this shape and scale 1; Marsaglia and Tsang 2000 (from memory), with the boost below shape 1. */
  gamma(shape: number): number;
  /** An index, drawn by weight. */
  pick(weights: ArrayLike<number>): number;
}

/** A stream of its own for each name, so that one more draw in one place moves nothing elsewhere. */
export function random(...name: readonly (string | number)[]): Random {
  // FNV-1a over the name seeds mulberry32; both are common knowledge, from memory.
  let state = 2166136261;
  for (const char of name.join('\u0000')) {
    state = Math.imul(state ^ char.charCodeAt(0), 16777619);
  }
  const next = (): number => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
  for (let i = 0; i < 4; i++) next();
  const normal = (): number => Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next());
  const gamma = (shape: number): number => {
    if (shape < 1) return gamma(shape + 1) * next() ** (1 / shape);
    const d = shape - 1 / 3;
    const c = 1 / Math.sqrt(9 * d);
    for (;;) {
      const x = normal();
      const v = (1 + c * x) ** 3;
      if (v > 0 && Math.log(1 - next()) < 0.5 * x * x + d - d * v + d * Math.log(v)) return d * v;
    }
  };
  return {
    next,
    normal,
    gamma,
    pick(weights) {
      let total = 0;
      for (let i = 0; i < weights.length; i++) total += weights[i] as number;
      let left = next() * total;
      for (let i = 0; i < weights.length; i++) {
        left -= weights[i] as number;
        if (left < 0) return i;
      }
      return weights.length - 1;
    },
  };
}
