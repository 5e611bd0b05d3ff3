/**
 * Policies kept for use elsewhere. Once its steps are fixed, what a policy costs is linear in the weights: a price for
 * every fault. So a policy found in one place gives a value in any other place where it can be followed, by one sum of
 * products: where none of its steps has been used up, and covers and charge are no worse than where it was found.
 */
import type { Base } from './base.ts';
import { immediate, needsMet, ways } from './moves.ts';
import type { World } from './world.ts';
import { batched } from './world.ts';

export interface Policies {
  readonly faults: number;
  /** Words of 32 bits for a set of steps. */
  readonly words: number;
  count: number;
  /** `faults` prices for each policy. */
  prices: Float64Array;
  /** Steps that may be used, as bits. */
  uses: Int32Array;
  /** Steps with `needs` among them. */
  needy: Uint8Array;
  /** Covers open where it was found; its charge and alteration. */
  open: Int32Array;
  charged: Uint8Array;
  altered: Uint8Array;
  /** Where on the tape it begins. */
  start: Int32Array;
  /** Records of a move, the number of ways it may go on, and for each the place of its record. */
  tape: Int32Array;
  written: number;
}

export function newPolicies(w: World): Policies {
  const room = 256;
  const words = (w.steps + 31) >> 5;
  return {
    faults: w.faults,
    words,
    count: 0,
    prices: new Float64Array(room * w.faults),
    uses: new Int32Array(room * words),
    needy: new Uint8Array(room),
    open: new Int32Array(room),
    charged: new Uint8Array(room),
    altered: new Uint8Array(room),
    start: new Int32Array(room),
    tape: new Int32Array(room * 16),
    written: 0,
  };
}

/** A new policy for the situation now, its prices and steps still to be filled in. */
function addPolicy(p: Policies, w: World, start: number): number {
  if (p.count === p.start.length) enlarge(p);
  const id = p.count++;
  p.open[id] = w.open;
  p.charged[id] = w.charged ? 1 : 0;
  p.altered[id] = w.altered ? 1 : 0;
  p.start[id] = start;
  return id;
}

/** Writes a record of a move whose following records are known; returns its place. */
export function record(p: Policies, move: number, following: readonly number[]): number {
  const at = reserve(p, 2 + following.length);
  p.tape[at] = move;
  p.tape[at + 1] = following.length;
  for (let k = 0; k < following.length; k++) p.tape[at + 2 + k] = following[k] as number;
  return at;
}

function reserve(p: Policies, length: number): number {
  const at = p.written;
  p.written += length;
  if (p.tape.length < p.written) {
    const longer = new Int32Array(Math.max(p.tape.length * 2, p.written));
    longer.set(p.tape);
    p.tape = longer;
  }
  return at;
}

/** Writes the base policy last run, for the situation it was run in, as a chain of records; returns its place. */
export function recordBase(p: Policies, w: World, b: Base): number {
  let length = 0;
  const waiting = w.pendingTo > w.pendingFrom;
  let at = waiting ? b.first : 0;
  while (b.next[at] !== at) at = b.next[at] as number;
  // At most a step and a test for each position, and the stop.
  const first = reserve(p, at * 6 + 5);
  const put = (move: number, ways: number): void => {
    const place = first + length;
    p.tape[place] = move;
    p.tape[place + 1] = ways;
    if (ways === 1) p.tape[place + 2] = place + 3;
    length += ways + 2;
  };
  at = 0;
  let to = waiting ? b.first : (b.next[0] as number);
  let test = waiting;
  while (test || to !== at) {
    for (; at < to; at++) {
      const r = b.order[at] as number;
      put(w.remedies[r] as number, 1);
      if (w.manner[r] === batched) test = true;
    }
    if (test) put(w.steps, 1);
    test = false;
    to = b.next[at] as number;
  }
  put(w.steps + 1 + (b.stop[at] as number), 0);
  p.written = first + length;
  return first;
}

