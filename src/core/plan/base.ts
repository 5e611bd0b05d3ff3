/**
 * The base policy: remedies in order of efficiency, tested in batches, until stopping is cheaper. It asks nothing;
 * the look-ahead does, and values its leaves by this. What it returns is the exact expected cost of a policy the
 * rules allow.
 *
 * 1. Order. Again and again the largest p/c of what is left: for a remedy outside p over its cost with the test; for
 *    remedies behind covers the best set, sum of p over (opening + discharge + test + sum of c). The set is the prefix
 *    rule for cost clusters (Ottosen & Jensen 2010), found for nested covers by raising the ratio until no set beats
 *    it. Its first remedy is taken, p is corrected for what has been tried, and the rest is judged afresh.
 * 2. Tests and stops. Given the order, going backwards: stop here, or do the next k and test.
 */
import { frameNow, hasPending, needsMet, opening } from './moves.ts';
import type { World } from './world.ts';
import { alone, batched, outside } from './world.ts';

export interface Base {
  /** Remedy numbers in the order of work. */
  readonly order: Int32Array;
  length: number;
  /** At position i, having just found that it does not work: do up to position `next[i]`, then test; i itself: stop. */
  readonly next: Int32Array;
  /** Expected cost from position i on, not normalised. */
  readonly value: Float64Array;
  /** Cost of the segment from position i to `next[i]`, per unit of weight. */
  readonly segment: Float64Array;
  /** Weight at position i; position 0 is after what is pending at the start. */
  readonly mass: Float64Array;
  /** Where the first test comes when something is pending at the start. */
  first: number;
  firstSegment: number;
  readonly stop: Int32Array;
  readonly stopValue: Float64Array;
  readonly opened: Int32Array;
  // Scratch
  readonly weights: Float64Array;
  readonly chance: Float64Array;
  readonly left: Uint8Array;
  readonly active: Int32Array;
  readonly members: Int32Array;
  readonly sumChance: Float64Array;
  readonly sumCost: Float64Array;
  readonly taken: Uint8Array;
  readonly stopSum: Float64Array;
  readonly chain: Int32Array;
}

export function newBase(w: World): Base {
  let most = 1;
  for (const step of w.remedies) most += w.times[step] as number;
  const n = w.remedies.length;
  return {
    order: new Int32Array(most),
    length: 0,
    next: new Int32Array(most + 1),
    value: new Float64Array(most + 1),
    segment: new Float64Array(most + 1),
    mass: new Float64Array(most + 1),
    first: -1,
    firstSegment: 0,
    stop: new Int32Array(most + 1),
    stopValue: new Float64Array(most + 1),
    opened: new Int32Array(most + 1),
    weights: new Float64Array(w.faults),
    chance: new Float64Array(n),
    left: new Uint8Array(n),
    active: new Int32Array(n),
    members: new Int32Array(n),
    sumChance: new Float64Array(w.stages + 1),
    sumCost: new Float64Array(w.stages + 1),
    taken: new Uint8Array(w.stages + 1),
    stopSum: new Float64Array(w.stops),
    chain: new Int32Array(most + 1),
  };
}

/** A ratio counts as larger only beyond rounding, so that the same weights reached by another road order the same. */
const clearly = 1 + 1e-11;
/** Keeps p/c finite for a remedy that costs nothing. */
const nothing = 1e-9;
/** Below this share of weight / dearest stop, no efficiency can pay any more, nor what follows it. */
const hopeless = 0.5;

/** Works out the base policy for the situation now; returns its expected cost, not normalised. */
export function runBase(w: World, b: Base): number {
  orderWork(w, b);
  return placeTests(w, b);
}

