/** The plan against brute force, on seeded random problems of every shape the rules allow. */
import { describe, expect, it } from 'vitest';
import { basePolicy, initialState, knownFaultBound, solve } from '../../../src/core/plan/plan.ts';
import type { Choice, Plan, Problem, ProblemState } from '../../../src/core/plan/problem.ts';
import { money } from '../../../src/core/plan/problem.ts';
import { branches, possible, price } from '../../../src/core/plan/rules.ts';
import { bruteForce } from './brute-force.ts';
import { randomFrom, randomProblem, small } from './random-problem.ts';

const models = 600;
const budget = 100_000_000;

/** A state met after a few random choices that go on. */
function wander(problem: Problem, from: ProblemState, seed: number): ProblemState {
  const random = randomFrom(seed);
  let state = from;
  for (let steps = 1 + Math.floor(random() * 3); steps > 0; steps--) {
    const choices = possible(problem, state).filter((choice) => choice.kind !== 'stop');
    const choice = choices[Math.floor(random() * choices.length)];
    if (choice === undefined) break;
    const on = branches(problem, state, choice).filter((branch) => branch.state !== null);
    const next = on[Math.floor(random() * on.length)]?.state;
    if (next == null) break;
    state = next;
  }
  return state;
}

/** The parts of a plan have to add up, by the plain rules. */
function expectConsistent(problem: Problem, state: ProblemState, plan: Plan): void {
  const { rates } = problem;
  expect(plan.cost).toBeCloseTo(plan.minutes * rates.minute + plan.wait * rates.wait + plan.money, 8);
  expect(possible(problem, state)).toContainEqual(plan.choice);
  const first = price(problem, state, plan.choice);
  if (plan.choice.kind === 'stop') {
    expect(plan.after).toEqual([]);
    expect(plan.cost).toBeCloseTo(money(first, rates), 8);
    return;
  }
  const ways = branches(problem, state, plan.choice);
  expect(plan.after.map((way) => way.outcome)).toEqual(ways.map((way) => way.outcome));
  plan.after.forEach((way, k) => {
    expect(way.probability).toBeCloseTo(ways[k]?.probability as number, 10);
    const next = ways[k]?.state ?? null;
    if (next === null) expect(way.next).toBeNull();
    else expect(possible(problem, next)).toContainEqual(way.next);
  });
  const mean = (pick: (way: Plan['after'][number]) => number) =>
    plan.after.reduce((sum, way) => sum + way.probability * pick(way), 0);
  expect(mean(() => 1)).toBeCloseTo(1, 10);
  expect(plan.cost).toBeCloseTo(money(first, rates) + mean((way) => way.forecast.cost), 8);
  expect(plan.minutes).toBeCloseTo(first.minutes + mean((way) => way.forecast.minutes), 8);
  expect(plan.wait).toBeCloseTo(first.wait + mean((way) => way.forecast.wait), 8);
  expect(plan.money).toBeCloseTo(first.money + mean((way) => way.forecast.money), 8);
  expect(plan.chance).toBeCloseTo(
    mean((way) => way.forecast.chance),
    10,
  );
}

const kinds = (choice: Choice, problem: Problem): string =>
  choice.kind === 'step' ? (problem.steps[choice.step]?.kind ?? '') : choice.kind;

describe(`${models} random small problems`, () => {
  it('are planned at the cost that brute force finds, from the start', () => {
    const chosen = new Map<string, number>();
    for (let seed = 1; seed <= models; seed++) {
      const { problem, prior } = randomProblem(seed, small);
      const state = initialState(problem, prior);
      const plan = solve(problem, state, budget);
      const optimum = bruteForce(problem, state);
      expect(plan.exact, `seed ${seed}`).toBe(true);
      expect(Math.abs(plan.cost - optimum), `seed ${seed}`).toBeLessThan(1e-9 * Math.max(1, optimum));
      expect(basePolicy(problem, state).cost, `seed ${seed}`).toBeGreaterThan(optimum - 1e-9);
      expect(knownFaultBound(problem, state), `seed ${seed}`).toBeLessThan(optimum + 1e-9);
      expectConsistent(problem, state, plan);
      const kind = kinds(plan.choice, problem);
      chosen.set(kind, (chosen.get(kind) ?? 0) + 1);
    }
    // Or the problems would be too easy to prove anything.
    expect(chosen.get('check')).toBeGreaterThan(models / 10);
    expect(chosen.get('remedy')).toBeGreaterThan(models / 10);
    expect(chosen.get('stop')).toBeGreaterThan(models / 100);
  }, 120_000);

  it('are planned at that cost from the middle of a case too, with remedies pending or the appliance altered', () => {
    let pending = 0;
    let altered = 0;
    for (let seed = 1; seed <= models; seed++) {
      const { problem, prior } = randomProblem(seed, small);
      const state = wander(problem, initialState(problem, prior), seed);
      const plan = solve(problem, state, budget);
      const optimum = bruteForce(problem, state);
      expect(plan.exact, `seed ${seed}`).toBe(true);
      expect(Math.abs(plan.cost - optimum), `seed ${seed}`).toBeLessThan(1e-9 * Math.max(1, optimum));
      expectConsistent(problem, state, plan);
      if (state.pending.length > 0) pending++;
      if (state.altered) altered++;
    }
    expect(pending).toBeGreaterThan(models / 20);
    expect(altered).toBeGreaterThan(models / 100);
  }, 120_000);

  it('are never planned below the optimum, nor above the base policy, with too small a budget to search them', () => {
    let inexact = 0;
    for (let seed = 1; seed <= models; seed++) {
      const { problem, prior } = randomProblem(seed, small);
      const state = wander(problem, initialState(problem, prior), seed);
      const plan = solve(problem, state, 500);
      const optimum = bruteForce(problem, state);
      expect(plan.cost, `seed ${seed}`).toBeGreaterThan(optimum - 1e-9);
      expect(plan.cost, `seed ${seed}`).toBeLessThan(basePolicy(problem, state).cost + 1e-9);
      if (plan.exact) expect(plan.cost, `seed ${seed}`).toBeLessThan(optimum + 1e-9);
      else inexact++;
      expectConsistent(problem, state, plan);
    }
    expect(inexact).toBeGreaterThan(models / 4);
  }, 120_000);
});
