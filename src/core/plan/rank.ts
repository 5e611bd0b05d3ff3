/**
 * Which moves deserve a closer look. The base policy's cost is linear in the weights as long as its order is fixed,
 * so one run gives a price for every fault; one more such list for each remedy taken first. A check is then judged
 * by sums of products alone: after each outcome the cheapest of a few lists. The figures only rank; they prove nothing.
 */
import type { Base } from './base.ts';
import { newBase, runBase } from './base.ts';
import type { Mark } from './moves.ts';
import {
  allowed,
  begin,
  follow,
  frameNow,
  hasPending,
  immediate,
  needsMet,
  newMark,
  opening,
  undo,
  ways,
  weightNow,
} from './moves.ts';
import type { Policies } from './policies.ts';
import { costOf, fits, priceBase } from './policies.ts';
import type { World } from './world.ts';
import { outside } from './world.ts';

/** How many policies found in the tree are tried elsewhere. */
export const poolRoom = 40;

export interface Rank {
  readonly world: World;
  readonly other: Base;
  readonly conditions: Condition[];
  used: number;
  readonly weights: Float64Array;
  readonly mark: Mark;
  readonly policies: Policies;
  /** Policies worth trying elsewhere. */
  readonly pool: Int32Array;
  pooled: number;
  readonly fitting: Int32Array;
  /** The result: moves and their rough values, cheapest first. */
  readonly moves: Int32Array;
  readonly rough: Float64Array;
  /** How much a check narrows down what is possible, per unit of cost. */
  readonly telling: Float64Array;
  count: number;
}

/** Covers, charge and alteration after a check, and the price lists that hold there. */
interface Condition {
  open: number;
  charged: boolean;
  altered: boolean;
  readonly policy: Base;
  readonly base: Float64Array;
  /** F prices for each remedy taken first. */
  readonly lists: Float64Array;
  readonly made: Uint8Array;
  /** One over what it costs to do a remedy first and test it; 0 where not possible. */
  readonly ease: Float64Array;
}

export function newRank(world: World, policies: Policies): Rank {
  return {
    world,
    other: newBase(world),
    conditions: [],
    used: 0,
    weights: new Float64Array(world.faults),
    mark: newMark(),
    policies,
    pool: new Int32Array(poolRoom),
    pooled: 0,
    fitting: new Int32Array(poolRoom),
    moves: new Int32Array(world.steps + 1),
    rough: new Float64Array(world.steps + 1),
    telling: new Float64Array(world.steps + 1),
    count: 0,
  };
}

/**
 * Ranks the useful moves of the situation now; with `only`, of the checks only those in it. Overwrites what it
 * returned before.
 */
export function rankMoves(k: Rank, only: Int16Array | null): void {
  const { world: w } = k;
  k.used = 0;
  k.count = 0;
  const mass = weightNow(w);
  const spread = spreadOf(w, frameNow(w), mass);
  for (let move = 0; move < w.steps; move++) {
    if (!allowed(w, move)) continue;
    if (w.isCheck[move] === 1) {
      if (only === null || only.includes(move)) rankCheck(k, move, mass, spread);
    } else rankRemedy(k, move, mass);
  }
  if (hasPending(w)) add(k, w.steps, roughTest(k), 0);
}

function rankRemedy(k: Rank, move: number, mass: number): void {
  const { world: w } = k;
  const frame = frameNow(w);
  const r = w.remedyOf[move] as number;
  const shift = w.faults;
  let p = 0;
  for (let e = w.cureFrom[r] as number; e < (w.cureFrom[r + 1] as number); e++) {
    p += (frame[shift + (w.cureFault[e] as number)] as number) * (w.cure[e] as number);
  }
  if (p <= 1e-12 * mass && !w.altered) return;
  const now = conditionNow(k);
  if (hasPending(w)) {
    // Into the same batch: no better than the base policy knows, but let the likeliest be looked at.
    const share = p / mass / ((w.remedyPrice[r] as number) + 1e-9);
    add(k, move, dot(w, now.base, 0, frame) * (1 + 1e-3 / (1 + share)), 0);
    return;
  }
  add(k, move, dot(w, now.lists, listFor(k, now, r), frame), 0);
}