function orderWork(w: World, b: Base): void {
  const { faults, cureFrom, cureFault, cure, curedFrom, curedBy, curedHow } = w;
  const { manner, effort, remedyPrice, remedyPath } = w;
  const { weights, chance, left, active, stopSum } = b;
  const frame = frameNow(w);
  const n = w.remedies.length;
  let mass = 0;
  for (let f = 0; f < faults; f++) {
    const weight = frame[faults + f] as number;
    weights[f] = weight;
    mass += weight;
  }
  for (let k = 0; k < w.stops; k++) {
    const cost = w.stopCost[k] as Float64Array;
    let total = 0;
    for (let f = 0; f < faults; f++) total += (weights[f] as number) * (cost[f] as number);
    stopSum[k] = total;
  }
  let count = 0;
  for (let r = 0; r < n; r++) {
    const step = w.remedies[r] as number;
    const still = (w.times[step] as number) - (w.done[step] as number);
    left[r] = 0;
    if (still <= 0 || (w.hasNeeds[step] === 1 && !needsMet(w, step))) continue;
    let p = 0;
    for (let e = cureFrom[r] as number; e < (cureFrom[r + 1] as number); e++) {
      p += (weights[cureFault[e] as number] as number) * (cure[e] as number);
    }
    if (p <= 0) continue;
    left[r] = still;
    chance[r] = p;
    active[count++] = r;
  }
  w.work += faults * (2 + w.stops) + n * 4;

  let open = w.open;
  let charged = w.charged;
  let inBatch = hasPending(w);
  let m = 0;
  note(w, b, 0, mass, open);
  while (count > 0 && mass > 1e-14) {
    // The best of those tested at once, and the best one behind covers if it were alone in its batch.
    const fixed = inBatch ? 0 : (charged ? w.discharge : 0) + w.test;
    let best = -1;
    let ratio = 0;
    let inSet = false;
    for (let a = 0; a < count; a++) {
      const r = active[a] as number;
      const how = manner[r] as number;
      let cost = nothing;
      if (how === batched) {
        cost += (remedyPrice[r] as number) + fixed + opening(w, remedyPath[r] as number, open);
      } else {
        if (how === outside && w.altered && m === 0) continue;
        cost += effort[r] as number;
        if (how === alone) cost += opening(w, remedyPath[r] as number, open) + (charged ? w.discharge : 0);
      }
      const own = (chance[r] as number) / cost;
      if (own > ratio * clearly) {
        best = r;
        ratio = own;
        inSet = how === batched;
      }
    }
    w.work += count * 2;
    // Sets behind covers that share an opening, a discharge and a test, as long as there is a better one.
    const before = ratio;
    let inSetOf = 0;
    for (let round = 0; round < 6; round++) {
      const floor = ratio;
      const better = bestSet(w, b, active, count, open, fixed, floor);
      if (!(better > floor * clearly)) break;
      ratio = better;
      inSetOf = keepSet(w, b, active, count, floor);
    }
    if (ratio > before) {
      inSet = true;
      best = firstOfSet(w, b, inSetOf, open);
    }
    if (inBatch && !inSet) {
      // Nothing more belongs into this batch: from here on it has been tested.
      inBatch = false;
      charged = true;
      if (w.testShut) open = 0;
      continue;
    }
    if (best < 0 || ratio * w.dearestStop < hopeless * mass) break;

    // Take it, and correct every p that shares a fault with it.
    b.order[m++] = best;
    for (let e = cureFrom[best] as number; e < (cureFrom[best + 1] as number); e++) {
      const f = cureFault[e] as number;
      const before = weights[f] as number;
      const lost = before * (cure[e] as number);
      weights[f] = before - lost;
      mass -= lost;
      for (let k = 0; k < w.stops; k++) {
        stopSum[k] = (stopSum[k] as number) - lost * ((w.stopCost[k] as Float64Array)[f] as number);
      }
      const end = curedFrom[f + 1] as number;
      for (let g = curedFrom[f] as number; g < end; g++) {
        const r = curedBy[g] as number;
        chance[r] = (chance[r] as number) - lost * (curedHow[g] as number);
      }
      w.work += end - (curedFrom[f] as number) + 2;
    }
    left[best] = (left[best] as number) - 1;
    let kept = 0;
    for (let a = 0; a < count; a++) {
      const r = active[a] as number;
      if (left[r] !== 0 && (chance[r] as number) > 1e-13 * mass) active[kept++] = r;
    }
    count = kept;
    if (w.manner[best] === batched) {
      open |= w.remedyPath[best] as number;
      charged = false;
      inBatch = true;
    } else {
      inBatch = false;
      charged = true;
      if (w.manner[best] === alone) open |= w.remedyPath[best] as number;
      if (w.testShut) open = 0;
    }
    note(w, b, m, Math.max(mass, 0), open);
  }
  b.length = m;
}

