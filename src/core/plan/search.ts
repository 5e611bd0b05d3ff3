/**
 * Look-ahead where the whole tree is too large. Every promising first move, then finer and finer: a state is looked
 * into when what it might still save, its value less the known-fault bound, is more than a cut that halves each round.
 * So likely states are looked into deeply and widely, unlikely ones not at all. A leaf is worth the base policy
 * (rollout), or a policy found elsewhere in the tree if that is cheaper here. Every value is the cost of a policy the
 * rules allow, so stopping early loses strength, never truth.
 */
import type { Base } from './base.ts';
import { runBase } from './base.ts';
import type { Bound } from './bound.ts';
import { leastCost } from './bound.ts';
import type { Mark } from './moves.ts';
import {
  begin,
  follow,
  frameNow,
  hasPending,
  immediate,
  keyNow,
  newMark,
  undo,
  ways,
  weightNow,
} from './moves.ts';
import type { Policies } from './policies.ts';
import { addBase, addStop, compose, costOf, fits, newPolicies } from './policies.ts';
import type { Rank } from './rank.ts';
import { newRank, poolRoom, rankMoves } from './rank.ts';
import type { Table } from './table.ts';
import { find, insert, newTable } from './table.ts';
import type { World } from './world.ts';

/** Moves remembered for each state, and then whether they were ranked among few. */
const kept = 10;
const stride = kept + 1;
/** First moves looked at once; how many of them then more closely. */
const once = 16;
const closely = 8;
/** The first cut, as a share of the value, and what each round makes of it. */
const firstCut = 0.1;
const finer = 0.5;
/** Each move further down a ranking is looked into with a cut so much coarser. */
const coarser = 6;
/** In a ranking, the check that tells most comes no later than this, and is looked into like the third. */
const tellingAt = 3;
const asThird = 2;
/** Up to so many cuts above the cut, a state ranks only the checks its parent found promising. */
const few = 8;
/** Work that a visit costs besides what is counted where it is done. */
const visiting = 20;

export interface Search {
  readonly world: World;
  readonly base: Base;
  readonly bound: Bound;
  readonly policies: Policies;
  readonly rank: Rank;
  /** An entry's `what` is its best policy, its `grade` the finest cut it was looked into with. */
  readonly table: Table;
  readonly limit: number;
  readonly levels: Level[];
  /** Weight of the place where each pooled policy was found, and the state it belongs to. */
  readonly poolWeight: Float64Array;
  readonly poolEntry: Int32Array;
  /** A policy that stops at once, for ways that cannot happen where the policy was found. */
  readonly giveUp: number;
  rankings: Int16Array;
  ranked: number;
}

interface Level {
  readonly mark: Mark;
  readonly parts: Float64Array;
  /** Policies of the ways of the move looked into last, and of the best so far. */
  readonly kids: Int32Array;
  readonly bestKids: Int32Array;
  /** Where the ranking of the state at this depth begins, −1 for none. */
  ranking: number;
}

export interface RootMove {
  readonly move: number;
  readonly telling: number;
  /** The best value found, Infinity where not looked at. */
  value: number;
  /** Place of the record of the policy that has this value. */
  record: number;
}

export function newSearch(world: World, base: Base, bound: Bound, limit: number): Search {
  const policies = newPolicies(world);
  return {
    world,
    base,
    bound,
    policies,
    rank: newRank(world, policies),
    table: newTable(),
    limit,
    levels: [],
    poolWeight: new Float64Array(poolRoom),
    poolEntry: new Int32Array(poolRoom),
    giveUp: addStop(policies, world),
    rankings: new Int16Array(256 * stride),
    ranked: 0,
  };
}

