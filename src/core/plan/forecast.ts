/**
 * What a recorded policy brings, fault by fault: minutes, waiting, money, and the chance that it works. Measured along
 * the very policy whose value the search found. A part of a policy that is used in several places is worked out once
 * for each condition of covers and charge in which it begins.
 */
import type { Mark } from './moves.ts';
import { begin, condition, frameNow, hasPending, newMark, undo, ways } from './moves.ts';
import type { Policies } from './policies.ts';
import type { Cost, Forecast, ProblemStep } from './problem.ts';
import { money } from './problem.ts';
import type { World } from './world.ts';
import { batched } from './world.ts';

export interface Forecaster {
  readonly world: World;
  readonly policies: Policies;
  readonly marks: Mark[];
  /** By record and condition: F minutes, F waits, F sums of money, F chances. */
  readonly known: Map<number, Float64Array>;
}

export const newForecaster = (world: World, policies: Policies): Forecaster => ({
  world,
  policies,
  marks: [],
  known: new Map(),
});

/** Forecast, from the situation now, for the policy recorded at `at`. */
export function forecastFor(x: Forecaster, at: number): Forecast {
  const { world: w } = x;
  const list = priced(x, at);
  const frame = frameNow(w);
  const { faults } = w;
  const sums = [0, 0, 0, 0];
  let mass = 0;
  for (let f = 0; f < faults; f++) {
    const weight = frame[f] as number;
    mass += weight;
    for (let part = 0; part < 4; part++) {
      sums[part] = (sums[part] as number) + weight * (list[part * faults + f] as number);
    }
  }
  const [minutes, wait, cash, works] = sums.map((sum) => sum / mass) as [number, number, number, number];
  return {
    cost: money({ minutes, wait, money: cash }, w.problem.rates),
    minutes,
    wait,
    money: cash,
    chance: Math.min(Math.max(works, 0), 1),
  };
}

function priced(x: Forecaster, at: number): Float64Array {
  const { world: w } = x;
  const shared = !hasPending(w);
  const key = at * 4 * 2 ** w.stages + condition(w);
  const known = shared ? x.known.get(key) : undefined;
  if (known !== undefined) return known;
  const list = new Float64Array(4 * w.faults);
  fill(x, at, list);
  if (shared) x.known.set(key, list);
  return list;
}

function fill(x: Forecaster, at: number, list: Float64Array): void {
  const { world: w, policies: p } = x;
  const { faults } = w;
  const move = p.tape[at] as number;
  if (move > w.steps) {
    list.fill(0);
    list.set(w.stopCost[move - w.steps - 1] as Float64Array, 2 * faults);
    return;
  }
  while (x.marks.length <= w.depth) x.marks.push(newMark());
  const mark = x.marks[w.depth] as Mark;
  const costs = costsOf(w, move);
  begin(w, move, mark);
  if (move < w.steps && w.isCheck[move] === 1) {
    for (let way = 0; way < ways(w, move); way++) {
      const next = p.tape[at + 2 + way] as number;
      if (next < 0) continue;
      const row = (w.rows[move] as readonly Float64Array[])[way] as Float64Array;
      const then = priced(x, next);
      for (let part = 0; part < 4 * faults; part += faults) {
        for (let f = 0; f < faults; f++) {
          list[part + f] = (list[part + f] as number) + (row[f] as number) * (then[part + f] as number);
        }
      }
    }
  } else {
    if (move < w.steps) w.pendingTo = addWaiting(w, move, mark);
    if ((p.tape[at + 2] as number) >= 0) fill(x, p.tape[at + 2] as number, list);
  }
  undo(w, move, mark);
  if (move === w.steps) {
    for (let a = w.pendingFrom; a < w.pendingTo; a++)
      cured(w, w.remedyOf[w.pending[a] as number] as number, list);
  } else {
    const r = w.remedyOf[move] as number;
    if (r >= 0 && w.manner[r] !== batched) cured(w, r, list);
  }
  for (const { minutes, wait, money: cash } of costs) {
    for (let f = 0; f < faults; f++) {
      list[f] = (list[f] as number) + minutes;
      list[faults + f] = (list[faults + f] as number) + wait;
      list[2 * faults + f] = (list[2 * faults + f] as number) + cash;
    }
  }
}

/** Puts a batched remedy that has begun among those waiting; `begin` leaves that to `follow`, which needs weights. */
function addWaiting(w: World, move: number, mark: Mark): number {
  if (w.manner[w.remedyOf[move] as number] !== batched) return w.pendingTo;
  w.pending[mark.pendingTo] = move;
  return mark.pendingTo + 1;
}

/** A share of those that come to this test end here, working. */
function cured(w: World, r: number, list: Float64Array): void {
  const { faults } = w;
  for (let e = w.cureFrom[r] as number; e < (w.cureFrom[r + 1] as number); e++) {
    const f = w.cureFault[e] as number;
    const still = 1 - (w.cure[e] as number);
    for (let part = 0; part < 3; part++)
      list[part * faults + f] = (list[part * faults + f] as number) * still;
    list[3 * faults + f] = 1 - still * (1 - (list[3 * faults + f] as number));
  }
}

/** All that is paid at once for a move. */
function costsOf(w: World, move: number): Cost[] {
  const { test, discharge, stages } = w.problem;
  if (move === w.steps) return [test];
  const costs = [(w.problem.steps[move] as ProblemStep).cost];
  if ((w.stage[move] as number) >= 0) {
    const missing = (w.path[move] as number) & ~w.open;
    stages.forEach((stage, s) => {
      if ((missing >>> s) & 1) costs.push(stage.open);
    });
    if (w.charged) costs.push(discharge);
  }
  const r = w.remedyOf[move] as number;
  if (r >= 0 && w.manner[r] !== batched) costs.push(test);
  return costs;
}
