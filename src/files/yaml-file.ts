import {
  type Document,
  type ErrorCode,
  isAlias,
  isCollection,
  isMap,
  isScalar,
  isSeq,
  LineCounter,
  type Node,
  type Pair,
  parseDocument,
  visit,
  type YAMLMap,
} from 'yaml';
import type { Path } from './finding.ts';

/** Files written by hand as YAML: read without trust, and every value keeps its line and column. */
export interface YamlFile {
  /** Plain values, nothing shared. Meaningless when not `readable`. */
  readonly data: unknown;
  readonly mistakes: readonly YamlMistake[];
  /** False when the mistakes leave the rest of the file unclear. */
  readonly readable: boolean;
  place(path: Path, on: 'name' | 'value'): Place;
}
export interface Place {
  readonly line: number;
  readonly column: number;
}
export interface YamlMistake extends Place {
  readonly problem: string;
  readonly instead: string;
}

/** A flow of a large appliance is under 100 kB. */
export const mostBytes = 1_000_000;
const deepest = 50;
const mostValues = 200_000;

export function readYaml(source: string): YamlFile {
  if (Buffer.byteLength(source) > mostBytes) return unreadable(tooLarge);
  const lines = new LineCounter();
  const document = parseDocument(source, {
    lineCounter: lines,
    // The library's own messages quote the file, and a settings file may hold what must not be shown.
    prettyErrors: false,
    resolveKnownTags: false,
    // The library compares every name with every other; a block of thousands would take minutes.
    uniqueKeys: false,
    logLevel: 'error',
  });
  const at = (offset: number): Place => {
    const { line, col } = lines.linePos(offset);
    return { line: Math.max(1, line), column: Math.max(1, col) };
  };
  if (document.errors.some((error) => error.code === 'RESOURCE_EXHAUSTION')) return unreadable(tooDeep);

  const mistakes: YamlMistake[] = [];
  const found = [...document.errors, ...document.warnings].map(({ code, pos }) => ({ code, offset: pos[0] }));
  for (const offset of doubleNames(document)) found.push({ code: 'DUPLICATE_KEY', offset });
  for (const { code, offset } of found.toSorted((a, b) => a.offset - b.offset)) {
    const place = at(offset);
    // One slip makes the reader stumble several times; the first one on a line is the cause.
    if (mistakes.at(-1)?.line === place.line) continue;
    mistakes.push({ ...place, ...(inPlainWords[code] ?? puzzling) });
  }
  const unclear = document.errors.filter((error) => !passable.has(error.code));
  const readable = unclear.length === 0;
  const mended = readable ? null : withoutColons(source, mistakes, unclear);
  if (mended !== null) {
    const rest = readYaml(mended);
    // What the mended text is still wrong about was wrong before, too.
    if (rest.readable) return { ...rest, mistakes };
  }

  let data: unknown;
  try {
    data = readable ? document.toJS({ maxAliasCount: 1000 }) : undefined;
  } catch (error) {
    // Thrown for aliases that name nothing and for those that would blow up.
    if (!(error instanceof ReferenceError)) throw error;
    return unreadable(/Unresolved/.test(error.message) ? noAnchor : tooDeep);
  }
  const copy = plain(data);
  if (!copy) return unreadable(tooDeep);
  const names = nameIndex();
  return {
    data: copy.value,
    mistakes,
    readable,
    place: (path, on) => at(offsetOf(document, names, path, on)),
  };
}

const tooLarge = {
  problem: 'the file is larger than 1 MB',
  instead: 'keep one appliance in one file, without pictures',
};
const tooDeep = {
  problem: 'the file is nested too deeply, or repeats itself through "&" and "*" too often',
  instead: 'write the lines out',
};
const noAnchor = {
  problem: 'a "*" names a "&" that does not exist',
  instead: 'write the lines out, or put text that begins with "*" in quotes',
};

function unreadable(what: { problem: string; instead: string }): YamlFile {
  const place = { line: 1, column: 1 };
  return { data: undefined, readable: false, mistakes: [{ ...place, ...what }], place: () => place };
}

const puzzling = { problem: 'this line cannot be read', instead: 'compare it with its neighbours' };
const colons = 'put text that holds ": " in quotes, or indent the lines below it';

/** Mistakes after which the meaning of all other lines is still clear. */
const passable: ReadonlySet<ErrorCode> = new Set(['BAD_SCALAR_START', 'BAD_DQ_ESCAPE']);

