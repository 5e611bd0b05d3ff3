import type { Tables } from '../core/tables.ts';
import type { SettledCase } from '../outcomes/settled.ts';
import { cellsOf } from './cells.ts';

/**
 * What a community has seen, as sums that can be taken back exactly. A case weighs 2^(its age in half-lives) relative to a fixed
 * day, as a whole number of 2^-40: sums of whole numbers do not depend on their order, and a day that passes changes no sum, only
 * the divisor when it is read. (What one case adds is rounded once, to 1e-12 of a case settled on the fixed day.)
 */
export interface Tally {
  /** Days after which a case counts half; null: cases do not age. */
  readonly halfLife: number | null;
  readonly flows: Map<string, FlowTally>;
}

export interface FlowTally {
  /** Each counted case once, with exactly what it added. */
  readonly cases: Map<string, Counted>;
  readonly cells: Map<string, bigint>;
}

interface Counted {
  readonly units: bigint;
  readonly cells: readonly string[];
}

/** Counts as they weigh on one day. */
export interface Weighted {
  /** Cases that were counted, each as one. */
  readonly cases: number;
  /** By cell, see `cells.ts`. */
  readonly cells: ReadonlyMap<string, number>;
}

/** Throws RangeError unless the half-life is at least a day. */
export function newTally(halfLife: number | null): Tally {
  if (halfLife !== null && !(halfLife >= 1 && Number.isFinite(halfLife)))
    throw new RangeError(`a half-life is at least one day, not ${halfLife}`);
  return { halfLife, flows: new Map() };
}

/**
 * Counts a case, in place; one that is counted already is replaced, so that each counts once. False where it does not count:
 * nobody confirmed what it was, it was a demonstration, or its flow no longer knows the fault; then it is not in the tally.
 */
export function addCase(tally: Tally, one: SettledCase, tables: Tables): boolean {
  removeCase(tally, one);
  const cells = counts(one) && one.flow === tables.flow.flow ? cellsOf(one, tables) : [];
  if (cells.length === 0) return false;
  const flow = tally.flows.get(one.flow) ?? { cases: new Map(), cells: new Map() };
  tally.flows.set(one.flow, flow);
  const units = unitsOf(one.settled, tally.halfLife);
  flow.cases.set(one.id, { units, cells });
  for (const cell of cells) addTo(flow.cells, cell, units);
  return true;
}

/** Takes back what a case has added, in place. False: it was not in the tally. */
export function removeCase(tally: Tally, { flow: name, id }: Pick<SettledCase, 'flow' | 'id'>): boolean {
  const flow = tally.flows.get(name);
  const counted = flow?.cases.get(id);
  if (!flow || !counted) return false;
  flow.cases.delete(id);
  for (const cell of counted.cells) addTo(flow.cells, cell, -counted.units);
  if (flow.cases.size === 0) tally.flows.delete(name);
  return true;
}

/** Ids of the cases that added to any cell beginning so, in order; made once for many questions about one flow. */
export function casesBehind(tally: Tally, flow: string): (start: string) => string[] {
  const byCell = new Map<string, string[]>();
  for (const [id, { cells }] of tally.flows.get(flow)?.cases ?? [])
    for (const cell of cells) {
      const ids = byCell.get(cell);
      if (ids) ids.push(id);
      else byCell.set(cell, [id]);
    }
  return (start) => {
    const found = [...byCell].filter(([cell]) => cell.startsWith(start)).flatMap(([, ids]) => ids);
    return [...new Set(found)].toSorted();
  };
}

/** Counts of a flow as they weigh at a time (milliseconds). */
export function weighted(tally: Tally, flow: string, at: number): Weighted {
  const { cases, cells } = tally.flows.get(flow) ?? { cases: new Map(), cells: new Map<string, bigint>() };
  const halves = halfLives(at, tally.halfLife);
  const whole = Math.floor(halves);
  const over = 2 ** (halves - whole);
  return {
    cases: cases.size,
    // Twenty bits more than were kept, so that what is shifted out is nothing.
    cells: new Map(
      Array.from(cells, ([cell, units]) => [
        cell,
        Number(shifted(units, spare - whole)) / 2 ** (bits + spare) / over,
      ]),
    ),
  };
}

/** Adds counts that weigh so on the same day, such as another community's. */
export function merged(all: readonly Weighted[]): Weighted {
  const cells = new Map<string, number>();
  for (const one of all)
    for (const [cell, count] of one.cells) cells.set(cell, (cells.get(cell) ?? 0) + count);
  return { cases: all.reduce((sum, { cases }) => sum + cases, 0), cells };
}

/** How much a count of one day still weighs on a later one. */
export const faded = (from: number, to: number, halfLife: number | null): number =>
  2 ** (halfLives(from, halfLife) - halfLives(Math.max(from, to), halfLife));

/** A sum of nothing is the same as one never begun, so that no trace is left of what was taken back. */
function addTo(cells: Map<string, bigint>, cell: string, units: bigint): void {
  const sum = (cells.get(cell) ?? 0n) + units;
  if (sum === 0n) cells.delete(cell);
  else cells.set(cell, sum);
}

const counts = ({ confirmed, fault, demonstration }: SettledCase): boolean =>
  confirmed !== null && fault !== null && !demonstration;

const bits = 40;
const spare = 20;
const day = 86_400_000;
/** The fixed day, 1 January 2020: any would do. */
const fixedDay = 18_262;

const halfLives = (at: number, halfLife: number | null): number =>
  halfLife === null ? 0 : (Math.floor(at / day) - fixedDay) / halfLife;

function unitsOf(settled: number, halfLife: number | null): bigint {
  const halves = halfLives(settled, halfLife);
  const whole = Math.floor(halves);
  return shifted(BigInt(Math.round(2 ** (halves - whole) * 2 ** bits)), whole);
}

const shifted = (units: bigint, by: number): bigint => (by >= 0 ? units << BigInt(by) : units >> BigInt(-by));
