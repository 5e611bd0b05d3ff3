import type { Community } from '../../../shared/community.ts';
import type { Hazard, ReckonName } from '../../../shared/flow.ts';

/** One sum: what is typed after its name, and what comes out. */
export interface Sum {
  readonly name: ReckonName;
  /** What it works out, in a few words. */
  readonly what: string;
  /** As it is typed, with numbers that work. */
  readonly example: string;
  work(typed: string, place: Place): Worked | Unclear;
}

export interface Place {
  readonly country: Community['country'];
}

export interface Worked {
  /** What comes out, in a sentence. */
  readonly answer: string;
  /** The formula with the numbers in it, and whatever else was reckoned on the way. */
  readonly steps: readonly string[];
  readonly caution: Hazard;
  /** Where the formula or the table comes from. */
  readonly source: string;
}

export interface Unclear {
  readonly why: string;
}

export const unclear = (why: string): Unclear => ({ why });

/** Four figures that count, without a tail of zeros. */
export function figure(x: number): string {
  if (x === 0) return '0';
  const text = Number(x.toPrecision(4));
  return Math.abs(text) >= 1e15 || Math.abs(text) < 1e-12 ? text.toExponential() : plain(text);
}

const plain = (x: number): string =>
  Math.abs(x) < 1e-6 ? x.toFixed(15).replace(/0+$/, '').replace(/\.$/, '') : String(x);
