/**
 * The plan's fast form of a problem: costs as single numbers, cures as sparse lists, and one situation that is
 * stepped forward and back (`plan-moves.ts`) instead of copied. Weights are not normalised, so nothing is divided: a
 * cost times the weight that reaches it adds up to the value of the whole.
 */

import type { Problem, ProblemState } from './problem.ts';
import { money } from './problem.ts';
import { pathTo } from './rules.ts';
import type { Keys } from './table.ts';
import { makeKeys } from './table.ts';

/** What a remedy is to the order of work. */
export const outside = 0;
export const alone = 1;
export const batched = 2;

/** A move is a step's index, or `steps` for the test, or `steps` + 1 + k for stop k. */
export interface World {
  readonly problem: Problem;
  readonly faults: number;
  readonly steps: number;
  readonly stops: number;
  readonly stages: number;

  // Steps
  readonly price: Float64Array;
  readonly isCheck: Uint8Array;
  readonly stage: Int32Array;
  /** Bits of the step's stage and of all it lies behind. */
  readonly path: Int32Array;
  /** 0 off, 1 on, 2 look. */
  readonly power: Uint8Array;
  readonly times: Uint8Array;
  readonly rows: readonly (readonly Float64Array[])[];
  /** Whether a finding of this check opens up another step. */
  readonly opensUp: Uint8Array;
  readonly hasNeeds: Uint8Array;
  /** Whether a check that opens up another step may be repeated: then a finding may be lost again. */
  readonly findingsMayGo: boolean;

  // Remedies, numbered among themselves
  readonly remedies: Int32Array;
  /** Step → remedy number, −1 for a check. */
  readonly remedyOf: Int32Array;
  readonly manner: Uint8Array;
  readonly remedyPath: Int32Array;
  /** Price of each remedy; `effort` adds the test where it is tested at once. */
  readonly remedyPrice: Float64Array;
  readonly effort: Float64Array;
  /** Remedy → its faults and cures: entries `cureFrom[r]` to `cureFrom[r + 1]`. */
  readonly cureFrom: Int32Array;
  readonly cureFault: Int32Array;
  readonly cure: Float64Array;
  /** Fault → its remedies, the same numbers turned round. */
  readonly curedFrom: Int32Array;
  readonly curedBy: Int32Array;
  readonly curedHow: Float64Array;

  // Stages, stops, test
  readonly behind: Int32Array;
  readonly openPrice: Float64Array;
  readonly discharge: number;
  readonly test: number;
  readonly testShut: boolean;
  /** Neither a test nor what it undoes costs anything: then one tests after each remedy. */
  readonly freeTest: boolean;
  readonly stopCost: readonly Float64Array[];
  readonly dearestStop: number;

  // The situation
  /** At each depth: F weights, then F weights as they will be if all that is pending has failed. */
  readonly frames: Float64Array[];
  depth: number;
  readonly keys: Keys;
  /** At each depth: the key of what was done and seen. */
  readonly keyStack: number[];
  readonly done: Uint8Array;
  /** Steps done since the start, as bits. */
  readonly used: Int32Array;
  readonly doneAtStart: Uint8Array;
  readonly found: Int8Array;
  open: number;
  charged: boolean;
  altered: boolean;
  /** Remedy steps pending are `pending[pendingFrom .. pendingTo)`. */
  readonly pending: Int32Array;
  pendingFrom: number;
  pendingTo: number;
  /** Work done so far, about one unit for one step of an inner loop. */
  work: number;
}

