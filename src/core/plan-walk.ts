/**
 * Follows a recorded policy to every end and adds up what it costs: the forecast is measured along the very policy
 * whose value the search found.
 */
import type { Policies } from './plan-policies.ts';
import type { Mark, World } from './plan-world.ts';
import { batched, begin, follow, frameNow, hasPending, newMark, undo, ways, weightNow } from './plan-world.ts';
import type { Cost, Forecast, ProblemStep } from './problem.ts';

/** Sums over everything that may happen, each times the weight that reaches it. */
export interface Tally {
  minutes: number;
  wait: number;
  money: number;
  works: number;
  /** Cost by the rates, added up on its own. */
  cost: number;
}

export interface Walk {
  readonly world: World;
  readonly policies: Policies;
  readonly marks: Mark[];
}

export const newTally = (): Tally => ({ minutes: 0, wait: 0, money: 0, works: 0, cost: 0 });

/** What `tally` forecasts for something reached with this weight. */
export function forecast(tally: Tally, mass: number): Forecast {
  return {
    cost: tally.cost / mass,
    minutes: tally.minutes / mass,
    wait: tally.wait / mass,
    money: tally.money / mass,
    chance: Math.min(Math.max(tally.works / mass, 0), 1),
  };
}

/**
 * Adds all that the policy recorded at `at` brings from the situation now. With `each`, calls it in the situation after
 * every way of the first move: the way, the weight that goes there, the record that follows, and what that brings.
 */
export function walk(
  walker: Walk,
  at: number,
  tally: Tally,
  each: ((way: number, mass: number, next: number, part: Tally) => void) | null,
): void {
  const { world: w, policies: p } = walker;
  const move = p.tape[at] as number;
  const mass = weightNow(w);
  if (move > w.steps) {
    const cost = w.stopCost[move - w.steps - 1] as Float64Array;
    const frame = frameNow(w);
    let total = 0;
    for (let f = 0; f < w.faults; f++) total += (frame[f] as number) * (cost[f] as number);
    tally.money += total;
    tally.cost += total;
    return;
  }
  payMove(w, move, mass, tally);
  while (walker.marks.length <= w.depth) walker.marks.push(newMark());
  const mark = walker.marks[w.depth] as Mark;
  begin(w, move, mark);
  const count = ways(w, move);
  for (let way = 0; way < count; way++) {
    const reached = follow(w, move, way);
    if (move === w.steps || (w.isCheck[move] === 0 && !hasPending(w))) tally.works += mass - reached;
    if (!(reached > 0)) continue;
    const next = p.tape[at + 2 + way] as number;
    if (each === null) {
      walk(walker, next, tally, null);
      continue;
    }
    const part = newTally();
    walk(walker, next, part, null);
    tally.minutes += part.minutes;
    tally.wait += part.wait;
    tally.money += part.money;
    tally.works += part.works;
    tally.cost += part.cost;
    each(way, reached, next, part);
  }
  undo(w, move, mark);
}

function payMove(w: World, move: number, mass: number, tally: Tally): void {
  const { test, discharge, stages } = w.problem;
  if (move === w.steps) return pay(test, w.test, mass, tally);
  if ((w.stage[move] as number) >= 0) {
    let missing = (w.path[move] as number) & ~w.open;
    for (let s = 0; missing !== 0; s++, missing >>>= 1) {
      if (missing & 1) pay((stages[s] as (typeof stages)[number]).open, w.openPrice[s] as number, mass, tally);
    }
    if (w.charged) pay(discharge, w.discharge, mass, tally);
  }
  pay((w.problem.steps[move] as ProblemStep).cost, w.price[move] as number, mass, tally);
  const r = w.remedyOf[move] as number;
  if (r >= 0 && w.manner[r] !== batched) pay(test, w.test, mass, tally);
}

function pay(cost: Cost, price: number, mass: number, tally: Tally): void {
  tally.minutes += cost.minutes * mass;
  tally.wait += cost.wait * mass;
  tally.money += cost.money * mass;
  tally.cost += price * mass;
}