/** Every useful move from the situation now with the best value found for it, best first. */
export function searchRoot(x: Search): RootMove[] {
  const { world: w } = x;
  const whole = runBase(w, x.base);
  const efficient = x.base.length > 0 ? (w.remedies[x.base.order[0] as number] as number) : -1;
  const least = leastCost(w, x.bound);
  const roots = rankRoot(x);
  let best = whole;
  const { kids } = levelAt(x, w.depth);
  const improve = (root: RootMove, cut: number, cap: number): void => {
    const value = lookInto(x, root.move, cut, cap);
    if (value >= root.value) return;
    const policy = compose(x.policies, w, root.move, kids);
    root.value = value;
    root.record = x.policies.start[policy] as number;
    if (value >= best) return;
    best = value;
    if (!hasPending(w)) pool(x, policy, weightNow(w), -1);
  };
  const telling = [...roots].sort((a, b) => b.telling - a.telling || a.move - b.move);
  const firstRemedy = roots.findIndex((root) => root.move < w.steps && w.isCheck[root.move] === 0);
  roots.forEach((root, index) => {
    const special = index === firstRemedy || root.move === w.steps || telling.indexOf(root) < 4;
    if (index < once || special) improve(root, Infinity, Infinity);
  });
  const order = () => roots.sort((a, b) => a.value - b.value || a.move - b.move);
  order();
  let cut = firstCut * best;
  for (let round = 0; round < 60 && w.work < x.limit && best > least * (1 + 1e-12); round++, cut *= finer) {
    // Two checks may pay only together: those that tell most come along though alone they lose.
    const also = telling.filter((root) => roots.indexOf(root) > asThird).slice(0, 2);
    const others = roots.slice(0, closely).filter((root) => !also.includes(root));
    const looks = [
      ...others.map((root, index) => ({ root, index })),
      ...also.map((root) => ({ root, index: asThird })),
    ];
    // What the base policy would do first tells nothing, so it looks dear until what follows it is searched as well:
    // a check that comes before it anyway is only paid where it did not help.
    const first = roots.find((root) => root.move === efficient);
    if (first && roots.indexOf(first) > 0) looks.splice(1, 0, { root: first, index: 0 });
    for (const { root, index } of looks) {
      if (w.work < x.limit) improve(root, cut * coarser ** index, best);
    }
    order();
  }
  return roots;
}

function rankRoot(x: Search): RootMove[] {
  const { rank } = x;
  rankMoves(rank, null);
  return Array.from({ length: rank.count }, (_, a) => ({
    move: rank.moves[a] as number,
    telling: rank.telling[a] as number,
    value: Infinity,
    record: -1,
  }));
}

/**
 * Cost of a move and what follows; Infinity where it cannot be below `cap`. The policies of its ways are left in
 * `kids` of this depth.
 */
function lookInto(x: Search, move: number, cut: number, cap: number): number {
  const { world: w } = x;
  const { mark, parts, kids } = levelAt(x, w.depth);
  let value = immediate(w, move) * weightNow(w);
  begin(w, move, mark);
  const count = ways(w, move);
  for (let way = 0; way < count; way++) {
    const part = follow(w, move, way) > 0 ? leastCost(w, x.bound) : 0;
    parts[way] = part;
    value += part;
  }
  const isCheck = move < w.steps && w.isCheck[move] === 1;
  for (let way = 0; way < count && value < cap; way++) {
    if (isCheck) follow(w, move, way);
    if (!(weightNow(w) > 0)) {
      kids[way] = x.giveUp;
      continue;
    }
    const entry = visit(x, cut);
    kids[way] = x.table.what[entry] as number;
    value += (x.table.value[entry] as number) - (parts[way] as number);
  }
  undo(w, move, mark);
  return value < cap ? value : Infinity;
}

/** Makes the best of the situation now as far as the cut says; returns its entry. */
function visit(x: Search, cut: number): number {
  const { world: w, table: t } = x;
  w.work += visiting;
  const key = keyNow(w);
  let entry = find(t, key);
  if (entry >= 0 && ((t.grade[entry] as number) <= cut || w.work > x.limit)) return entry;
  if (entry < 0) {
    entry = insert(t, key);
    t.grade[entry] = Infinity;
    t.value[entry] = runBase(w, x.base);
    t.what[entry] = addBase(x.policies, w, x.base);
  }
  const pending = hasPending(w);
  if (!pending) borrow(x, entry);
  if (cut === Infinity || w.work > x.limit) return entry;
  let best = t.value[entry] as number;
  const gap = best - leastCost(w, x.bound);
  if (gap <= cut) return entry;

  const level = levelAt(x, w.depth);
  const from = rankingOf(x, entry, gap < cut * few);
  level.ranking = from;
  const width = Math.min(1 + Math.floor(Math.log2(gap / cut)), kept);
  let bestMove = -1;
  for (let a = 0; a < width; a++) {
    const move = x.rankings[from + a] as number;
    if (move < 0 || (a > 0 && w.work > x.limit)) break;
    const value = lookInto(x, move, cut * coarser ** (a === tellingAt ? asThird : a), best);
    if (value >= best) continue;
    best = value;
    bestMove = move;
    level.bestKids.set(level.kids);
  }
  if (bestMove >= 0) {
    const policy = compose(x.policies, w, bestMove, level.bestKids);
    t.what[entry] = policy;
    t.value[entry] = best;
    if (!pending) pool(x, policy, weightNow(w), entry);
  }
  t.grade[entry] = cut;
  return entry;
}

