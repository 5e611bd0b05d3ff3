/**
 * The plan: which step next, and what the whole will cost. Small problems are searched to the end; larger ones as far
 * as the budget goes, which is counted in work and not in time, so that the same case always gets the same question.
 */
import { newBase, runBase } from './base.ts';
import { leastCost, newBound } from './bound.ts';
import type { Exact } from './exact.ts';
import { moveValue, newExact, recordMove, useful } from './exact.ts';
import type { Forecaster } from './forecast.ts';
import { forecastFor, newForecaster } from './forecast.ts';
import {
  allowed,
  asChoice,
  begin,
  follow,
  hasPending,
  immediate,
  newMark,
  undo,
  ways,
  weightNow,
} from './moves.ts';
import type { Policies } from './policies.ts';
import { newPolicies, record, recordBase } from './policies.ts';
import type { Choice, Plan, Problem, ProblemState } from './problem.ts';
import { nothingSeen, works, worksNot } from './problem.ts';
import { newSearch, searchRoot } from './search.ts';
import type { World } from './world.ts';
import { batched, makeWorld } from './world.ts';

export { efficiency, initialState, sequenceCost } from './rules.ts';

/** About 8 ms for twenty faults and forty-five steps on a small server's core. */
export const defaultBudget = 3_500_000;

/** Values this close, relative to their size, count as equal. */
const tie = 1e-9;
/** The whole tree is tried when it has at most this many states for each unit of budget. */
const statesPerUnit = 3;
/** Share of the budget after which that is given up. */
const share = 0.5;
/** Rivals shown with a plan. */
const shownRivals = 5;

interface Option {
  readonly move: number;
  readonly value: number;
  /** Records a policy that begins so and has this value; returns its place. */
  readonly record: (policies: Policies) => number;
}

/**
 * The best plan found from `state` with so much work. Deterministic; never throws on a valid problem whose weights
 * have a sum above 0. Among equal values the choice goes to the cheaper first step, then the one with fewer covers on
 * its way, then the lower index.
 */
export function solve(problem: Problem, state: ProblemState, budget: number): Plan {
  const w = makeWorld(problem, state);
  const base = newBase(w);
  const bound = newBound(w);
  let policies: Policies | null = null;
  let options: Option[] = [];
  let exact = false;

  const { states, unique } = w.keys;
  if (unique && states <= budget * statesPerUnit) {
    const x = newExact(w, base, bound, budget * share);
    options = exactRoot(x);
    exact = !x.gaveUp;
  }
  if (!exact) {
    const x = newSearch(w, base, bound, budget);
    policies = x.policies;
    options = searchRoot(x).flatMap(({ move, value, record }) =>
      value < Infinity ? [{ move, value, record: () => record }] : [],
    );
  }
  policies ??= newPolicies(w);
  options.push(...stopOptions(w));
  const best = Math.min(...options.map((option) => option.value));
  const slack = tie * Math.max(Math.abs(best), 1e-9);
  const chosen = options.filter((option) => option.value <= best + slack).sort(byFirstStep(w))[0] as Option;

  let start = chosen.record(policies);
  if (runBase(w, base) < best - slack) start = recordBase(policies, w, base);
  // Where no policy is cheaper than with every fault known, it does not matter how the tree was searched.
  exact ||= best <= leastCost(w, bound) + slack;
  const plan = planOf(newForecaster(w, policies), start);
  return { ...plan, rivals: rivals(w, options, plan.choice), exact, nodes: w.work };
}

/** Values of all moves worth considering: exact, save that a move clearly not the best may have an upper bound. */
function exactRoot(x: Exact): Option[] {
  const { world: w } = x;
  const last = hasPending(w) ? w.steps : w.steps - 1;
  const options: { move: number; value: number; record: Option['record'] }[] = [];
  const missed: typeof options = [];
  let best = runBase(w, x.base);
  for (let move = 0; move <= last; move++) {
    if (move < w.steps && !(allowed(w, move) && useful(w, move))) continue;
    const cap = best + 2 * tie * Math.max(Math.abs(best), 1e-9);
    const value = moveValue(x, move, cap);
    if (x.gaveUp) return [];
    const option = { move, value, record: (policies: Policies) => recordMove(x, policies, move) };
    options.push(option);
    if (value < cap) best = Math.min(best, value);
    else missed.push(option);
  }
  // For comparison: the others too, as far as a little more work goes.
  for (const option of missed) option.value = oneStep(x, option.move);
  missed.sort((a, b) => a.value - b.value || a.move - b.move);
  x.limit = Math.min(x.limit, 1.3 * w.work + 20_000);
  for (const option of missed.slice(0, shownRivals)) {
    const value = moveValue(x, option.move, Infinity);
    if (x.gaveUp) break;
    option.value = value;
  }
  x.gaveUp = false;
  return options;
}

