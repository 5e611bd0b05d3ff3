/**
 * Look-ahead where the whole tree is too large: every move at the start, then ever deeper and wider on the promising
 * ones. A leaf is worth the base policy (rollout), or a policy found elsewhere in the tree if that is cheaper here.
 * Every value is the cost of a policy the rules allow, so stopping early loses strength, never truth.
 */
import type { Base } from './plan-base.ts';
import { runBase } from './plan-base.ts';
import type { Bound } from './plan-bound.ts';
import { leastCost } from './plan-bound.ts';
import type { Policies } from './plan-policies.ts';
import { addBase, addPolicy, costOf, fits, newPolicies, record, reserve, useStep } from './plan-policies.ts';
import type { Rank } from './plan-rank.ts';
import { newRank, rankMoves } from './plan-rank.ts';
import type { Table } from './plan-table.ts';
import { find, insert, newTable } from './plan-table.ts';
import type { Mark, World } from './plan-world.ts';
import { begin, follow, frameNow, hasPending, immediate, keyNow, newMark, undo, ways, weightNow } from './plan-world.ts';

export interface Search {
  readonly world: World;
  readonly base: Base;
  readonly bound: Bound;
  readonly policies: Policies;
  readonly rank: Rank;
  readonly table: Table;
  readonly limit: number;
  readonly levels: Level[];
  /** Weight of the place where each pooled policy was found, and the state it belongs to. */
  readonly poolWeight: Float64Array;
  readonly poolEntry: Int32Array;
  /** A policy that stops at once, for ways that cannot happen where the policy was found. */
  readonly giveUp: number;
  readonly partial: number[];
  /** Rankings kept: `kept` moves for each state ranked, −1 where there are fewer. */
  rankings: Int16Array;
  ranked: number;
  /** A state whose value can fall by no more than this is not looked into. */
  cut: number;
}

interface Level {
  readonly mark: Mark;
  readonly parts: Float64Array;
  /** Policies of the ways of the move looked into last, and of the best so far. */
  readonly kids: Int32Array;
  readonly bestKids: Int32Array;
  ranking: number;
}

/** Moves remembered for each state. */
const kept = 10;
/** How many of them are looked into, by effort. */
export const tuning = {
  first: 0.1,
  ratio: 0.5,
  roots: 8,
  coarser: 4,
  widen: 1,
  pool: 40,
  few: 8,
  once: 24,
};
const w_depth = (x: Search) => x.world.depth;

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
    poolWeight: new Float64Array(64),
    partial: [],
    poolEntry: new Int32Array(64),
    giveUp: stopPolicy(world, policies),
    rankings: new Int16Array(1024 * kept),
    ranked: 0,
    cut: 0,
  };
}

export interface RootMove {
  readonly move: number;
  readonly telling: number;
  value: number;
  /** Place of the record of the policy that has this value. */
  record: number;
}

/** Every useful move from the situation now with the best value found for it, best first. */
export function searchRoot(x: Search): RootMove[] {
  const { world: w } = x;
  const whole = runBase(w, x.base);
  const least = leastCost(w, x.bound);
  rankMoves(x.rank, null);
  const roots: RootMove[] = [];
  for (let a = 0; a < x.rank.count; a++) {
    const move = x.rank.moves[a] as number;
    roots.push({ move, telling: x.rank.telling[a] as number, value: Infinity, record: -1 });
  }
  let best = whole;
  const level = levelAt(x, w.depth);
  const improve = (root: RootMove, effort: number, cap: number): void => {
    const value = lookInto(x, root.move, effort, cap);
    if (value >= root.value) return;
    root.value = value;
    const policy = compose(x, root.move, level.kids);
    root.record = x.policies.start[policy] as number;
    if (value < best) {
      best = value;
      pool(x, policy, 1, -1);
    }
  };
  const telling = [...roots].sort((a, b) => b.telling - a.telling || a.move - b.move).slice(0, 4);
  const remedy = roots.findIndex((root) => root.move < w.steps && w.isCheck[root.move] === 0);
  roots.forEach((root, index) => {
    if (index < tuning.once || index === remedy || telling.includes(root)) improve(root, Infinity, Infinity);
  });
  const order = () => roots.sort((a, b) => a.value - b.value || a.move - b.move);
  order();
  for (let round = 0; round < 60 && w.work < x.limit && best > least * (1 + 1e-12); round++) {
    const cut = tuning.first * tuning.ratio ** round * best;
    const chosen = roots.slice(0, tuning.roots);
    if (round <= 2) {
      const telling = roots.slice(tuning.roots).sort((a, b) => b.telling - a.telling || a.move - b.move);
      chosen.push(...telling.slice(0, 2));
    }
    chosen.forEach((root, index) => {
      if (w.work < x.limit) improve(root, cut * tuning.coarser ** index, best);
    });
    order();
  }
  return roots;
}