function roughTest(k: Rank): number {
  return dot(k.world, conditionNow(k).base, 0, frameNow(k.world));
}

function rankCheck(k: Rank, move: number, mass: number, spread: number): void {
  const { world: w, weights } = k;
  const cost = immediate(w, move);
  if (w.opensUp[move] === 1) {
    rankOpening(k, move, cost * mass);
    return;
  }
  begin(w, move, k.mark);
  const { open, charged, altered } = w;
  undo(w, move, k.mark);
  const pending = hasPending(w);
  const frame = frameNow(w);
  let rough = cost * mass;
  let after = 0;
  let there: Condition | null = null;
  let fitting = 0;
  const rows = w.rows[move] as readonly Float64Array[];
  for (const row of rows) {
    let total = 0;
    let squares = 0;
    for (let f = 0; f < w.faults; f++) {
      const weight = (frame[f] as number) * (row[f] as number);
      weights[f] = weight;
      total += weight;
      squares += weight * weight;
    }
    if (!(total > 0)) continue;
    after += squares / total;
    if (there === null) {
      there = condition(k, open, charged, altered);
      if (!pending) fitting = chooseFitting(k, move, open, charged, altered);
    }
    rough += roughValue(k, there, weights, pending, fitting);
  }
  w.work += w.faults * rows.length;
  const told = after - spread;
  if (told <= 1e-9 * mass && !w.altered) return;
  add(k, move, rough, told / (cost + 1e-9));
}

/** A check that opens up steps: the price lists do not know these, so the base policy is run after each outcome. */
function rankOpening(k: Rank, move: number, cost: number): void {
  const { world: w } = k;
  let rough = cost;
  begin(w, move, k.mark);
  const count = ways(w, move);
  for (let way = 0; way < count; way++) if (follow(w, move, way) > 0) rough += runBase(w, k.other);
  undo(w, move, k.mark);
  add(k, move, rough, 0);
}

/** Collects the pooled policies that can be followed after a check; returns how many. */
function chooseFitting(k: Rank, move: number, open: number, charged: boolean, altered: boolean): number {
  const { world: w, policies } = k;
  let count = 0;
  for (let a = 0; a < k.pooled; a++) {
    const id = k.pool[a] as number;
    if (fits(policies, w, id, move, open, charged, altered)) k.fitting[count++] = id;
  }
  w.work += k.pooled * 3;
  return count;
}

function roughValue(
  k: Rank,
  there: Condition,
  weights: Float64Array,
  pending: boolean,
  fitting: number,
): number {
  const { world: w } = k;
  let least = dot(w, there.base, 0, weights);
  if (pending) return least;
  for (let a = 0; a < fitting; a++)
    least = Math.min(least, costOf(k.policies, k.fitting[a] as number, weights));
  w.work += fitting * w.faults;
  for (const cost of w.stopCost) least = Math.min(least, dot(w, cost, 0, weights));
  let first = -1;
  let second = -1;
  let most = 0;
  let next = 0;
  const n = w.remedies.length;
  for (let r = 0; r < n; r++) {
    const ease = there.ease[r] as number;
    if (ease === 0) continue;
    let p = 0;
    const end = w.cureFrom[r + 1] as number;
    for (let e = w.cureFrom[r] as number; e < end; e++) {
      p += (weights[w.cureFault[e] as number] as number) * (w.cure[e] as number);
    }
    p *= ease;
    if (p > most) {
      next = most;
      second = first;
      most = p;
      first = r;
    } else if (p > next) {
      next = p;
      second = r;
    }
  }
  w.work += w.cure.length + n;
  if (first >= 0) least = Math.min(least, dot(w, there.lists, listFor(k, there, first), weights));
  if (second >= 0) least = Math.min(least, dot(w, there.lists, listFor(k, there, second), weights));
  return least;
}

