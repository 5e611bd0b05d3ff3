/**
 * What a search has found out about each state it met, so that a state reached by two roads is worked on once.
 * A state's key is a sum: one number for each thing done and seen. Where all combinations fit into 52 bits the numbers
 * are digits of a mixed radix and no two states share a key; else they are scattered over 52 bits.
 */
import type { Problem, ProblemState } from './problem.ts';

const span = 2 ** 52;

export interface Keys {
  /** Whether no two states share a key. */
  readonly unique: boolean;
  /** How many states the key can tell apart: an upper bound on the size of the tree's graph. */
  readonly states: number;
  readonly start: number;
  /** Step → for each repetition → for each outcome. */
  readonly seen: readonly (readonly Float64Array[])[];
  readonly did: Float64Array;
  readonly waits: Float64Array;
  /** Times `open * 4 + charged * 2 + altered`. */
  readonly condition: number;
}

export function makeKeys(problem: Problem, state: ProblemState): Keys {
  const waiting = (index: number) => state.pending.filter((step) => step === index).length;
  let states = 4 * 2 ** problem.stages.length;
  const grow = (values: number): number => {
    const digit = states;
    states *= values;
    return digit;
  };
  const radix = problem.steps.map((step, index) => {
    const left = Math.max(step.times - (state.done[index] as number), 0);
    if (step.kind === 'check') {
      return { seen: Array.from({ length: left }, () => grow(step.outcomes.length + 1)), did: 0, waits: 0 };
    }
    // One outside is pending only at the start, while its own wait goes on.
    const waits = (step.stage >= 0 && !step.alone) || waiting(index) > 0;
    return { seen: [], did: grow(left + 1), waits: waits ? grow(left + waiting(index) + 1) : 0 };
  });
  const unique = states <= span;
  let drawn = 0;
  const pick = (digit: number): number => (unique ? digit : scatter(++drawn));
  const waits = Float64Array.from(radix, (digits) => pick(digits.waits));
  const keys = {
    unique,
    states,
    condition: unique ? 1 : scatter(++drawn),
    did: Float64Array.from(radix, (digits) => pick(digits.did)),
    waits,
    seen: problem.steps.map((step, index) =>
      (radix[index]?.seen ?? []).map((digit) =>
        Float64Array.from({ length: step.kind === 'check' ? step.outcomes.length : 0 }, (_, way) =>
          unique ? digit * (way + 1) : pick(0),
        ),
      ),
    ),
  };
  return {
    ...keys,
    start: state.pending.reduce((key, step) => addKey(keys.unique, key, waits[step] as number), 0),
  };
}

export function addKey(unique: boolean, key: number, part: number): number {
  const total = key + part;
  return unique || total < span ? total : total - span;
}

export function takeKey(unique: boolean, key: number, part: number): number {
  const total = key - part;
  return unique || total >= 0 ? total : total + span;
}

/** The key of a state whose parts add up to `key`, in a condition of covers, charge and alteration. */
export function keyWith(keys: Keys, key: number, condition: number): number {
  if (keys.unique) return key + condition;
  // Two factors below 2^52 and 2^20 would not multiply exactly: take the condition bit by bit.
  let total = key;
  let part = keys.condition;
  for (let rest = condition; rest > 0; rest >>>= 1) {
    if (rest & 1) total = addKey(false, total, part);
    part = addKey(false, part, part);
  }
  return total;
}

/** The n-th of a fixed row of scattered numbers below 2^52. */
function scatter(n: number): number {
  const high = mix(Math.imul(n, 0x9e3779b9) ^ 0x85ebca6b) & 0x3ffffff;
  const low = mix(Math.imul(n, 0xc2b2ae35) ^ 0x27d4eb2f) & 0x3ffffff;
  return high * 2 ** 26 + low;
}

function mix(value: number): number {
  let x = value ^ (value >>> 16);
  x = Math.imul(x, 0x7feb352d);
  x ^= x >>> 15;
  x = Math.imul(x, 0x846ca68b);
  return x ^ (x >>> 16);
}

/** Open addressing; entry e of the table owns `value[e]`, `what[e]`, … */
export interface Table {
  keys: Float64Array;
  slots: Int32Array;
  count: number;
  value: Float64Array;
  /** What the value stands for and how well it is known: each search says what it keeps here. */
  what: Int32Array;
  grade: Float64Array;
  /** Where the state's ranking of moves begins, −1 for none. */
  ranking: Int32Array;
}

export function newTable(): Table {
  const room = 1024;
  return {
    keys: new Float64Array(room),
    slots: new Int32Array(room * 2).fill(-1),
    count: 0,
    value: new Float64Array(room),
    what: new Int32Array(room),
    grade: new Float64Array(room),
    ranking: new Int32Array(room),
  };
}

/** Entry with this key, or −1. */
export function find(t: Table, key: number): number {
  const mask = t.slots.length - 1;
  for (let at = slotOf(key) & mask; ; at = (at + 1) & mask) {
    const entry = t.slots[at] as number;
    if (entry < 0) return -1;
    if (t.keys[entry] === key) return entry;
  }
}

/** A new entry; the key must not be in the table yet. */
export function insert(t: Table, key: number): number {
  if (t.count === t.keys.length) enlarge(t);
  const entry = t.count++;
  t.keys[entry] = key;
  t.what[entry] = -1;
  t.ranking[entry] = -1;
  place(t, key, entry);
  return entry;
}

function place(t: Table, key: number, entry: number): void {
  const mask = t.slots.length - 1;
  let at = slotOf(key) & mask;
  while ((t.slots[at] as number) >= 0) at = (at + 1) & mask;
  t.slots[at] = entry;
}

function enlarge(t: Table): void {
  const room = t.keys.length * 4;
  const longer = <A extends Float64Array | Int32Array>(from: A, to: A): A => {
    to.set(from);
    return to;
  };
  t.keys = longer(t.keys, new Float64Array(room));
  t.value = longer(t.value, new Float64Array(room));
  t.what = longer(t.what, new Int32Array(room));
  t.grade = longer(t.grade, new Float64Array(room));
  t.ranking = longer(t.ranking, new Int32Array(room));
  t.slots = new Int32Array(room * 2).fill(-1);
  for (let entry = 0; entry < t.count; entry++) place(t, t.keys[entry] as number, entry);
}

function slotOf(key: number): number {
  const high = Math.floor(key / 4294967296);
  return mix((key | 0) ^ Math.imul(high, 0x9e3779b1)) >>> 1;
}
