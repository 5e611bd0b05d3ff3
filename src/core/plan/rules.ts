/**
 * The rules of `problem.ts`, written out plainly: what is possible, what it costs, what it leads to. Slow and clear;
 * the plan has its own fast form, and the tests hold the two against each other.
 */
import type { Choice, Cost, Problem, ProblemRemedy, ProblemState } from './problem.ts';
import { money, nothingSeen, works, worksNot } from './problem.ts';

/** One way a choice may turn out; `state` is null where the case ends. */
export interface Branch {
  readonly outcome: number;
  readonly probability: number;
  readonly state: ProblemState | null;
}

export function initialState(problem: Problem, prior: Float64Array): ProblemState {
  return {
    weights: Float64Array.from(prior),
    done: new Uint8Array(problem.steps.length),
    found: new Int8Array(problem.steps.length).fill(-1),
    open: 0,
    charged: true,
    altered: false,
    pending: [],
  };
}

/** Every choice the rules allow now; never empty. */
export function possible(problem: Problem, state: ProblemState): Choice[] {
  const choices: Choice[] = [];
  for (let step = 0; step < problem.steps.length; step++) {
    if (isPossible(problem, state, { kind: 'step', step })) choices.push({ kind: 'step', step });
  }
  if (state.pending.length > 0) choices.push({ kind: 'test' });
  else
    problem.stops.forEach((_, stop) => {
      choices.push({ kind: 'stop', stop });
    });
  return choices;
}

export function isPossible(problem: Problem, state: ProblemState, choice: Choice): boolean {
  if (choice.kind === 'test') return state.pending.length > 0;
  if (choice.kind === 'stop') return state.pending.length === 0 && problem.stops[choice.stop] !== undefined;
  const step = problem.steps[choice.step];
  if (step === undefined || (state.done[choice.step] as number) >= step.times) return false;
  if (step.needs.length > 0 && !step.needs.some((need) => state.found[need.step] === need.outcome))
    return false;
  if (state.altered && step.stage < 0) return false;
  if (state.pending.length === 0) return true;
  return step.stage >= 0 && step.power === 'off' && !(step.kind === 'remedy' && step.alone);
}

/** What a choice costs at once: opening, discharge and a test included; for a stop its expected cost, as money. */
export function price(problem: Problem, state: ProblemState, choice: Choice): Cost {
  const costs: Cost[] = [];
  if (choice.kind === 'test') costs.push(problem.test);
  if (choice.kind === 'stop') {
    const cost = problem.stops[choice.stop]?.cost as Float64Array;
    let expected = 0;
    state.weights.forEach((weight, fault) => {
      expected += weight * (cost[fault] as number);
    });
    costs.push({ minutes: 0, wait: 0, money: expected / sum(state.weights) });
  }
  if (choice.kind === 'step') {
    const step = stepAt(problem, choice.step);
    const missing = pathTo(problem, step.stage) & ~state.open;
    problem.stages.forEach((stage, index) => {
      if ((missing >>> index) & 1) costs.push(stage.open);
    });
    if (step.stage >= 0 && state.charged) costs.push(problem.discharge);
    costs.push(step.cost);
    if (step.kind === 'remedy' && testedAtOnce(step)) costs.push(problem.test);
  }
  return {
    minutes: costs.reduce((total, cost) => total + cost.minutes, 0),
    wait: costs.reduce((total, cost) => total + cost.wait, 0),
    money: costs.reduce((total, cost) => total + cost.money, 0),
  };
}

