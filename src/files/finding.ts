import { nearest } from './nearest.ts';

/** Where in a file's data: keys, and places in lists counted from 0. */
export type Path = readonly (string | number)[];

/** Something wrong (or worth knowing) at a place of a file's data, before it is given its line. */
export interface Finding {
  readonly path: Path;
  /** `name`: the last key itself is meant, not what stands after it. */
  readonly on: 'name' | 'value';
  readonly problem: string;
  /** What to write instead. */
  readonly instead: string;
  /** Where the same thing stands first, for doubles. */
  readonly first?: Path;
}

/** A name that stands for nothing, with the one that was probably meant. */
export function unknownName(
  path: Path,
  on: Finding['on'],
  kind: string,
  name: string,
  known: readonly string[],
): Finding {
  return { path, on, problem: `unknown ${kind} ${quote(name)}`, instead: propose(name, known) };
}

/** A name that is none of those a place offers: an answer of a question, an outcome of a check. */
export function noneOf(path: Path, whatIsOffered: string, name: string, known: readonly string[]): Finding {
  const problem = `${quote(name)} is no ${whatIsOffered}`;
  return { path, on: 'value', problem, instead: propose(name, known) };
}

export function propose(name: string, known: readonly string[]): string {
  const near = nearest(name, known);
  if (near !== undefined) return `write ${quote(near)}`;
  if (known.length === 0) return 'take it out: there is none to name';
  if (known.length > 12) return `write one that exists, such as ${quote(known[0] ?? '')}`;
  return `write ${oneOf(known.map(quote))}`;
}

export const quote = (words: string): string =>
  JSON.stringify(words.length > 60 ? `${words.slice(0, 57)}...` : words);

/** "a", "a or b", "a, b or c". */
export const oneOf = (words: readonly string[]): string =>
  words.length < 2 ? (words[0] ?? '') : `${words.slice(0, -1).join(', ')} or ${words.at(-1)}`;

/** "a", "a and b", "a, b and 3 more". */
export function some(words: readonly string[], most = 3): string {
  if (words.length > most) return `${words.slice(0, most).join(', ')} and ${words.length - most} more`;
  return words.length < 2 ? (words[0] ?? '') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`;
}

/** A name that can be shown although the file may hold secrets: short, and of letters only. */
export const plainName = (name: string): string | undefined =>
  /^[a-z][a-z_-]{0,23}$/i.test(name) ? name : undefined;
