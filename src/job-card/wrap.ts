import { signsOf } from './printable.ts';
import type { Piece } from './read-card.ts';

export type Measure = (words: string, bold: boolean) => number;
/** What stands on one line, in the order in which it is read. */
export type Line = readonly Piece[];

/** Words on lines of at most `width`; a word that is longer than a line is broken between two signs. */
export function wrap(pieces: readonly Piece[], width: number, measure: Measure): Line[] {
  const lines: Line[] = [];
  let line: Piece[] = [];
  let used = 0;
  const push = (): void => {
    if (line.length > 0) lines.push(joined(line));
    line = [];
    used = 0;
  };
  for (const word of wordsOf(pieces)) {
    const wide = sum(word, measure);
    const blank = line.length === 0 ? 0 : measure(' ', false);
    if (used + blank + wide <= width) {
      if (blank > 0) line.push({ words: ' ', bold: false });
      line.push(...word);
      used += blank + wide;
      continue;
    }
    push();
    if (wide <= width) {
      line.push(...word);
      used = wide;
      continue;
    }
    for (const { words, bold } of word) {
      for (const sign of signsOf(words)) {
        const more = measure(sign, bold);
        if (used + more > width) push();
        line.push({ words: sign, bold });
        used += more;
      }
    }
  }
  push();
  return lines;
}

/** A word may be in several pieces: a bold name and the colon behind it. */
function wordsOf(pieces: readonly Piece[]): Piece[][] {
  const words: Piece[][] = [[]];
  for (const piece of pieces) {
    for (const [i, part] of piece.words.split(' ').entries()) {
      if (i > 0) words.push([]);
      if (part !== '') words.at(-1)?.push({ words: part, bold: piece.bold });
    }
  }
  return words.filter((word) => word.length > 0);
}

const sum = (word: Line, measure: Measure): number =>
  word.reduce((width, { words, bold }) => width + measure(words, bold), 0);

/** Neighbours of one weight become one piece. */
function joined(line: readonly Piece[]): Line {
  const pieces: { words: string; bold: boolean }[] = [];
  for (const { words, bold } of line) {
    const last = pieces.at(-1);
    if (last && (last.bold === bold || words === ' ')) last.words += words;
    else pieces.push({ words, bold });
  }
  return pieces;
}
