/** Random problems from a seed: small ones of every shape for exact comparison, and ones of a realistic shape. */
import type { Cost, Problem, ProblemStep } from '../../../src/core/plan/problem.ts';

/** A stream of numbers in [0, 1) (mulberry32, public domain). */
export function randomFrom(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let x = Math.imul(state ^ (state >>> 15), 1 | state);
    x = (x + Math.imul(x ^ (x >>> 7), 61 | x)) ^ x;
    return ((x ^ (x >>> 14)) >>> 0) / 4294967296;
  };
}

export interface Sizes {
  readonly faults: readonly [number, number];
  readonly checks: readonly [number, number];
  readonly remedies: readonly [number, number];
  /** Chance that a step may be done twice. */
  readonly twice: number;
  /** Chance that a likelihood or a cure is 0 or 1. */
  readonly sharp: number;
}

export const small: Sizes = { faults: [3, 5], checks: [1, 3], remedies: [2, 4], twice: 0.15, sharp: 0.25 };
export const middle: Sizes = { faults: [5, 8], checks: [4, 5], remedies: [4, 5], twice: 0, sharp: 0.1 };

/** A problem with any mixture of what the rules know, and a prior for it. */
export function randomProblem(seed: number, sizes: Sizes): { problem: Problem; prior: Float64Array } {
  const random = randomFrom(seed);
  const whole = ([from, to]: readonly [number, number]) => from + Math.floor(random() * (to - from + 1));
  const chance = (p: number) => random() < p;
  const amount = (top: number) => Math.round(random() * top * 10) / 10;
  const cost = (minutes: number, wait: number, money: number): Cost => ({
    minutes: amount(minutes),
    wait: chance(0.3) ? amount(wait) : 0,
    money: chance(0.3) ? amount(money) : 0,
  });
  const zero: Cost = { minutes: 0, wait: 0, money: 0 };

  const faults = whole(sizes.faults);
  const covers = whole([0, 2]);
  const nested = chance(0.5);
  const stage = () => (covers === 0 || chance(0.4) ? -1 : whole([0, covers - 1]));
  const times = () => (chance(sizes.twice) ? 2 : 1);
  const steps: ProblemStep[] = [];
  const checks = whole(sizes.checks);
  for (let c = 0; c < checks; c++) {
    const where = stage();
    const outcomes = whole([2, 3]);
    const rows = Array.from({ length: outcomes }, () => new Float64Array(faults));
    for (let f = 0; f < faults; f++) {
      const column = chance(sizes.sharp)
        ? rows.map((_, o) => (o === f % outcomes ? 1 : 0))
        : rows.map(() => random() ** 2 + 0.002);
      const total = column.reduce((a, b) => a + b, 0);
      rows.forEach((row, o) => {
        row[f] = (column[o] as number) / total;
      });
    }
    const earlier = c > 0 && chance(0.15) ? [{ step: whole([0, c - 1]), outcome: whole([0, 1]) }] : [];
    const power =
      where === -1
        ? (['off', 'on'] as const)[whole([0, 1])]
        : (['off', 'on', 'look'] as const)[whole([0, 2])];
    steps.push({
      id: `c${c}`,
      kind: 'check',
      cost: cost(4, 10, 2),
      stage: where,
      power: power ?? 'off',
      times: times(),
      needs: earlier,
      outcomes: rows,
    });
  }
  const remedies = whole(sizes.remedies);
  for (let r = 0; r < remedies; r++) {
    const cures = new Float64Array(faults);
    cures[r % faults] = chance(sizes.sharp) ? 1 : 0.3 + 0.69 * random();
    for (let f = 0; f < faults; f++) if (chance(0.25)) cures[f] = random();
    steps.push({
      id: `r${r}`,
      kind: 'remedy',
      cost: cost(15, 20, 15),
      stage: stage(),
      power: 'off',
      times: times(),
      needs: chance(0.2) ? [{ step: whole([0, checks - 1]), outcome: whole([0, 1]) }] : [],
      cures,
      alone: chance(0.15),
    });
  }
  const stops = Array.from({ length: whole([1, 2]) }, (_, k) => ({
    id: `s${k}`,
    cost: Float64Array.from({ length: faults }, () => (k === 0 ? 40 : 30) + (chance(0.5) ? amount(30) : 0)),
  }));
  const problem: Problem = {
    faults,
    steps,
    stages: Array.from({ length: covers }, (_, index) => ({
      behind: nested ? index - 1 : -1,
      open: cost(8, 0, 0),
    })),
    stops,
    discharge: chance(0.6) ? cost(4, 10, 0) : zero,
    test: chance(0.6) ? cost(4, 0, 0) : zero,
    testShut: chance(0.5),
    rates: { minute: 1, wait: 0.2 },
  };
  return { problem, prior: Float64Array.from({ length: faults }, () => random() + 0.05) };
}