const inPlainWords: Partial<Record<ErrorCode, { problem: string; instead: string }>> = {
  DUPLICATE_KEY: { problem: 'this name stands twice in the same block', instead: 'keep one of the two' },
  TAB_AS_INDENT: { problem: 'a tab at the beginning of a line', instead: 'indent with spaces' },
  BAD_INDENT: {
    problem: 'this line is not indented like its neighbours, or a bracket is not closed',
    instead: 'start all lines of a block in the same column',
  },
  BLOCK_AS_IMPLICIT_KEY: { problem: 'two colons on one line', instead: colons },
  MULTILINE_IMPLICIT_KEY: { problem: 'a name goes over two lines', instead: colons },
  MISSING_CHAR: {
    problem: 'something is missing here: a colon, a quotation mark or a bracket',
    instead: 'close what was opened; after a name write ": "',
  },
  BAD_SCALAR_START: { problem: 'text cannot begin with this sign', instead: 'put the text in quotes' },
  BAD_DQ_ESCAPE: {
    problem: 'a backslash in double quotes that means nothing',
    instead: 'use single quotes, or write the backslash twice',
  },
  UNEXPECTED_TOKEN: {
    problem: 'the line cannot be read from here on',
    instead: 'put the text in quotes, or begin a new line',
  },
  TAG_RESOLVE_FAILED: {
    problem: 'a word that begins with "!" is an instruction to the reader, not text',
    instead: 'put the text in quotes',
  },
  MULTIPLE_DOCS: { problem: 'a second file begins here ("---")', instead: 'keep one in each file' },
  BAD_ALIAS: { problem: 'text cannot begin with "*" or "&"', instead: 'put the text in quotes' },
  KEY_OVER_1024_CHARS: { problem: 'this name is too long', instead: colons },
  BLOCK_IN_FLOW: {
    problem: 'a list of lines inside brackets',
    instead: 'write either brackets with commas, or one line for each',
  },
};

/**
 * Text with a second colon, such as "title: Lamp: small", swallows the lines that follow it. The text without such
 * values has the same lines and lets the rest be read; null: that is not (all) that is wrong.
 */
function withoutColons(
  source: string,
  mistakes: readonly Place[],
  unclear: readonly { readonly code: ErrorCode }[],
): string | null {
  if (!unclear.every(({ code }) => code === 'BLOCK_AS_IMPLICIT_KEY')) return null;
  const lines = source.split('\n');
  let mended = false;
  for (const { line } of mistakes) {
    // An id is named elsewhere; without it those lines would seem wrong.
    const start = /^(?!\s*(?:- +)*id:)\s*(?:- +)*[^\s:#"'{}[\]][^:]*: +(?=[^\s"'{}[\]|>&*].*: )/.exec(
      lines[line - 1] ?? '',
    );
    if (!start) continue;
    lines[line - 1] = `${start[0]}"?"`;
    mended = true;
  }
  return mended ? lines.join('\n') : null;
}

/** Offsets of names that stand a second time in their block. */
function doubleNames(document: Document.Parsed): number[] {
  const offsets: number[] = [];
  visit(document, {
    Map(_, map) {
      const seen = new Set<string>();
      for (const pair of map.items) {
        const name = nameOf(pair);
        if (seen.has(name)) offsets.push(start(pair.key as Node | null) ?? start(map) ?? 0);
        seen.add(name);
      }
    },
  });
  return offsets;
}

/** A copy in which nothing is shared, so that a value can be taken out in one place only; null: too deep, or a ring. */
function plain(data: unknown): { value: unknown } | null {
  let values = 0;
  const copy = (value: unknown, depth: number): unknown => {
    values += depth > deepest ? mostValues : 1;
    if (values > mostValues) return null;
    if (Array.isArray(value)) return value.map((entry) => copy(entry, depth + 1));
    if (typeof value !== 'object' || value === null) return value;
    // No prototype: a name such as "__proto__" or "constructor" is a name like any other.
    const block: Record<string, unknown> = Object.create(null);
    for (const [key, entry] of Object.entries(value)) block[key] = copy(entry, depth + 1);
    return block;
  };
  const value = copy(data, 0);
  return values > mostValues ? null : { value };
}

/** As far along the path as the file goes: what is missing is placed at the block that lacks it. */
function offsetOf(document: Document.Parsed, names: NameIndex, path: Path, on: 'name' | 'value'): number {
  let node: Node | null | undefined = document.contents;
  let offset = start(node) ?? 0;
  for (const [i, part] of path.entries()) {
    if (isAlias(node)) node = node.resolve(document);
    const last = i === path.length - 1;
    if (isMap(node)) {
      const pair = names(node).get(String(part));
      if (!pair) break;
      const value = pair.value as Node | null;
      const showValue = last && on === 'value' && value !== null && !isCollection(value) && !isEmpty(value);
      offset = start(showValue ? value : (pair.key as Node | null)) ?? offset;
      node = value;
    } else if (isSeq(node)) {
      node = typeof part === 'number' ? (node.items[part] as Node | undefined) : undefined;
      if (!node) break;
      offset = start(node) ?? offset;
    } else break;
  }
  return offset;
}

const start = (node: Node | null | undefined): number | undefined => node?.range?.[0];
const isEmpty = (node: Node): boolean =>
  isScalar(node) && node.value === null && node.range?.[0] === node.range?.[1];

type NameIndex = (map: YAMLMap) => ReadonlyMap<string, Pair>;

/** Pairs of a block by name; one that stands twice counts where it stands last. */
function nameIndex(): NameIndex {
  const known = new WeakMap<YAMLMap, ReadonlyMap<string, Pair>>();
  return (map) => {
    const index = known.get(map) ?? new Map(map.items.map((pair) => [nameOf(pair), pair]));
    known.set(map, index);
    return index;
  };
}

function nameOf({ key }: Pair): string {
  return isScalar(key) && key.value !== null ? String(key.value) : '';
}
