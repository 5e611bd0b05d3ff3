// Built from pieces: what a terminal would obey. A string command (title, link, clipboard) needs its end to count;
// without it only its beginning goes. No part runs over another sequence's beginning, so that the time stays linear
// in the length (Node's own `stripVTControlCharacters` takes the square on unfinished links).
const ESCAPE = '\u001b';
const CONTROL = `(?:${ESCAPE}\\[|\u009b)[0-?]*[ -/]*[@-~]`;
const STRING = `(?:${ESCAPE}[\\]PX^_]|[\u0090\u0098\u009d-\u009f])\\P{Cc}*(?:\u0007|\u009c|${ESCAPE}\\\\)`;
const SEQUENCES = new RegExp(`${CONTROL}|${STRING}|${ESCAPE}[ -/]*[0-~]`, 'gu');

/**
 * Text as it may be shown: names and people's words are hostile. Escape sequences, control characters, direction
 * marks and other invisible characters go; line ends stay as `\n`.
 */
export function clean(text: string): string {
  return (
    text
      .toWellFormed()
      .replace(SEQUENCES, '')
      .replace(/\r\n?|[\u2028\u2029]/g, '\n')
      .replaceAll('\t', '  ')
      // The no-break spaces hold "4.97 V" together.
      .replace(/(?![\u00a0\u202f])\p{Zs}/gu, ' ')
      .replace(/(?!\n)\p{Cc}/gu, '')
      // Some scripts need their joiners (U+200C, U+200D); no script needs the rest, which can turn a line round.
      .replace(/(?!\u200c|\u200d)\p{Cf}/gu, '')
      // A pile of accents would cover the lines above.
      .replace(/(\p{M}{6})\p{M}+/gu, '$1')
  );
}

/** The same, on one line. */
export function cleanLine(text: string): string {
  const lines = clean(text).split('\n');
  return lines
    .map((line) => line.trim())
    .filter((line) => line !== '')
    .join(' ');
}