function note(w: World, b: Base, m: number, mass: number, open: number): void {
  b.mass[m] = mass;
  b.opened[m] = w.testShut && (m > 0 || hasPending(w)) ? 0 : open;
  let least = Infinity;
  for (let k = 0; k < w.stops; k++) {
    const cost = b.stopSum[k] as number;
    if (cost < least) {
      least = cost;
      b.stop[m] = k;
    }
  }
  b.stopValue[m] = least;
}

/** The ratio of the set of batched remedies with the largest (sum of p) − ratio · (cost of it all); 0 where empty. */
function bestSet(
  w: World,
  b: Base,
  list: Int32Array,
  count: number,
  open: number,
  fixed: number,
  ratio: number,
): number {
  const { chance, sumChance, sumCost, taken } = b;
  const { stages } = w;
  for (let s = 0; s <= stages; s++) {
    sumChance[s] = 0;
    sumCost[s] = 0;
  }
  for (let a = 0; a < count; a++) {
    const r = list[a] as number;
    if (w.manner[r] !== batched) continue;
    const p = chance[r] as number;
    const c = (w.remedyPrice[r] as number) + nothing;
    if (p <= ratio * c) continue;
    const s = w.stage[w.remedies[r] as number] as number;
    sumChance[s] = (sumChance[s] as number) + p;
    sumCost[s] = (sumCost[s] as number) + c;
  }
  w.work += count + stages * 2;
  let p = 0;
  let c = fixed;
  for (let s = stages - 1; s >= 0; s--) {
    const inner = sumChance[s] as number;
    const cost = (sumCost[s] as number) + ((open >>> s) & 1 ? 0 : (w.openPrice[s] as number));
    taken[s] = inner > ratio * cost ? 1 : 0;
    if (taken[s] === 0) continue;
    const behind = w.behind[s] as number;
    if (behind >= 0) {
      sumChance[behind] = (sumChance[behind] as number) + inner;
      sumCost[behind] = (sumCost[behind] as number) + cost;
    } else {
      p += inner;
      c += cost;
    }
  }
  return p > 0 ? p / c : 0;
}

/** Keeps the set that `bestSet` has just found at this ratio in `members`, which may be the list itself; its size. */
function keepSet(w: World, b: Base, list: Int32Array, count: number, ratio: number): number {
  let size = 0;
  for (let a = 0; a < count; a++) {
    const r = list[a] as number;
    const floor = ratio * ((w.remedyPrice[r] as number) + nothing);
    if (w.manner[r] !== batched || (b.chance[r] as number) <= floor) continue;
    if (reachable(w, b, w.stage[w.remedies[r] as number] as number)) b.members[size++] = r;
  }
  w.work += count;
  return size;
}

/**
 * Which of the members kept comes first: with the outermost of their covers open, as all of them need it, the best by
 * p/c or the best set behind a cover further in, and so on inwards. Where a test is free in an opened cover this
 * decides the cost; elsewhere they come under one test, or the first part of them does.
 */
