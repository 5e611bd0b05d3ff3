import type { SignalWord } from '../../shared/flow.ts';

// Signal words by ANSI Z535: safety red, orange, yellow and blue, as near as the 256 colours of a terminal come.
// Black and white are taken from the same table, because many terminals show bold black as grey.
const CODES: Readonly<Record<SignalWord, string>> = {
  DANGER: '1;38;5;231;48;5;160',
  WARNING: '1;38;5;16;48;5;208',
  CAUTION: '1;38;5;16;48;5;226',
  NOTICE: '1;38;5;231;48;5;25',
};

/** A signal word as it stands before its sentence: `columns` wide, and with the escape codes of its colour if wanted. */
export function signal(
  word: SignalWord,
  colour: boolean,
): { readonly text: string; readonly columns: number } {
  if (!colour) return { text: `${word}:`, columns: word.length + 1 };
  return { text: `\u001b[${CODES[word]}m ${word} \u001b[0m`, columns: word.length + 2 };
}

/** A line in bold where colour is on. */
export function bold(line: string, colour: boolean): string {
  return colour ? `\u001b[1m${line}\u001b[0m` : line;
}
