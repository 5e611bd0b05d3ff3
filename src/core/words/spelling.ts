import { commonWords } from './common-words.ts';
import { rootOf } from './word-roots.ts';

/** One letter missing, doubled or added, wrong, or two neighbours swapped. Equal words are not apart. */
export function oneLetterApart(a: string, b: string): boolean {
  const [short, long] = a.length <= b.length ? [a, b] : [b, a];
  if (long.length - short.length > 1 || a === b) return false;
  let i = 0;
  while (i < short.length && short[i] === long[i]) i += 1;
  if (long.length > short.length) return short.slice(i) === long.slice(i + 1);
  if (short.slice(i + 1) === long.slice(i + 1)) return true;
  return short[i] === long[i + 1] && short[i + 1] === long[i] && short.slice(i + 2) === long.slice(i + 2);
}

const areSwapped = (a: string, b: string): boolean =>
  a.length === b.length && [...a].sort().join('') === [...b].sort().join('');

const COMMON_ROOTS: ReadonlySet<string> = new Set([...commonWords].map(rootOf));

/** Is this an everyday word in one of its forms, spelt as it should be? Such a word is no slip for another. */
export function isCommon(word: string): boolean {
  return commonWords.has(word) || COMMON_ROOTS.has(rootOf(word));
}

/**
 * May `typed`, no common word, be a slip for `meant`? The first letter has to be right (or swapped with the second):
 * people rarely miss it, and sound/found, burn/turn, light/right would be taken for each other. Of a word of four
 * letters only a swap counts, since too many others are one letter away.
 */
export function isSlip(typed: string, meant: string): boolean {
  if (typed.length < 4 || meant.length < 4) return false;
  const sameStart = typed[0] === meant[0] || (typed[0] === meant[1] && typed[1] === meant[0]);
  if (!sameStart || !oneLetterApart(typed, meant)) return false;
  return meant.length > 4 || areSwapped(typed, meant);
}
