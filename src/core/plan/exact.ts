/**
 * The whole tree: expected cost minimised over every policy the rules allow, by branch and bound over states met.
 * Bounded below by known faults, above by the base policy. Gives up when the work is over the limit.
 */
import type { Base } from './base.ts';
import { runBase } from './base.ts';
import type { Bound } from './bound.ts';
import { leastCost } from './bound.ts';
import type { Mark } from './moves.ts';
import {
  allowed,
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
import { record, recordBase } from './policies.ts';
import type { Table } from './table.ts';
import { find, insert, newTable } from './table.ts';
import type { World } from './world.ts';
import { batched } from './world.ts';

export interface Exact {
  readonly world: World;
  readonly base: Base;
  readonly bound: Bound;
  readonly table: Table;
  limit: number;
  readonly levels: Level[];
  gaveUp: boolean;
}

interface Level {
  readonly mark: Mark;
  readonly moves: Int32Array;
  readonly least: Float64Array;
  readonly parts: Float64Array;
}

/** Grade of an entry: its value is the optimum, or something the optimum cannot be below. Its `what` is the move. */
const optimal = 1;
const bounded = 0;

export function newExact(world: World, base: Base, bound: Bound, limit: number): Exact {
  return { world, base, bound, table: newTable(), limit, levels: [], gaveUp: false };
}

/**
 * The optimum from the situation now, not normalised, where it is below `cap`; else something at least `cap` that the
 * optimum is not below. Without meaning once `gaveUp` is set.
 */
export function exactValue(x: Exact, cap: number): number {
  const { world: w, table } = x;
  const key = keyNow(w);
  let entry = find(table, key);
  if (entry >= 0 && (table.grade[entry] === optimal || (table.value[entry] as number) >= cap)) {
    return table.value[entry] as number;
  }
  if (w.work > x.limit) {
    x.gaveUp = true;
    return 0;
  }
  w.work += 150;
  let best = runBase(w, x.base);
  let bestMove = -1;
  const least = leastCost(w, x.bound);
  let missed = Infinity;
  // The bound is a sum in another order: rounding may lift it a hair above what it bounds.
  if (least < best - 1e-13 * Math.abs(best)) {
    if (least >= cap) {
      missed = least;
    } else {
      const count = rankMoves(x, best);
      const level = x.levels[w.depth] as Level;
      for (let a = 0; a < count; a++) {
        const target = Math.min(best, cap);
        if ((level.least[a] as number) >= target) {
          missed = Math.min(missed, level.least[a] as number);
          break;
        }
        const value = moveValue(x, level.moves[a] as number, target);
        if (x.gaveUp) return 0;
        if (value < best) {
          if (value < target) {
            best = value;
            bestMove = level.moves[a] as number;
          } else missed = Math.min(missed, value);
        }
      }
    }
  }
  if (entry < 0) {
    entry = find(table, key);
    if (entry < 0) entry = insert(table, key);
  }
  const settled = best <= missed;
  table.grade[entry] = settled ? optimal : bounded;
  table.value[entry] = settled ? best : missed;
  table.what[entry] = bestMove;
  return table.value[entry] as number;
}

/** Like `exactValue`, for a move from the situation now. */
export function moveValue(x: Exact, move: number, cap: number): number {
  const { world: w } = x;
  const level = levelAt(x, w.depth);
  let value = immediate(w, move) * weightNow(w);
  begin(w, move, level.mark);
  const count = ways(w, move);
  for (let way = 0; way < count; way++) {
    const mass = follow(w, move, way);
    const part = mass > 0 ? leastCost(w, x.bound) : 0;
    level.parts[way] = part;
    value += part;
  }
  for (let way = 0; way < count && value < cap && !x.gaveUp; way++) {
    if (count > 1 || w.isCheck[move] === 1) {
      if (!(follow(w, move, way) > 0)) continue;
    } else if (!(weightNow(w) > 0)) continue;
    const part = level.parts[way] as number;
    const room = cap - (value - part);
    const found = exactValue(x, room);
    value += Math.max(found, part) - part;
    // Rounding must not turn what just misses the cap into what just meets it.
    if (found >= room) value = Math.max(value, cap);
  }
  undo(w, move, level.mark);
  return value;
}

/** Moves that could be below `best`, the most promising first; returns how many. */
function rankMoves(x: Exact, best: number): number {
  const { world: w } = x;
  const level = levelAt(x, w.depth);
  const mass = weightNow(w);
  let count = 0;
  const last = hasPending(w) ? w.steps : w.steps - 1;
  for (let move = 0; move <= last; move++) {
    if (move < w.steps && (!allowed(w, move) || !useful(w, move))) continue;
    let least = immediate(w, move) * mass;
    begin(w, move, level.mark);
    const n = ways(w, move);
    for (let way = 0; way < n; way++) {
      follow(w, move, way);
      least += leastCost(w, x.bound);
    }
    undo(w, move, level.mark);
    if (least >= best) continue;
    let at = count++;
    for (; at > 0 && (level.least[at - 1] as number) > least; at--) {
      level.least[at] = level.least[at - 1] as number;
      level.moves[at] = level.moves[at - 1] as number;
    }
    level.least[at] = least;
    level.moves[at] = move;
  }
  return count;
}

/** Whether a step can change anything: what we believe, what is possible, or an altered appliance put right. */
export function useful(w: World, step: number): boolean {
  if (w.altered) return true;
  const frame = frameNow(w);
  if (w.isCheck[step] === 0) {
    const r = w.remedyOf[step] as number;
    const from = w.manner[r] === batched ? w.faults : 0;
    for (let e = w.cureFrom[r] as number; e < (w.cureFrom[r + 1] as number); e++) {
      if ((frame[from + (w.cureFault[e] as number)] as number) > 0) return true;
    }
    return false;
  }
  if (w.opensUp[step] === 1) return true;
  for (const row of w.rows[step] as readonly Float64Array[]) {
    let seen = -1;
    for (let f = 0; f < w.faults; f++) {
      if (!((frame[f] as number) > 0)) continue;
      if (seen < 0) seen = row[f] as number;
      else if (row[f] !== seen) return true;
    }
  }
  return false;
}

/** Records the optimal policy from the situation now, as left in the table by `exactValue`; returns its place. */
function recordExact(x: Exact, policies: Policies): number {
  const { world: w, table } = x;
  const entry = find(table, keyNow(w));
  const known = entry < 0 ? -1 : (table.ranking[entry] as number);
  if (known >= 0) return known;
  const move = entry < 0 ? -1 : (table.what[entry] as number);
  let place: number;
  if (move >= 0) place = recordMove(x, policies, move);
  else {
    runBase(w, x.base);
    place = recordBase(policies, w, x.base);
  }
  if (entry >= 0) table.ranking[entry] = place;
  return place;
}

/** Records a move and the optimal policy after it. */
export function recordMove(x: Exact, policies: Policies, move: number): number {
  const { world: w } = x;
  const mark = newMark();
  const following: number[] = [];
  begin(w, move, mark);
  for (let way = 0; way < ways(w, move); way++) {
    // A way that cannot happen leads nowhere.
    following.push(follow(w, move, way) > 0 ? recordExact(x, policies) : -1);
  }
  undo(w, move, mark);
  return record(policies, move, following);
}

function levelAt(x: Exact, depth: number): Level {
  while (x.levels.length <= depth) {
    const most = x.world.rows.reduce((longest, rows) => Math.max(longest, rows.length), 1);
    x.levels.push({
      mark: newMark(),
      moves: new Int32Array(x.world.steps + 1),
      least: new Float64Array(x.world.steps + 1),
      parts: new Float64Array(most),
    });
  }
  return x.levels[depth] as Level;
}
