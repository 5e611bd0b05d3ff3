/** Short ways to write a problem down by hand: what is not said is free, outside, possible once, and without waiting. */

import { basePolicy } from '../../../src/core/plan/plan.ts';
import type {
  Choice,
  Cost,
  Problem,
  ProblemCheck,
  ProblemRemedy,
  ProblemState,
} from '../../../src/core/plan/problem.ts';
import { money } from '../../../src/core/plan/problem.ts';
import { branches, possible, price } from '../../../src/core/plan/rules.ts';

export const free: Cost = { minutes: 0, wait: 0, money: 0 };
export const paid = (amount: number): Cost => ({ minutes: 0, wait: 0, money: amount });

/** A remedy that costs `cost` and cures the faults named, fault → probability. */
export const remedy =
  (
    cost: number,
    cures: Readonly<Record<number, number>>,
    more: Partial<ProblemRemedy> = {},
  ): ((faults: number, index: number) => ProblemRemedy) =>
  (faults, index) => ({
    id: `remedy ${index}`,
    kind: 'remedy',
    cost: paid(cost),
    stage: -1,
    power: 'off',
    times: 1,
    needs: [],
    cures: Float64Array.from({ length: faults }, (_, fault) => cures[fault] ?? 0),
    alone: false,
    ...more,
  });

/** A check with the rows P(outcome | fault). */
export const check =
  (
    cost: number,
    rows: readonly (readonly number[])[],
    more: Partial<ProblemCheck> = {},
  ): ((faults: number, index: number) => ProblemCheck) =>
  (_, index) => ({
    id: `check ${index}`,
    kind: 'check',
    cost: paid(cost),
    stage: -1,
    power: 'off',
    times: 1,
    needs: [],
    outcomes: rows.map((row) => Float64Array.from(row)),
    ...more,
  });

/** A problem whose covers stay open, where testing is free, and where giving up is out of the question. */
export function problemOf(
  faults: number,
  steps: readonly ((faults: number, index: number) => ProblemCheck | ProblemRemedy)[],
  more: Partial<Problem> = {},
): Problem {
  return {
    faults,
    steps: steps.map((make, index) => make(faults, index)),
    stages: [],
    stops: [stop(faults, 1e6)],
    discharge: free,
    test: free,
    testShut: false,
    rates: { minute: 1, wait: 0 },
    ...more,
  };
}

export const stop = (faults: number, cost: number, id = 'stop') => ({
  id,
  cost: new Float64Array(faults).fill(cost),
});

export const step = (index: number): Choice => ({ kind: 'step', step: index });
export const test: Choice = { kind: 'test' };

/** All orders of these things. */
export function orders<T>(things: readonly T[]): T[][] {
  if (things.length === 0) return [[]];
  return things.flatMap((first, at) => orders(things.toSpliced(at, 1)).map((rest) => [first, ...rest]));
}

/** One step ahead: each choice with the base policy after it; the cheapest. */
export function oneStepCost(problem: Problem, state: ProblemState): number {
  let least = basePolicy(problem, state).cost;
  for (const choice of possible(problem, state)) {
    let cost = money(price(problem, state, choice), problem.rates);
    for (const branch of branches(problem, state, choice)) {
      if (branch.state !== null) cost += branch.probability * basePolicy(problem, branch.state).cost;
    }
    least = Math.min(least, cost);
  }
  return least;
}