/** Takes over a pooled policy where it is cheaper here than what the entry has. */
function borrow(x: Search, entry: number): void {
  const { world: w, rank, table: t, policies } = x;
  const frame = frameNow(w);
  let best = t.value[entry] as number;
  for (let a = 0; a < rank.pooled; a++) {
    const id = rank.pool[a] as number;
    if (!fits(policies, w, id, -1, w.open, w.charged, w.altered)) continue;
    const cost = costOf(policies, id, frame);
    w.work += w.faults;
    if (cost >= best) continue;
    best = cost;
    t.what[entry] = id;
  }
  w.work += rank.pooled * 3;
  t.value[entry] = best;
}

/** Puts a policy among those tried elsewhere, in place of an older one of the same state or of a less likely place. */
function pool(x: Search, policy: number, weight: number, entry: number): void {
  const { rank } = x;
  let at = entry < 0 ? -1 : x.poolEntry.subarray(0, rank.pooled).indexOf(entry);
  if (at < 0 && rank.pooled < poolRoom) at = rank.pooled++;
  if (at < 0) {
    at = 0;
    for (let a = 1; a < rank.pooled; a++) {
      if ((x.poolWeight[a] as number) < (x.poolWeight[at] as number)) at = a;
    }
    if ((x.poolWeight[at] as number) > weight) return;
  }
  rank.pool[at] = policy;
  x.poolWeight[at] = weight;
  x.poolEntry[at] = entry;
}

/** Where the ranking of the situation now begins; made where there is none, or only one among few and that is not enough. */
function rankingOf(x: Search, entry: number, fewWillDo: boolean): number {
  const { rank, world: w, table: t } = x;
  const known = t.ranking[entry] as number;
  if (known >= 0 && (fewWillDo || x.rankings[known + kept] === 0)) return known;
  const parent = fewWillDo && w.depth > 1 ? levelAt(x, w.depth - 1).ranking : -1;
  rankMoves(rank, parent < 0 ? null : x.rankings.subarray(parent, parent + kept));

  const from = known >= 0 ? known : x.ranked;
  if (known < 0) x.ranked += stride;
  if (x.rankings.length < x.ranked) {
    const longer = new Int16Array(x.rankings.length * 2);
    longer.set(x.rankings);
    x.rankings = longer;
  }
  x.rankings.fill(-1, from, from + kept);
  x.rankings[from + kept] = parent < 0 ? 0 : 1;
  // By rough value, but for the check that tells most.
  let telling = 0;
  for (let a = 1; a < rank.count; a++) {
    if ((rank.telling[a] as number) > (rank.telling[telling] as number)) telling = a;
  }
  const moved = telling > tellingAt && (rank.telling[telling] as number) > 0;
  for (let a = 0; a < Math.min(rank.count, kept); a++) {
    let source = a;
    if (moved && a === tellingAt) source = telling;
    else if (moved && a > tellingAt && a <= telling) source = a - 1;
    x.rankings[from + a] = rank.moves[source] as number;
  }
  t.ranking[entry] = from;
  return from;
}

function levelAt(x: Search, depth: number): Level {
  while (x.levels.length <= depth) {
    const most = x.world.rows.reduce((longest, rows) => Math.max(longest, rows.length), 1);
    x.levels.push({
      mark: newMark(),
      parts: new Float64Array(most),
      kids: new Int32Array(most),
      bestKids: new Int32Array(most),
      ranking: -1,
    });
  }
  return x.levels[depth] as Level;
}