/** Adds the base policy last run. */
export function addBase(p: Policies, w: World, b: Base): number {
  const id = addPolicy(p, w, recordBase(p, w, b));
  priceBase(w, b, -1, p.prices, id * p.faults);
  p.uses.fill(0, id * p.words, (id + 1) * p.words);
  p.needy[id] = 0;
  let at = Math.max(b.first, 0);
  while (b.next[at] !== at) at = b.next[at] as number;
  for (let i = 0; i < at; i++) useStep(p, w, id, w.remedies[b.order[i] as number] as number);
  return id;
}

/**
 * The policy of a move from the situation now (not begun) and, for each way it may go on, the policy in `kids`.
 */
export function compose(p: Policies, w: World, move: number, kids: Int32Array): number {
  const { faults, words } = p;
  const count = ways(w, move);
  const at = reserve(p, 2 + count);
  p.tape[at] = move;
  p.tape[at + 1] = count;
  for (let way = 0; way < count; way++) p.tape[at + 2 + way] = p.start[kids[way] as number] as number;

  const id = addPolicy(p, w, at);
  const { prices, uses } = p;
  const to = id * faults;
  const first = immediate(w, move);
  const isCheck = move < w.steps && w.isCheck[move] === 1;
  prices.fill(first, to, to + faults);
  uses.fill(0, id * words, (id + 1) * words);
  p.needy[id] = 0;
  for (let way = 0; way < count; way++) {
    const kid = kids[way] as number;
    const from = kid * faults;
    const row = isCheck ? ((w.rows[move] as readonly Float64Array[])[way] as Float64Array) : null;
    for (let f = 0; f < faults; f++) {
      const share = row === null ? 1 : (row[f] as number);
      prices[to + f] = (prices[to + f] as number) + share * (prices[from + f] as number);
    }
    for (let k = 0; k < words; k++) {
      uses[id * words + k] = (uses[id * words + k] as number) | (uses[kid * words + k] as number);
    }
    if (p.needy[kid] === 1) p.needy[id] = 1;
  }
  w.work += faults * (count + 1);
  if (move === w.steps) {
    for (let a = w.pendingFrom; a < w.pendingTo; a++) {
      survive(w, w.remedyOf[w.pending[a] as number] as number, prices, to, first);
    }
    return id;
  }
  useStep(p, w, id, move);
  const r = w.remedyOf[move] as number;
  if (r >= 0 && w.manner[r] !== batched) survive(w, r, prices, to, first);
  return id;
}

/** Takes what a remedy cures off what comes after the first cost. */
function survive(w: World, r: number, prices: Float64Array, offset: number, first: number): void {
  for (let e = w.cureFrom[r] as number; e < (w.cureFrom[r + 1] as number); e++) {
    const f = offset + (w.cureFault[e] as number);
    prices[f] = first + ((prices[f] as number) - first) * (1 - (w.cure[e] as number));
  }
}

/** The policy of stopping at once, by the stop that is cheapest on average. */
export function addStop(p: Policies, w: World): number {
  let least = 0;
  const sums = w.stopCost.map((cost) => cost.reduce((total, value) => total + value, 0));
  for (let k = 1; k < w.stops; k++) if ((sums[k] as number) < (sums[least] as number)) least = k;
  const id = addPolicy(p, w, record(p, w.steps + 1 + least, []));
  p.prices.set(w.stopCost[least] as Float64Array, id * w.faults);
  return id;
}

function useStep(p: Policies, w: World, id: number, step: number): void {
  const word = id * p.words + (step >> 5);
  p.uses[word] = (p.uses[word] as number) | (1 << (step & 31));
  if (w.hasNeeds[step] === 1) p.needy[id] = 1;
}

/**
 * Whether policy `id` can be followed with these covers, charge and alteration, after what was done since the search
 * began and `also` (a step, −1 for none). Only where nothing is pending.
 */
