/**
 * What a case costs at least: each fault priced as if it were known, and averaged (Vomlelova & Vomlel 2003). With
 * the fault known its remedies are independent tries, so the order c/q is best and going backwards finds where to stop.
 */
import { frameNow, hasPending, opening } from './moves.ts';
import type { World } from './world.ts';

export interface Bound {
  /** Known fault, covers open, dead, tests free: a bound inside a batch. */
  readonly bare: Float64Array;
  /** Cheapest stop for each fault. */
  readonly stop: Float64Array;
  /** By what is open and charged: each fault's bound with one way in and one test on top. */
  readonly reached: Map<number, Float64Array>;
}

export function newBound(w: World): Bound {
  const stop = new Float64Array(w.faults).fill(Infinity);
  const bare = new Float64Array(w.faults);
  for (let f = 0; f < w.faults; f++) {
    for (const cost of w.stopCost) stop[f] = Math.min(stop[f] as number, cost[f] as number);
    const tries: { cost: number; cure: number }[] = [];
    for (let g = w.curedFrom[f] as number; g < (w.curedFrom[f + 1] as number); g++) {
      const r = w.curedBy[g] as number;
      const step = w.remedies[r] as number;
      const left = (w.times[step] as number) - (w.done[step] as number);
      for (let k = 0; k < left; k++)
        tries.push({ cost: w.remedyPrice[r] as number, cure: w.curedHow[g] as number });
    }
    tries.sort((a, b) => b.cost / b.cure - a.cost / a.cure);
    let value = stop[f] as number;
    for (const { cost, cure } of tries) value = Math.min(value, cost + (1 - cure) * value);
    bare[f] = value;
  }
  return { bare, stop, reached: new Map() };
}

/** Each fault's bound for a state with nothing pending. */
export function boundsAt(w: World, bound: Bound, open: number, charged: boolean): Float64Array {
  const key = open * 2 + (charged ? 1 : 0);
  const known = bound.reached.get(key);
  if (known !== undefined) return known;
  const made = new Float64Array(w.faults);
  for (let f = 0; f < w.faults; f++) {
    let wayIn = Infinity;
    for (let g = w.curedFrom[f] as number; g < (w.curedFrom[f + 1] as number); g++) {
      const step = w.remedies[w.curedBy[g] as number] as number;
      const inside = (w.stage[step] as number) >= 0;
      wayIn = Math.min(
        wayIn,
        inside ? opening(w, w.path[step] as number, open) + (charged ? w.discharge : 0) : 0,
      );
    }
    made[f] = Math.min(bound.stop[f] as number, wayIn + w.test + (bound.bare[f] as number));
  }
  bound.reached.set(key, made);
  return made;
}

/** Least cost from the situation now, not normalised. */
export function leastCost(w: World, bound: Bound): number {
  const frame = frameNow(w);
  w.work += w.faults;
  let total = 0;
  if (hasPending(w)) {
    for (let f = 0; f < w.faults; f++) {
      total += w.test * (frame[f] as number) + (frame[w.faults + f] as number) * (bound.bare[f] as number);
    }
    return total;
  }
  const each = boundsAt(w, bound, w.open, w.charged);
  for (let f = 0; f < w.faults; f++) total += (frame[f] as number) * (each[f] as number);
  return total;
}
