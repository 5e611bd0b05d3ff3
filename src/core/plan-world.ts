/**
 * The plan's fast form of a problem: costs as single numbers, cures as sparse lists, and one situation that is
 * stepped forward and back instead of copied. Weights are not normalised, so nothing is divided: a cost times the
 * weight that reaches it adds up to the value of the whole.
 */
import type { Keys } from './plan-table.ts';
import { addKey, keyWith, makeKeys, takeKey } from './plan-table.ts';
import type { Choice, Problem, ProblemState } from './problem.ts';
import { money } from './problem.ts';
import { pathTo } from './problem-rules.ts';

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

export const frameNow = (w: World): Float64Array => w.frames[w.depth] as Float64Array;

export const hasPending = (w: World): boolean => w.pendingTo > w.pendingFrom;

/** Whether the rules allow step `i` now. */
export function allowed(w: World, i: number): boolean {
  if ((w.done[i] as number) >= (w.times[i] as number)) return false;
  if (w.altered && (w.stage[i] as number) < 0) return false;
  if (w.hasNeeds[i] === 1 && !needsMet(w, i)) return false;
  if (w.pendingTo === w.pendingFrom) return true;
  if ((w.stage[i] as number) < 0 || w.power[i] !== 0) return false;
  return w.isCheck[i] === 1 || w.manner[w.remedyOf[i] as number] === batched;
}

export function needsMet(w: World, i: number): boolean {
  const needs = w.problem.steps[i]?.needs ?? [];
  for (const need of needs) if (w.found[need.step] === need.outcome) return true;
  return false;
}

/** Opening what is closed on a path given as bits. */
export function opening(w: World, path: number, open: number): number {
  let missing = path & ~open;
  let total = 0;
  for (let s = 0; missing !== 0; s++, missing >>>= 1) if (missing & 1) total += w.openPrice[s] as number;
  return total;
}

/** What a move costs at once, per unit of weight. Not for a stop. */
export function immediate(w: World, move: number): number {
  if (move === w.steps) return w.test;
  let total = w.price[move] as number;
  if ((w.stage[move] as number) >= 0) {
    total += opening(w, w.path[move] as number, w.open) + (w.charged ? w.discharge : 0);
  }
  if (w.isCheck[move] === 0 && w.manner[w.remedyOf[move] as number] !== batched) total += w.test;
  return total;
}

/** How many ways a move may go on: outcomes of a check, 1 for a remedy or a test (it did not work, or nothing seen). */
export const ways = (w: World, move: number): number =>
  move < w.steps && w.isCheck[move] === 1 ? (w.rows[move] as readonly Float64Array[]).length : 1;

/** What has to be kept to step back. */
export interface Mark {
  open: number;
  charged: boolean;
  altered: boolean;
  pendingFrom: number;
  pendingTo: number;
  found: number;
}

export const newMark = (): Mark => ({
  open: 0,
  charged: false,
  altered: false,
  pendingFrom: 0,
  pendingTo: 0,
  found: -1,
});

/** Does what all ways of a move have in common; `follow` then picks the way. */
export function begin(w: World, move: number, mark: Mark): void {
  mark.open = w.open;
  mark.charged = w.charged;
  mark.altered = w.altered;
  mark.pendingFrom = w.pendingFrom;
  mark.pendingTo = w.pendingTo;
  w.depth++;
  w.work += 10;
  frameAt(w, w.depth);
  if (move === w.steps) {
    if (w.testShut) w.open = 0;
    w.charged = true;
    let key = w.keyStack[w.depth - 1] as number;
    for (let a = w.pendingFrom; a < w.pendingTo; a++) {
      key = takeKey(w.keys.unique, key, w.keys.waits[w.pending[a] as number] as number);
    }
    w.keyStack[w.depth] = key;
    w.pendingFrom = w.pendingTo;
    return;
  }
  mark.found = w.found[move] as number;
  w.done[move] = (w.done[move] as number) + 1;
  w.used[move >> 5] = (w.used[move >> 5] as number) | (1 << (move & 31));
  const inside = (w.stage[move] as number) >= 0;
  if (inside) {
    w.open |= w.path[move] as number;
    w.charged = false;
    w.altered = false;
  }
  if (w.isCheck[move] === 1) {
    if (w.power[move] === 1) {
      w.charged = true;
      if (!inside && w.testShut) w.open = 0;
    } else if (w.power[move] === 2) {
      w.charged = true;
      w.open = 0;
      w.altered = true;
    }
    return;
  }
  let key = addKey(w.keys.unique, w.keyStack[w.depth - 1] as number, w.keys.did[move] as number);
  if (w.manner[w.remedyOf[move] as number] === batched) {
    key = addKey(w.keys.unique, key, w.keys.waits[move] as number);
  } else {
    w.charged = true;
    if (w.testShut) w.open = 0;
  }
  w.keyStack[w.depth] = key;
}

