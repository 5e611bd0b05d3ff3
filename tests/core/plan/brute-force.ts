/**
 * The optimum of a small problem by trying everything, written from the rules in `src/core/problem.ts` and from
 * nothing else: no bounds, no order, no tricks. Where two roads lead to the same state it is worked out once.
 */
import type { Cost, Problem, ProblemState } from '../../../src/core/plan/problem.ts';

interface State {
  weights: number[];
  done: number[];
  found: number[];
  /** Everything each check has shown, in order: repeats make the weights depend on more than the last. */
  shown: number[][];
  open: boolean[];
  charged: boolean;
  altered: boolean;
  pending: number[];
}

/** Expected cost of the best policy, weights normalised. */
export function bruteForce(problem: Problem, start: ProblemState): number {
  const total = start.weights.reduce((sum, weight) => sum + weight, 0);
  return best(problem, new Map(), {
    weights: [...start.weights].map((weight) => weight / total),
    done: [...start.done],
    found: [...start.found],
    shown: problem.steps.map(() => []),
    open: problem.stages.map((_, stage) => (start.open & (1 << stage)) !== 0),
    charged: start.charged,
    altered: start.altered,
    pending: [...start.pending],
  });
}

const value = (problem: Problem, cost: Cost) =>
  cost.minutes * problem.rates.minute + cost.wait * problem.rates.wait + cost.money;

const sum = (weights: number[]) => weights.reduce((total, weight) => total + weight, 0);

/** Cost times weight, from here to the end. */
function best(problem: Problem, known: Map<string, number>, state: State): number {
  const { weights, ...rest } = state;
  const mass = sum(weights);
  if (mass === 0) return 0;
  const key = JSON.stringify({ ...rest, pending: [...state.pending].sort() });
  const before = known.get(key);
  if (before !== undefined) return before;

  const values: number[] = [];
  if (state.pending.length === 0) {
    for (const stop of problem.stops)
      values.push(sum(weights.map((weight, f) => weight * (stop.cost[f] ?? NaN))));
  } else {
    values.push(test(problem, known, state));
  }
  problem.steps.forEach((step, index) => {
    // Rule 6
    if ((state.done[index] ?? NaN) >= step.times) return;
    if (step.needs.length > 0 && step.needs.every((need) => state.found[need.step] !== need.outcome)) return;
    // Rule 3
    if (state.altered && step.stage === -1) return;
    // Rule 4
    const isAlone = step.kind === 'remedy' && step.alone;
    if (state.pending.length > 0 && (step.stage === -1 || step.power !== 'off' || isAlone)) return;

    // Rule 1
    let price = value(problem, step.cost);
    const next: State = {
      ...state,
      done: state.done.with(index, (state.done[index] ?? NaN) + 1),
      open: [...state.open],
    };
    if (step.stage !== -1) {
      for (let stage = step.stage; stage !== -1; stage = problem.stages[stage]?.behind ?? NaN) {
        const here = problem.stages[stage];
        if (!here) throw new Error('no such stage');
        if (!next.open[stage]) price += value(problem, here.open);
        next.open[stage] = true;
      }
      if (state.charged) price += value(problem, problem.discharge);
      next.charged = false;
      next.altered = false;
    }

    if (step.kind === 'remedy') {
      next.pending = [...state.pending, index];
      const atOnce = step.stage === -1 || step.alone;
      values.push(price * mass + (atOnce ? test(problem, known, next) : best(problem, known, next)));
      return;
    }
    // Rule 2
    const shut = problem.stages.map(() => false);
    if (step.power === 'on') {
      next.charged = true;
      if (step.stage === -1 && problem.testShut) next.open = shut;
    }
    if (step.power === 'look') {
      next.charged = true;
      next.altered = true;
      next.open = shut;
    }
    let total = price * mass;
    step.outcomes.forEach((row, outcome) => {
      total += best(problem, known, {
        ...next,
        weights: weights.map((weight, f) => weight * (row[f] ?? NaN)),
        found: state.found.with(index, outcome),
        shown: state.shown.with(index, [...(state.shown[index] ?? []), outcome]),
      });
    });
    values.push(total);
  });
  const least = Math.min(...values);
  known.set(key, least);
  return least;
}

/** Rule 5 */
function test(problem: Problem, known: Map<string, number>, state: State): number {
  const weights = state.weights.map((weight, f) =>
    state.pending.reduce((left, index) => {
      const step = problem.steps[index];
      if (step?.kind !== 'remedy') throw new Error('only remedies can be pending');
      return left * (1 - (step.cures[f] ?? NaN));
    }, weight),
  );
  return (
    value(problem, problem.test) * sum(state.weights) +
    best(problem, known, {
      ...state,
      weights,
      charged: true,
      open: problem.testShut ? problem.stages.map(() => false) : state.open,
      pending: [],
    })
  );
}
