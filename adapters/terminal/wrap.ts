/**
 * Columns and line breaks of a screen. Counting is by code point and on the safe side: terminals disagree about
 * joined emoji and old scripts, and a line that is a little short is better than one that runs over.
 */

// Wide characters by their blocks (Unicode Standard Annex 11), taken generously.
const WIDE =
  /[\u1100-\u115f\u2329\u232a\u2630-\u2637\u268a-\u268f\u2e80-\ua4cf\ua960-\ua97f\uac00-\ud7a3\uf900-\ufaff\ufe10-\ufe19\ufe30-\ufe6f\uff01-\uff60\uffe0-\uffe6\u{16fe0}-\u{18dff}\u{1aff0}-\u{1b2ff}\u{1d300}-\u{1d37f}\u{1f000}-\u{1faff}\u{20000}-\u{3fffd}]|\p{Emoji_Presentation}/u;
const ZERO = /\p{Mn}|\p{Me}|\p{Cf}/u;

/** Columns that one code point takes: 0, 1 or 2. */
function columnsOf(point: string): number {
  if (point >= ' ' && point <= '~') return 1;
  // Asks for the emoji form of the character before it, which is wider by one.
  if (point === '\ufe0f') return 1;
  if (WIDE.test(point)) return 2;
  return ZERO.test(point) ? 0 : 1;
}

/** Columns that cleaned text takes on a screen. */
export function columns(text: string): number {
  let sum = 0;
  for (const point of text) sum += columnsOf(point);
  return sum;
}

/** As much of a text as goes into `width` columns (at least 2). */
function headOf(text: string, width: number): string {
  let used = 0;
  let end = 0;
  for (const point of text) {
    used += columnsOf(point);
    if (used > width) break;
    end += point.length;
  }
  return text.slice(0, end);
}

/** A text in pieces of at most `width` columns (at least 2), broken anywhere. */
export function chop(text: string, width: number): string[] {
  const pieces: string[] = [];
  let tail = text;
  do {
    const head = headOf(tail, width);
    pieces.push(head);
    tail = tail.slice(head.length);
  } while (tail !== '');
  return pieces;
}

/**
 * Cleaned text in lines of at most `width` columns: `first` stands before the first line, `rest` before the others.
 * A word that is too long for a line is broken.
 */
export function wrap(text: string, width: number, first = '', rest = first): string[] {
  const lines: string[] = [];
  let line = '';
  let used = 0;
  const room = () => Math.max(width - columns(lines.length === 0 ? first : rest), 2);
  const flush = () => {
    lines.push(((lines.length === 0 ? first : rest) + line).trimEnd());
    line = '';
    used = 0;
  };
  for (const paragraph of text.split('\n')) {
    for (const word of paragraph.split(' ')) {
      if (word === '') continue;
      const needed = columns(word);
      if (used > 0 && used + 1 + needed > room()) flush();
      if (used > 0) {
        line += ` ${word}`;
        used += 1 + needed;
        continue;
      }
      let tail = word;
      for (let head = headOf(tail, room()); head !== tail; head = headOf(tail, room())) {
        line = head;
        flush();
        tail = tail.slice(head.length);
      }
      line = tail;
      used = columns(tail);
    }
    flush();
  }
  return lines;
}