/**
 * Cost of a move and what follows, with `effort` spent on each way; Infinity where it cannot be below `cap`. The
 * policies of its ways are left in `kids` of this depth.
 */
function lookInto(x: Search, move: number, effort: number, cap: number): number {
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
    const entry = visit(x, effort);
    kids[way] = x.table.move[entry] as number;
    value += (x.table.value[entry] as number) - (parts[way] as number);
  }
  undo(w, move, mark);
  return value < cap ? value : Infinity;
}

/** Makes the best of the situation now with so much effort; returns its entry, whose `move` is its best policy. */
function visit(x: Search, effort: number): number {
  const { world: w, table: t } = x;
  const key = keyNow(w);
  let entry = find(t, key);
  if (entry >= 0 && ((t.depth[entry] as number) <= effort || w.work > x.limit)) return entry;
  if (entry < 0) {
    entry = insert(t, key);
    t.depth[entry] = Infinity;
    t.value[entry] = runBase(w, x.base);
    t.move[entry] = addBase(x.policies, w, x.base);
  }
  if (!hasPending(w)) borrow(x, entry);
  if (effort === Infinity || w.work > x.limit) return entry;
  let best = t.value[entry] as number;
  const gap = best - leastCost(w, x.bound);
  if (gap <= effort) return entry;
  const few = gap < effort * tuning.few && w.depth > 1;
  if ((t.ranking[entry] as number) < 0 || (!few && x.partial[entry] === 1)) keepRanking(x, entry, few);
  const from = t.ranking[entry] as number;
  const width = Math.min(1 + Math.floor(Math.log2(gap / effort) * tuning.widen), kept);
  const { kids, bestKids } = levelAt(x, w.depth);
  levelAt(x, w.depth).ranking = from;
  let bestMove = -1;
  for (let a = from; a < from + width; a++) {
    const move = x.rankings[a] as number;
    if (move < 0) break;
    const value = lookInto(x, move, effort * tuning.coarser ** (a - from), best);
    if (value < best) {
      best = value;
      bestMove = move;
      bestKids.set(kids);
    }
  }
  if (bestMove >= 0) {
    const policy = compose(x, bestMove, bestKids);
    t.move[entry] = policy;
    t.value[entry] = best;
    if (!hasPending(w)) pool(x, policy, weightNow(w), entry);
  }
  t.depth[entry] = effort;
  return entry;
}

/** Takes over a pooled policy where it is cheaper here than what the entry has. */
function borrow(x: Search, entry: number): void {
  const { world: w, rank, table: t, policies } = x;
  const frame = frameNow(w);
  let best = t.value[entry] as number;
  for (let a = 0; a < rank.pooled; a++) {
    const id = rank.pool[a] as number;
    if (!fits(policies, w, id, w.used, -1, w.open, w.charged, w.altered)) continue;
    const cost = costOf(policies, id, frame);
    w.work += w.faults;
    if (cost < best) {
      best = cost;
      t.move[entry] = id;
    }
  }
  w.work += rank.pooled * 3;
  t.value[entry] = best;
}