/** The ways a choice may turn out, those with a probability above nothing only. */
export function branches(problem: Problem, state: ProblemState, choice: Choice): Branch[] {
  if (choice.kind === 'stop') return [{ outcome: nothingSeen, probability: 1, state: null }];
  if (choice.kind === 'test') return tested(problem, state);

  const step = stepAt(problem, choice.step);
  const done = Uint8Array.from(state.done);
  done[choice.step] = (done[choice.step] as number) + 1;
  const inside = step.stage >= 0;
  const opened = { ...state, done, open: state.open | pathTo(problem, step.stage) };
  const here: ProblemState = inside ? { ...opened, charged: false, altered: false } : opened;

  if (step.kind === 'remedy') {
    const fixed = { ...here, pending: [...state.pending, choice.step] };
    if (testedAtOnce(step)) return tested(problem, fixed);
    return [{ outcome: nothingSeen, probability: 1, state: fixed }];
  }
  let next = here;
  if (step.power === 'on')
    next = { ...here, charged: true, open: !inside && problem.testShut ? 0 : here.open };
  if (step.power === 'look') next = { ...here, charged: true, open: 0, altered: true };
  const total = sum(state.weights);
  return step.outcomes.flatMap((row, outcome): Branch[] => {
    const weights = state.weights.map((weight, fault) => weight * (row[fault] as number));
    const probability = sum(weights) / total;
    if (!(probability > 0)) return [];
    const found = Int8Array.from(state.found);
    found[choice.step] = outcome;
    return [{ outcome, probability, state: { ...next, weights, found } }];
  });
}

function tested(problem: Problem, state: ProblemState): Branch[] {
  const weights = Float64Array.from(state.weights);
  for (const index of state.pending) {
    const { cures } = stepAt(problem, index) as ProblemRemedy;
    weights.forEach((weight, fault) => {
      weights[fault] = weight * (1 - (cures[fault] as number));
    });
  }
  const still = sum(weights) / sum(state.weights);
  const next = { ...state, weights, open: problem.testShut ? 0 : state.open, charged: true, pending: [] };
  const both: Branch[] = [
    { outcome: works, probability: 1 - still, state: null },
    { outcome: worksNot, probability: still, state: next },
  ];
  return both.filter((branch) => branch.probability > 0);
}

/**
 * Expected cost of repair of choices in a fixed order, ending early when the appliance works. What a check shows
 * changes nothing in a fixed order, except that a step with `needs` counts as impossible unless found before.
 * Throws a RangeError for a choice that the rules do not allow at its place.
 */
export function sequenceCost(problem: Problem, state: ProblemState, sequence: readonly Choice[]): number {
  let here = state;
  let reached = 1;
  let total = 0;
  for (const choice of sequence) {
    if (!isPossible(problem, here, choice))
      throw new RangeError(`not possible here: ${JSON.stringify(choice)}`);
    total += reached * money(price(problem, here, choice), problem.rates);
    const ways = branches(problem, here, choice).filter((branch) => branch.state !== null);
    const first = ways[0];
    if (first?.state == null) return total;
    const check = choice.kind === 'step' && problem.steps[choice.step]?.kind === 'check';
    if (!check) reached *= first.probability;
    here = check ? { ...first.state, weights: here.weights, found: here.found } : first.state;
  }
  return total;
}

/** p/c of a remedy now: chance that it cures over what it costs at once. 0 for a check. */
export function efficiency(problem: Problem, state: ProblemState, index: number): number {
  const step = stepAt(problem, index);
  if (step.kind === 'check') return 0;
  let chance = 0;
  state.weights.forEach((weight, fault) => {
    chance += weight * (step.cures[fault] as number);
  });
  const cost = money(price(problem, state, { kind: 'step', step: index }), problem.rates);
  return chance / sum(state.weights) / cost;
}

export const testedAtOnce = (remedy: ProblemRemedy): boolean => remedy.stage < 0 || remedy.alone;

/** Bits of a stage and of all stages it lies behind. */
export function pathTo(problem: Problem, stage: number): number {
  let bits = 0;
  for (let at = stage; at >= 0; at = problem.stages[at]?.behind ?? -1) bits |= 1 << at;
  return bits;
}

function stepAt(problem: Problem, index: number) {
  const step = problem.steps[index];
  if (step === undefined) throw new RangeError(`no step ${index}`);
  return step;
}

function sum(values: Float64Array): number {
  let total = 0;
  for (const value of values) total += value;
  return total;
}