/** The key of the situation now. */
export function keyNow(w: World): number {
  const condition = w.open * 4 + (w.charged ? 2 : 0) + (w.altered ? 1 : 0);
  return keyWith(w.keys, w.keyStack[w.depth] as number, condition);
}

/** Fills the weights of way `way` of a move that has begun; returns their sum. */
export function follow(w: World, move: number, way: number): number {
  const { faults } = w;
  const from = w.frames[w.depth - 1] as Float64Array;
  const to = w.frames[w.depth] as Float64Array;
  let total = 0;
  w.work += faults;
  if (move === w.steps) {
    for (let f = 0; f < faults; f++) {
      const weight = from[faults + f] as number;
      to[f] = weight;
      to[faults + f] = weight;
      total += weight;
    }
    return total;
  }
  if (w.isCheck[move] === 1) {
    const row = (w.rows[move] as readonly Float64Array[])[way] as Float64Array;
    const time = (w.done[move] as number) - 1 - (w.doneAtStart[move] as number);
    const part = ((w.keys.seen[move] as readonly Float64Array[])[time] as Float64Array)[way] as number;
    w.keyStack[w.depth] = addKey(w.keys.unique, w.keyStack[w.depth - 1] as number, part);
    w.found[move] = way;
    const shifted = w.pendingTo > w.pendingFrom;
    for (let f = 0; f < faults; f++) {
      const weight = (from[f] as number) * (row[f] as number);
      to[f] = weight;
      to[faults + f] = shifted ? (from[faults + f] as number) * (row[f] as number) : weight;
      total += weight;
    }
    return total;
  }
  to.set(from);
  const r = w.remedyOf[move] as number;
  if (w.manner[r] === batched) {
    addPending(w, move, to);
    for (let f = 0; f < faults; f++) total += to[f] as number;
    return total;
  }
  for (let e = w.cureFrom[r] as number; e < (w.cureFrom[r + 1] as number); e++) {
    const f = w.cureFault[e] as number;
    to[f] = (from[f] as number) * (1 - (w.cure[e] as number));
    to[faults + f] = to[f] as number;
  }
  for (let f = 0; f < faults; f++) total += to[f] as number;
  return total;
}

/** Steps back over a move that has begun. */
export function undo(w: World, move: number, mark: Mark): void {
  w.depth--;
  w.open = mark.open;
  w.charged = mark.charged;
  w.altered = mark.altered;
  w.pendingFrom = mark.pendingFrom;
  w.pendingTo = mark.pendingTo;
  if (move === w.steps) return;
  w.done[move] = (w.done[move] as number) - 1;
  if (w.done[move] === w.doneAtStart[move]) {
    w.used[move >> 5] = (w.used[move >> 5] as number) & ~(1 << (move & 31));
  }
  w.found[move] = mark.found;
}

/** Sum of the weights now. */
export function weightNow(w: World): number {
  const frame = frameNow(w);
  let total = 0;
  for (let f = 0; f < w.faults; f++) total += frame[f] as number;
  return total;
}

export function asChoice(w: World, move: number): Choice {
  if (move < w.steps) return { kind: 'step', step: move };
  return move === w.steps ? { kind: 'test' } : { kind: 'stop', stop: move - w.steps - 1 };
}

function addPending(w: World, step: number, frame: Float64Array): void {
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