const conditionNow = (k: Rank): Condition => condition(k, k.world.open, k.world.charged, k.world.altered);

function condition(k: Rank, open: number, charged: boolean, altered: boolean): Condition {
  const { world: w } = k;
  for (let c = 0; c < k.used; c++) {
    const known = k.conditions[c] as Condition;
    if (known.open === open && known.charged === charged && known.altered === altered) return known;
  }
  const n = w.remedies.length;
  if (k.used === k.conditions.length) {
    k.conditions.push({
      open,
      charged,
      altered,
      policy: newBase(w),
      base: new Float64Array(w.faults),
      lists: new Float64Array(n * w.faults),
      made: new Uint8Array(n),
      ease: new Float64Array(n),
    });
  }
  const made = k.conditions[k.used++] as Condition;
  made.open = open;
  made.charged = charged;
  made.altered = altered;
  made.made.fill(0);
  for (let r = 0; r < n; r++) {
    const step = w.remedies[r] as number;
    made.ease[r] = 0;
    if ((w.done[step] as number) >= (w.times[step] as number)) continue;
    if (w.hasNeeds[step] === 1 && !needsMet(w, step)) continue;
    if (altered && w.manner[r] === outside) continue;
    made.ease[r] = 1 / (entry(w, made, r) + 1e-9);
  }
  const before = { open: w.open, charged: w.charged, altered: w.altered };
  w.open = open;
  w.charged = charged;
  w.altered = altered;
  runBase(w, made.policy);
  w.open = before.open;
  w.charged = before.charged;
  w.altered = before.altered;
  priceBase(w, made.policy, -1, made.base, 0);
  return made;
}

function entry(w: World, there: Condition, r: number): number {
  if (w.manner[r] === outside) return w.effort[r] as number;
  const way =
    opening(w, w.path[w.remedies[r] as number] as number, there.open) + (there.charged ? w.discharge : 0);
  return way + (w.remedyPrice[r] as number) + w.test;
}

/** Where the price list of "this remedy first, then the base policy's order without it" begins. */
function listFor(k: Rank, there: Condition, r: number): number {
  const { world: w } = k;
  const { lists } = there;
  const from = r * w.faults;
  if (there.made[r] === 1) return from;
  there.made[r] = 1;
  priceBase(w, there.policy, r, lists, from);
  for (let e = w.cureFrom[r] as number; e < (w.cureFrom[r + 1] as number); e++) {
    const f = from + (w.cureFault[e] as number);
    lists[f] = (lists[f] as number) * (1 - (w.cure[e] as number));
  }
  const first = entry(w, there, r);
  for (let f = from; f < from + w.faults; f++) lists[f] = (lists[f] as number) + first;
  w.work += w.faults;
  return from;
}

function dot(w: World, list: Float64Array, from: number, weights: Float64Array): number {
  let total = 0;
  for (let f = 0; f < w.faults; f++) total += (list[from + f] as number) * (weights[f] as number);
  w.work += w.faults;
  return total;
}

/** Sum of squared weights over their sum: small when everything is possible, the sum itself when one fault is left. */
function spreadOf(w: World, frame: Float64Array, mass: number): number {
  let squares = 0;
  for (let f = 0; f < w.faults; f++) squares += (frame[f] as number) * (frame[f] as number);
  return squares / mass;
}

function add(k: Rank, move: number, rough: number, telling: number): void {
  let at = k.count++;
  for (; at > 0 && (k.rough[at - 1] as number) > rough; at--) {
    k.rough[at] = k.rough[at - 1] as number;
    k.moves[at] = k.moves[at - 1] as number;
    k.telling[at] = k.telling[at - 1] as number;
  }
  k.rough[at] = rough;
  k.moves[at] = move;
  k.telling[at] = telling;
}
