/**
 * The rules of `problem.ts` once more, for speed: a move is begun, followed along each way it may go, and undone. The
 * tests hold this against the plain form in `problem-rules.ts` and against brute force.
 */

import type { Choice } from './problem.ts';
import { addKey, keyWith, takeKey } from './table.ts';
import type { World } from './world.ts';
import { addPending, batched, frameAt } from './world.ts';

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

/** Covers, charge and alteration in one number. */
export const condition = (w: World): number => w.open * 4 + (w.charged ? 2 : 0) + (w.altered ? 1 : 0);

/** The key of the situation now. */
export const keyNow = (w: World): number => keyWith(w.keys, w.keyStack[w.depth] as number, condition(w));

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
