import { readDigits, readScale, tidy, type Unit } from '../words/notation.ts';

/** A number with its unit, as people type it in a row: `100uF 470k 325V`. `''`: a bare number; `k` alone makes it ohm. */
export interface Quantity {
  /** In the unit itself. */
  readonly value: number;
  readonly unit: Unit | 'Wh' | '%' | '';
  readonly typed: string;
}

const PIECE = /(?<figure>\d+(?:[.,]\d+)*)(?:\s*(?<word>[\p{L}µΩ°%]+)(?<part>\d*))?/gu;

/** Every quantity in the text, in order. Null where a unit is not known; words without a figure are left out. */
export function quantities(text: string): Quantity[] | null {
  const found: Quantity[] = [];
  for (const match of tidy(text).matchAll(PIECE)) {
    const { figure = '', word = '', part = '' } = match.groups ?? {};
    const quantity = read(figure, word, part, match[0].trim());
    if (!quantity) return null;
    found.push(quantity);
  }
  return found;
}

function read(figure: string, word: string, part: string, typed: string): Quantity | null {
  if (part !== '') {
    // 4k7, 4R7, 2n2: the letter stands for the point.
    const scale = word.length === 1 ? letterScale(word) : null;
    return scale && { value: Number(`${figure}.${part}`) * 10 ** scale.exponent, unit: scale.unit, typed };
  }
  const digits = readDigits(figure);
  if (digits === null || digits === 'ambiguous') return null;
  const number = Number(digits);
  if (word === '' || /^x$/i.test(word)) return { value: number, unit: '', typed };
  if (word === '%') return { value: number, unit: '%', typed };
  const hours = /^([mk]?)wh$/i.exec(word);
  if (hours)
    return { value: number * ({ m: 1e-3, k: 1e3 }[(hours[1] ?? '').toLowerCase()] ?? 1), unit: 'Wh', typed };
  if (/^(?:to|leds?|and|over|in|of|at)$/i.test(word)) return { value: number, unit: '', typed };
  const scale = readScale(word);
  if (!scale) return null;
  return { value: round(number * 10 ** scale.exponent), unit: scale.unit ?? letterUnit(word), typed };
}

function letterScale(letter: string): { readonly exponent: number; readonly unit: Quantity['unit'] } | null {
  if (/[rR]/.test(letter)) return { exponent: 0, unit: 'ohm' };
  if (/[vV]/.test(letter)) return { exponent: 0, unit: 'V' };
  const scale = readScale(letter);
  return scale && { exponent: scale.exponent, unit: scale.unit ?? letterUnit(letter) };
}

/** A prefix alone: thousands and millions are of resistors, tiny ones of capacitors. */
const letterUnit = (word: string): Quantity['unit'] => (/^[kKM]/.test(word) ? 'ohm' : 'F');

/** 0.1 + 0.2 problems are not shown to people. */
const round = (x: number): number => Number(x.toPrecision(12));

/** The quantities of one unit, as values, in order. */
export const inUnit = (all: readonly Quantity[], unit: Quantity['unit']): number[] =>
  all.filter((one) => one.unit === unit).map(({ value }) => value);