/**
 * A problem of the shape of a real appliance: `size` 1 has 20 faults, 25 checks, 20 remedies. Most checks tell a few
 * faults from the rest, cheap ones are outside, two nested covers, a wait for discharge, a referral and a new one.
 */
export function applianceProblem(seed: number, size: number): { problem: Problem; prior: Float64Array } {
  const random = randomFrom(seed * 7919 + size);
  const between = (from: number, to: number) => from + (to - from) * random();
  const pick = (count: number) => Math.floor(random() * count);
  const faults = 20 * size;
  const depth = Array.from({ length: faults }, () => (random() < 0.35 ? -1 : random() < 0.6 ? 0 : 1));
  const steps: ProblemStep[] = [];
  for (let c = 0; c < 25 * size; c++) {
    const stage = random() < 0.5 ? -1 : random() < 0.6 ? 0 : 1;
    const draw = random();
    const power =
      stage === -1 ? (draw < 0.7 ? 'on' : 'off') : draw < 0.65 ? 'off' : draw < 0.85 ? 'on' : 'look';
    const outcomes = draw < 0.5 ? 2 : draw < 0.8 ? 3 : 4;
    const rows = Array.from({ length: outcomes }, () => new Float64Array(faults));
    const column = (special: number) => {
      const values = Array.from({ length: outcomes }, (_, o) =>
        o === special ? between(3, 30) : between(0.1, 1),
      );
      const total = values.reduce((a, b) => a + b, 0);
      return values.map((value) => 0.95 * (value / total) + 0.05 / outcomes);
    };
    const otherwise = column(0);
    for (let f = 0; f < faults; f++) {
      const near = depth[f] === stage ? 0.45 : 0.2;
      const values = random() < near ? column(1 + pick(outcomes - 1)) : otherwise;
      rows.forEach((row, o) => {
        row[f] = values[o] as number;
      });
    }
    steps.push({
      id: `c${c}`,
      kind: 'check',
      cost: { minutes: stage === -1 ? between(1, 5) : between(2, 12), wait: 0, money: 0 },
      stage,
      power,
      times: 1,
      needs: [],
      outcomes: rows,
    });
  }
  for (let r = 0; r < 20 * size; r++) {
    const cures = new Float64Array(faults);
    const main = r % faults;
    cures[main] = between(0.6, 0.98);
    for (let more = pick(5); more > 0; more--) {
      const f = pick(faults);
      if (depth[f] === depth[main]) cures[f] = Math.max(cures[f] as number, between(0.2, 0.9));
    }
    const part = random() < 0.5;
    steps.push({
      id: `r${r}`,
      kind: 'remedy',
      cost: { minutes: between(2, 40), wait: part ? between(0, 3000) : 0, money: part ? between(3, 40) : 0 },
      stage: depth[main] as number,
      power: 'off',
      times: 1,
      needs: random() < 0.1 ? [{ step: pick(25 * size), outcome: 1 }] : [],
      cures,
      alone: random() < 0.1,
    });
  }
  const referral = Float64Array.from({ length: faults }, () => between(50, 110));
  const problem: Problem = {
    faults,
    steps,
    stages: [
      { behind: -1, open: { minutes: between(8, 20), wait: 0, money: 0 } },
      { behind: 0, open: { minutes: between(5, 25), wait: 0, money: 0 } },
    ],
    stops: [
      { id: 'referral', cost: referral },
      { id: 'new', cost: new Float64Array(faults).fill(between(80, 200)) },
    ],
    discharge: { minutes: 3, wait: 15, money: 0 },
    test: { minutes: 2, wait: 0, money: 0 },
    testShut: random() < 0.7,
    rates: { minute: 0.25, wait: 0.01 },
  };
  return { problem, prior: Float64Array.from({ length: faults }, () => random() ** 3 + 0.02) };
}