/** The policy of a move and, for each way it may go on, the policy given. */
function compose(x: Search, move: number, kids: Int32Array): number {
  const { world: w, policies: p } = x;
  const count = ways(w, move);
  const at = reserve(p, 2 + count);
  p.tape[at] = move;
  p.tape[at + 1] = count;
  for (let way = 0; way < count; way++) p.tape[at + 2 + way] = p.start[kids[way] as number] as number;
  const id = addPolicy(p, w, at);
  const { prices, uses } = p;
  const to = id * w.faults;
  const first = immediate(w, move);
  for (let f = 0; f < w.faults; f++) prices[to + f] = first;
  for (let k = 0; k < p.words; k++) uses[id * p.words + k] = 0;
  p.needy[id] = 0;
  for (let way = 0; way < count; way++) {
    const kid = kids[way] as number;
    const from = kid * w.faults;
    const row = move < w.steps && w.isCheck[move] === 1 ? ((w.rows[move] as readonly Float64Array[])[way] as Float64Array) : null;
    for (let f = 0; f < w.faults; f++) {
      const share = row === null ? 1 : (row[f] as number);
      prices[to + f] = (prices[to + f] as number) + share * (prices[from + f] as number);
    }
    for (let k = 0; k < p.words; k++) {
      uses[id * p.words + k] = (uses[id * p.words + k] as number) | (uses[kid * p.words + k] as number);
    }
    if (p.needy[kid] === 1) p.needy[id] = 1;
  }
  w.work += w.faults * (count + 1);
  if (move < w.steps) {
    useStep(p, w, id, move);
    const r = w.remedyOf[move] as number;
    if (r >= 0 && (w.stage[move] as number) * 0 === 0 && w.manner[r] !== 2) survive(w, r, prices, to, first);
  } else {
    for (let a = w.pendingFrom; a < w.pendingTo; a++) survive(w, w.remedyOf[w.pending[a] as number] as number, prices, to, first);
  }
  return id;
}

/** Takes the share that a remedy cures off what comes after the first cost. */
function survive(w: World, r: number, prices: Float64Array, offset: number, first: number): void {
  for (let e = w.cureFrom[r] as number; e < (w.cureFrom[r + 1] as number); e++) {
    const f = offset + (w.cureFault[e] as number);
    prices[f] = first + ((prices[f] as number) - first) * (1 - (w.cure[e] as number));
  }
}

/** Puts a policy among those tried elsewhere, in place of an older one of the same state or of a less likely place. */
function pool(x: Search, policy: number, weight: number, entry: number): void {
  const { rank } = x;
  let at = -1;
  for (let a = 0; a < rank.pooled; a++) if (entry >= 0 && x.poolEntry[a] === entry) at = a;
  if (at < 0 && rank.pooled < tuning.pool) at = rank.pooled++;
  if (at < 0) {
    for (let a = 0; a < rank.pooled; a++) {
      if (at < 0 || (x.poolWeight[a] as number) < (x.poolWeight[at] as number)) at = a;
    }
    if ((x.poolWeight[at] as number) > weight) return;
  }
  rank.pool[at] = policy;
  x.poolWeight[at] = weight;
  x.poolEntry[at] = entry;
}

function stopPolicy(w: World, p: Policies): number {
  let least = 0;
  const sums = w.stopCost.map((cost) => cost.reduce((total, value) => total + value, 0));
  for (let k = 1; k < w.stops; k++) if ((sums[k] as number) < (sums[least] as number)) least = k;
  const id = addPolicy(p, w, record(p, w.steps + 1 + least, []));
  p.prices.set(w.stopCost[least] as Float64Array, id * w.faults);
  return id;
}

/** Ranks the moves of the situation now and keeps the first: by rough value, the most telling check among them. */
function keepRanking(x: Search, entry: number, few: boolean): void {
  const { rank } = x;
  const parent = few ? (levelAt(x, w_depth(x) - 1).ranking as number) : -1;
  rankMoves(rank, parent < 0 ? null : x.rankings.subarray(parent, parent + kept));
  x.partial[entry] = parent < 0 ? 0 : 1;
  const from = x.ranked;
  x.ranked += kept;
  if (x.rankings.length < x.ranked) {
    const longer = new Int16Array(x.rankings.length * 2);
    longer.set(x.rankings);
    x.rankings = longer;
  }
  x.rankings.fill(-1, from, from + kept);
  let most = -1;
  for (let a = 0; a < rank.count; a++) {
    if ((rank.telling[a] as number) > 0 && (most < 0 || (rank.telling[a] as number) > (rank.telling[most] as number))) most = a;
  }
  let at = from;
  for (let a = 0; a < rank.count && at < from + kept; a++) {
    if (at === from + 3 && most >= 3 && a <= most) {
      x.rankings[at++] = rank.moves[most] as number;
      if (at >= from + kept) break;
    }
    if (a === most && most >= 3) continue;
    x.rankings[at++] = rank.moves[a] as number;
  }
  x.table.ranking[entry] = from;
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