function firstOfSet(w: World, b: Base, size: number, from: number): number {
  const { members } = b;
  let open = from;
  let count = size;
  for (;;) {
    let needed = 0;
    for (let a = 0; a < count; a++) needed |= w.remedyPath[members[a] as number] as number;
    let closed = 0;
    for (let s = 0; s < w.stages; s++) {
      const behind = w.behind[s] as number;
      const outermost = behind < 0 || ((open >>> behind) & 1) === 1;
      if (outermost && ((needed & ~open) >>> s) & 1) closed |= 1 << s;
    }
    open |= closed;
    let best = -1;
    let ratio = 0;
    for (let a = 0; a < count; a++) {
      const r = members[a] as number;
      const cost = (w.remedyPrice[r] as number) + nothing + opening(w, w.remedyPath[r] as number, open);
      const own = (b.chance[r] as number) / cost;
      if (own > ratio * clearly) {
        best = r;
        ratio = own;
      }
    }
    w.work += count * 2;
    if (closed === 0) return best;
    let kept = -1;
    for (let round = 0; round < 6; round++) {
      const floor = ratio;
      const better = bestSet(w, b, members, count, open, 0, floor);
      if (!(better > floor * clearly)) break;
      ratio = better;
      kept = keepSet(w, b, members, count, floor);
      count = kept;
    }
    if (kept < 0) return best;
  }
}

function reachable(w: World, b: Base, stage: number): boolean {
  for (let s = stage; s >= 0; s = w.behind[s] as number) if (b.taken[s] === 0) return false;
  return true;
}

function placeTests(w: World, b: Base): number {
  const m = b.length;
  const pending = hasPending(w);
  for (let i = m; i >= 0; i--) {
    const start = i === 0 && !pending;
    b.value[i] = b.stopValue[i] as number;
    b.next[i] = i;
    b.segment[i] = 0;
    if (i === m) continue;
    const charged = start ? w.charged : true;
    const open = start ? w.open : (b.opened[i] as number);
    const r = b.order[i] as number;
    if (w.manner[r] !== batched) {
      if (start && w.altered && w.manner[r] === outside) continue;
      let cost = w.effort[r] as number;
      if (w.manner[r] === alone) {
        cost += opening(w, w.remedyPath[r] as number, open) + (charged ? w.discharge : 0);
      }
      const value = cost * (b.mass[i] as number) + (b.value[i + 1] as number);
      if (value < (b.value[i] as number)) {
        b.value[i] = value;
        b.next[i] = i + 1;
        b.segment[i] = cost;
      }
      continue;
    }
    extend(w, b, i, open, w.test + (charged ? w.discharge : 0), b.mass[i] as number);
  }
  w.work += 3 * m;
  b.first = -1;
  if (!pending) return b.value[0] as number;

  // Something is pending: test now, or after a few more; the weight that pays is all that was there before them.
  const frame = frameNow(w);
  let mass = 0;
  for (let f = 0; f < w.faults; f++) mass += frame[f] as number;
  let best = w.test * mass + (b.value[0] as number);
  let cost = w.test;
  let open = w.open;
  b.first = 0;
  b.firstSegment = w.test;
  for (let j = 0; j < m; j++) {
    const r = b.order[j] as number;
    if (w.manner[r] !== batched) break;
    const path = w.remedyPath[r] as number;
    cost += (w.remedyPrice[r] as number) + opening(w, path, open);
    open |= path;
    const value = cost * mass + (b.value[j + 1] as number);
    if (value < best) {
      best = value;
      b.first = j + 1;
      b.firstSegment = cost;
    }
  }
  return best;
}

/** Batches that begin at position `i`: the best number of remedies under one test. */
function extend(w: World, b: Base, i: number, from: number, fixed: number, mass: number): void {
  let open = from;
  let cost = fixed;
  for (let j = i; j < b.length; j++) {
    const r = b.order[j] as number;
    if (w.manner[r] !== batched) return;
    const path = w.remedyPath[r] as number;
    cost += (w.remedyPrice[r] as number) + opening(w, path, open);
    open |= path;
    const value = cost * mass + (b.value[j + 1] as number);
    if (value < (b.value[i] as number)) {
      b.value[i] = value;
      b.next[i] = j + 1;
      b.segment[i] = cost;
    }
    if (w.freeTest || cost * mass > (b.value[i] as number)) return;
    w.work++;
  }
}