export function makeWorld(problem: Problem, state: ProblemState): World {
  const { steps, faults, rates } = problem;
  const N = steps.length;
  const ints = (pick: (step: (typeof steps)[number], index: number) => number) =>
    Int32Array.from(steps, pick);
  const test = money(problem.test, rates);
  const discharge = money(problem.discharge, rates);

  const remedies: number[] = [];
  const cureFrom: number[] = [0];
  const cureFault: number[] = [];
  const cure: number[] = [];
  const manner: number[] = [];
  const opensUp = new Uint8Array(N);
  let room = 0;
  steps.forEach((step, index) => {
    for (const need of step.needs) opensUp[need.step] = 1;
    if (step.kind === 'check') return;
    room += step.times;
    remedies.push(index);
    manner.push(step.stage < 0 ? outside : step.alone ? alone : batched);
    for (let fault = 0; fault < faults; fault++) {
      const chance = step.cures[fault] as number;
      if (chance <= 0) continue;
      cureFault.push(fault);
      cure.push(chance);
    }
    cureFrom.push(cure.length);
  });
  const turned = turnRound(faults, cureFrom, cureFault, cure);
  const remedyPrice = Float64Array.from(remedies, (index) =>
    money((steps[index] as (typeof steps)[number]).cost, rates),
  );
  const stopCost = problem.stops.map((stop) => stop.cost);
  const keys = makeKeys(problem, state);

  const world: World = {
    problem,
    faults,
    steps: N,
    stops: stopCost.length,
    stages: problem.stages.length,
    price: Float64Array.from(steps, (step) => money(step.cost, rates)),
    isCheck: Uint8Array.from(steps, (step) => (step.kind === 'check' ? 1 : 0)),
    stage: ints((step) => step.stage),
    path: ints((step) => pathTo(problem, step.stage)),
    power: Uint8Array.from(steps, (step) => (step.power === 'off' ? 0 : step.power === 'on' ? 1 : 2)),
    times: Uint8Array.from(steps, (step) => step.times),
    rows: steps.map((step) => (step.kind === 'check' ? step.outcomes : [])),
    opensUp,
    hasNeeds: Uint8Array.from(steps, (step) => (step.needs.length > 0 ? 1 : 0)),
    findingsMayGo: steps.some((step, index) => opensUp[index] === 1 && step.times > 1),
    remedies: Int32Array.from(remedies),
    remedyOf: ints((_, index) => remedies.indexOf(index)),
    manner: Uint8Array.from(manner),
    remedyPath: Int32Array.from(remedies, (index) => pathTo(problem, steps[index]?.stage ?? -1)),
    remedyPrice,
    effort: remedyPrice.map((price, r) => price + (manner[r] === batched ? 0 : test)),
    cureFrom: Int32Array.from(cureFrom),
    cureFault: Int32Array.from(cureFault),
    cure: Float64Array.from(cure),
    ...turned,
    behind: Int32Array.from(problem.stages, (stage) => stage.behind),
    openPrice: Float64Array.from(problem.stages, (stage) => money(stage.open, rates)),
    discharge,
    test,
    testShut: problem.testShut,
    freeTest: test === 0 && discharge === 0 && !problem.testShut,
    stopCost,
    dearestStop: dearest(stopCost, faults),
    frames: [],
    depth: 0,
    keys,
    keyStack: [keys.start],
    done: Uint8Array.from(state.done),
    used: new Int32Array((N + 31) >> 5),
    doneAtStart: Uint8Array.from(state.done),
    found: Int8Array.from(state.found),
    open: state.open,
    charged: state.charged,
    altered: state.altered,
    pending: new Int32Array(state.pending.length + room + 1),
    pendingFrom: 0,
    pendingTo: 0,
    work: 0,
  };

  const frame = frameAt(world, 0);
  let total = 0;
  for (const weight of state.weights) total += weight;
  if (!(total > 0)) throw new RangeError('the weights of a state must have a sum above 0');
  for (let fault = 0; fault < faults; fault++) {
    frame[fault] = (state.weights[fault] as number) / total;
    frame[faults + fault] = frame[fault] as number;
  }
  for (const index of state.pending) addPending(world, index, frame);
  return world;
}

export function frameAt(w: World, depth: number): Float64Array {
  while (w.frames.length <= depth) w.frames.push(new Float64Array(2 * w.faults));
  return w.frames[depth] as Float64Array;
}

/** Adds a remedy to those waiting for a test, and to the second half of the frame. */
export function addPending(w: World, step: number, frame: Float64Array): void {
  w.pending[w.pendingTo++] = step;
  const r = w.remedyOf[step] as number;
  for (let e = w.cureFrom[r] as number; e < (w.cureFrom[r + 1] as number); e++) {
    const f = w.faults + (w.cureFault[e] as number);
    frame[f] = (frame[f] as number) * (1 - (w.cure[e] as number));
  }
}

function turnRound(faults: number, cureFrom: number[], cureFault: number[], cure: number[]) {
  const lists: number[][] = Array.from({ length: faults }, () => []);
  for (let r = 0; r + 1 < cureFrom.length; r++) {
    for (let e = cureFrom[r] as number; e < (cureFrom[r + 1] as number); e++) {
      lists[cureFault[e] as number]?.push(r, cure[e] as number);
    }
  }
  const curedFrom = new Int32Array(faults + 1);
  const curedBy = new Int32Array(cure.length);
  const curedHow = new Float64Array(cure.length);
  let at = 0;
  lists.forEach((list, fault) => {
    for (let k = 0; k < list.length; k += 2) {
      curedBy[at] = list[k] as number;
      curedHow[at++] = list[k + 1] as number;
    }
    curedFrom[fault + 1] = at;
  });
  return { curedFrom, curedBy, curedHow };
}

function dearest(stopCost: readonly Float64Array[], faults: number): number {
  let most = -Infinity;
  for (let f = 0; f < faults; f++) {
    let least = Infinity;
    for (const cost of stopCost) least = Math.min(least, cost[f] as number);
    most = Math.max(most, least);
  }
  return most;
}