export function fits(
  p: Policies,
  w: World,
  id: number,
  also: number,
  open: number,
  charged: boolean,
  altered: boolean,
): boolean {
  if (((p.open[id] as number) & ~open) !== 0) return false;
  if (charged && p.charged[id] === 0) return false;
  if (altered && p.altered[id] === 0) return false;
  const from = id * p.words;
  for (let k = 0; k < p.words; k++)
    if (((p.uses[from + k] as number) & (w.used[k] as number)) !== 0) return false;
  if (also >= 0 && ((p.uses[from + (also >> 5)] as number) >>> (also & 31)) & 1) return false;
  if (p.needy[id] === 0) return true;
  if (w.findingsMayGo) return false;
  for (let step = 0; step < w.steps; step++) {
    if (w.hasNeeds[step] === 0 || (((p.uses[from + (step >> 5)] as number) >>> (step & 31)) & 1) === 0)
      continue;
    if (!needsMet(w, step)) return false;
  }
  return true;
}

/** What policy `id` costs at these weights. */
export function costOf(p: Policies, id: number, weights: Float64Array): number {
  const { prices, faults } = p;
  const from = id * faults;
  let total = 0;
  for (let f = 0; f < faults; f++) total += (prices[from + f] as number) * (weights[f] as number);
  return total;
}

/**
 * What a base policy costs for each fault, written to `list` from `offset` on, going backwards; without remedy `skip`
 * and its share of the cost (−1: none).
 */
export function priceBase(w: World, b: Base, skip: number, list: Float64Array, offset: number): void {
  const { faults } = w;
  const waiting = w.pendingTo > w.pendingFrom;
  let last = waiting ? b.first : 0;
  let length = 0;
  while (b.next[last] !== last) {
    b.chain[length++] = last;
    last = b.next[last] as number;
  }
  const stop = w.stopCost[b.stop[last] as number] as Float64Array;
  for (let f = 0; f < faults; f++) list[offset + f] = stop[f] as number;
  // The list holds prices less `lifted`, so that what everybody pays is added in one go.
  let lifted = 0;
  for (let c = length - 1; c >= 0; c--) {
    const from = b.chain[c] as number;
    lifted += segment(
      w,
      b,
      from,
      b.next[from] as number,
      b.segment[from] as number,
      skip,
      list,
      offset,
      lifted,
    );
  }
  if (waiting) {
    const price = segment(w, b, 0, b.first, b.firstSegment, skip, list, offset, lifted);
    for (let a = w.pendingFrom; a < w.pendingTo; a++) {
      cured(w, w.remedyOf[w.pending[a] as number] as number, list, offset, lifted);
    }
    lifted += price;
  }
  for (let f = 0; f < faults; f++) list[offset + f] = (list[offset + f] as number) + lifted;
  w.work += faults * 2 + last * 4;
}

function segment(
  w: World,
  b: Base,
  from: number,
  to: number,
  cost: number,
  skip: number,
  list: Float64Array,
  offset: number,
  lifted: number,
): number {
  let price = cost;
  let others = 0;
  for (let i = from; i < to; i++) {
    const r = b.order[i] as number;
    if (r === skip) {
      price -= w.remedyPrice[r] as number;
      continue;
    }
    others++;
    cured(w, r, list, offset, lifted);
  }
  return others === 0 && to > from ? 0 : price;
}

function cured(w: World, r: number, list: Float64Array, offset: number, lifted: number): void {
  const end = w.cureFrom[r + 1] as number;
  for (let e = w.cureFrom[r] as number; e < end; e++) {
    const f = offset + (w.cureFault[e] as number);
    list[f] = ((list[f] as number) + lifted) * (1 - (w.cure[e] as number)) - lifted;
  }
}

function enlarge(p: Policies): void {
  const room = p.start.length * 2;
  const longer = <A extends Float64Array | Int32Array | Uint8Array>(from: A, to: A): A => {
    to.set(from);
    return to;
  };
  p.prices = longer(p.prices, new Float64Array(room * p.faults));
  p.uses = longer(p.uses, new Int32Array(room * p.words));
  p.needy = longer(p.needy, new Uint8Array(room));
  p.open = longer(p.open, new Int32Array(room));
  p.charged = longer(p.charged, new Uint8Array(room));
  p.altered = longer(p.altered, new Uint8Array(room));
  p.start = longer(p.start, new Int32Array(room));
}