/** What a move costs with the base policy after it. */
function oneStep(x: Exact, move: number): number {
  const { world: w, base } = x;
  const mark = newMark();
  let value = immediate(w, move) * weightNow(w);
  begin(w, move, mark);
  for (let way = 0; way < ways(w, move); way++) if (follow(w, move, way) > 0) value += runBase(w, base);
  undo(w, move, mark);
  return value;
}

function stopOptions(w: World): Option[] {
  if (hasPending(w)) return [];
  const frame = w.frames[0] as Float64Array;
  return w.stopCost.map((cost, k) => {
    let value = 0;
    for (let f = 0; f < w.faults; f++) value += (frame[f] as number) * (cost[f] as number);
    const move = w.steps + 1 + k;
    return { move, value, record: (policies) => record(policies, move, []) };
  });
}

function byFirstStep(w: World): (a: Option, b: Option) => number {
  const first = (option: Option) => (option.move > w.steps ? option.value : immediate(w, option.move));
  const covers = (option: Option) => {
    let count = 0;
    for (let bits = option.move < w.steps ? (w.path[option.move] as number) : 0; bits !== 0; bits >>>= 1)
      count += bits & 1;
    return count;
  };
  return (a, b) => {
    const difference = first(a) - first(b);
    const size = tie * Math.max(Math.abs(first(a)), Math.abs(first(b)));
    if (Math.abs(difference) > size) return difference;
    return covers(a) - covers(b) || a.move - b.move;
  };
}

type Planned = Omit<Plan, 'rivals' | 'exact' | 'nodes'>;

function planOf(x: Forecaster, start: number): Planned {
  const { world: w, policies: p } = x;
  const move = p.tape[start] as number;
  const choice = asChoice(w, move);
  const whole = forecastFor(x, start);
  if (choice.kind === 'stop') return { choice, after: [], ...whole };

  const isCheck = choice.kind === 'step' && w.isCheck[move] === 1;
  const after: Plan['after'][number][] = [];
  const mark = newMark();
  const total = weightNow(w);
  begin(w, move, mark);
  let still = 0;
  for (let way = 0; way < ways(w, move); way++) {
    const probability = follow(w, move, way);
    if (!(probability > 0)) continue;
    still += probability;
    const record = p.tape[start + 2 + way] as number;
    const outcome = isCheck ? way : hasPending(w) ? nothingSeen : worksNot;
    const next = asChoice(w, p.tape[record] as number);
    after.push({ outcome, probability, next, forecast: forecastFor(x, record) });
  }
  const tested = !isCheck && !hasPending(w);
  undo(w, move, mark);
  if (tested && total - still > 0) {
    const nothingMore = { cost: 0, minutes: 0, wait: 0, money: 0, chance: 1 };
    after.unshift({ outcome: works, probability: total - still, next: null, forecast: nothingMore });
  }
  return { choice, after, ...whole };
}

function rivals(w: World, options: readonly Option[], choice: Choice): Plan['rivals'] {
  const kindOf = (move: number) =>
    move > w.steps ? 'stop' : move === w.steps ? 'test' : w.isCheck[move] === 1 ? 'check' : 'remedy';
  const same = (a: Choice) => JSON.stringify(a) === JSON.stringify(choice);
  const others = options
    .filter((option) => !same(asChoice(w, option.move)))
    .sort((a, b) => a.value - b.value || a.move - b.move);
  const kinds = new Set<string>();
  const first = others.filter((option) => !kinds.has(kindOf(option.move)) && kinds.add(kindOf(option.move)));
  const rest = others.filter((option) => !first.includes(option));
  const shown = [
    ...first.slice(0, shownRivals),
    ...rest.slice(0, Math.max(shownRivals - first.length, 0)),
  ].sort((a, b) => a.value - b.value || a.move - b.move);
  return shown.map((option) => ({ choice: asChoice(w, option.move), cost: option.value }));
}

/** The base policy's expected cost and the order it would go in, while nothing works. */
export function basePolicy(problem: Problem, state: ProblemState): { cost: number; order: Choice[] } {
  const w = makeWorld(problem, state);
  const b = newBase(w);
  const cost = runBase(w, b);
  const order: Choice[] = [];
  const step = (at: number): Choice => ({ kind: 'step', step: w.remedies[b.order[at] as number] as number });
  let at = 0;
  if (hasPending(w)) {
    for (; at < b.first; at++) order.push(step(at));
    order.push({ kind: 'test' });
  }
  while (b.next[at] !== at) {
    const to = b.next[at] as number;
    const batch = w.manner[b.order[at] as number] === batched;
    for (; at < to; at++) order.push(step(at));
    if (batch) order.push({ kind: 'test' });
  }
  order.push({ kind: 'stop', stop: b.stop[at] as number });
  return { cost, order };
}

/** What the case costs at least, each fault priced as if it were known. */
export function knownFaultBound(problem: Problem, state: ProblemState): number {
  const w = makeWorld(problem, state);
  return leastCost(w, newBound(w));
}
