import type { Piece } from './read-card.ts';

/**
 * A line of a page that runs from left to right, cut into runs in the order in which they stand there. The part of the Unicode
 * Bidirectional Algorithm (UAX 9) that short remarks need: words from right to left, numbers in them, what stands between.
 * Nothing nests, and invisible direction marks were taken out before.
 */
const rtl = String.raw`[\p{scx=Hebrew}\p{scx=Arabic}\p{scx=Syriac}\p{scx=Thaana}\p{scx=Nko}]`;
export const rightToLeft = new RegExp(rtl, 'u');
const part = new RegExp(
  String.raw`(?<r>(?:(?!\p{Nd})${rtl}[\p{M}\u200c]*)+)|(?<n>\p{Nd}+(?:[.,:/]\p{Nd}+)*)|(?<l>(?:(?!${rtl})[\p{L}\p{M}])+)|(?<o>.)`,
  'gsu',
);
const brackets: Readonly<Record<string, string>> = { '(': ')', '[': ']', '{': '}', '<': '>', '«': '»' };
const mirrored: Readonly<Record<string, string>> = {
  ...brackets,
  ...Object.fromEntries(Object.entries(brackets).map(([open, close]) => [close, open])),
};

/** As in UAX 9, BD16. */
const deepest = 63;

export function inOrder(pieces: readonly Piece[]): readonly Piece[] {
  if (!pieces.some(({ words }) => rightToLeft.test(words))) return pieces;
  const parts = pieces.flatMap(({ words, bold }) =>
    [...words.matchAll(part)].map((found) => ({ words: found[0], bold, kind: kindOf(found.groups) })),
  );
  const backwards: (boolean | undefined)[] = [];
  let strong: 'r' | 'l' = 'l';
  for (const [i, { kind }] of parts.entries()) {
    if (kind === 'r' || kind === 'l') strong = kind;
    backwards[i] = kind === 'o' ? undefined : kind === 'r' || (kind === 'n' && strong === 'r');
  }
  // A closing bracket goes where its opening one goes.
  const open: number[] = [];
  for (const [i, { words }] of parts.entries()) {
    if (brackets[words] !== undefined) {
      if (open.length === deepest) break;
      open.push(i);
    } else {
      const start = open.findLastIndex((one) => brackets[parts[one]?.words ?? ''] === words);
      const opening = open[start];
      if (opening === undefined) continue;
      open.length = start;
      let next = opening + 1;
      while (next < i && backwards[next] === undefined) next += 1;
      let last = opening - 1;
      while (last >= 0 && backwards[last] === undefined) last -= 1;
      backwards[opening] = backwards[i] = next < i && backwards[next] === true && backwards[last] === true;
    }
  }
  for (let i = 0; i < parts.length; i++) {
    if (backwards[i] !== undefined) continue;
    let end = i;
    while (end < parts.length && backwards[end] === undefined) end += 1;
    backwards.fill(backwards[i - 1] === true && backwards[end] === true, i, end);
  }
  const ordered: Piece[] = [];
  for (let i = 0; i < parts.length; ) {
    let end = i + 1;
    while (end < parts.length && backwards[end] === backwards[i]) end += 1;
    const run = parts.slice(i, end);
    if (backwards[i]) run.reverse();
    for (const { words, bold, kind } of run)
      ordered.push({ words: backwards[i] && kind === 'o' ? (mirrored[words] ?? words) : words, bold });
    i = end;
  }
  return ordered;
}

const kindOf = (groups: Readonly<Record<string, string | undefined>> | undefined): 'r' | 'n' | 'l' | 'o' =>
  groups?.r ? 'r' : groups?.n ? 'n' : groups?.l ? 'l' : 'o';
