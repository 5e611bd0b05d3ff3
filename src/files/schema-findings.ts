import { z } from 'zod';
import { type Finding, oneOf, type Path, plainName, propose, quote } from './finding.ts';
import { nearest } from './nearest.ts';

/**
 * What a schema says about a file that somebody wrote by hand, in words for that person: every issue with what to
 * write instead, misspelt names matched with the ones they were meant to be.
 */
export interface SchemaFindings {
  readonly findings: readonly Finding[];
  /** Places about whose content nothing is known: what was wrong, and what a misspelt name was meant to be. */
  readonly broken: readonly Path[];
}

export interface SchemaOptions {
  /** False: never repeat what the file says, because it may be secret. */
  readonly echo: boolean;
  /** Words of the file's own kind for an issue at a place; undefined: the general ones. */
  readonly special?: (
    issue: z.core.$ZodIssue,
    path: Path,
  ) => Pick<Finding, 'problem' | 'instead'> | undefined;
}

export function schemaFindings(
  schema: z.ZodType,
  data: unknown,
  issues: readonly z.core.$ZodIssue[],
  options: SchemaOptions,
): SchemaFindings {
  const findings: Finding[] = [];
  const broken: Path[] = [];
  const meant = new Set<string>();
  const said = new Set<string>();

  for (const { issue, path } of flattened(issues)) {
    if (issue.code !== 'unrecognized_keys') continue;
    const present = Object.keys(isBlock(at(data, path)) ? (at(data, path) as object) : {});
    const known = namesAt(schema, data, path).filter((name) => !present.includes(name));
    for (const key of issue.keys) {
      const near = nearest(key, known);
      if (near !== undefined) {
        broken.push([...path, near]);
        meant.add(JSON.stringify([...path, near]));
      }
      broken.push([...path, key]);
      const shown = options.echo || near !== undefined ? ` ${quote(key)}` : '';
      const instead = near === undefined ? unneeded(known) : propose(key, known);
      findings.push({ path: [...path, key], on: 'name', problem: `unknown name${shown}`, instead });
    }
  }
  for (const { issue, path } of flattened(issues)) {
    if (issue.code === 'unrecognized_keys') continue;
    broken.push(path);
    // A list in place of text is also "too short": the first complaint about a value is the one that matters.
    const place = JSON.stringify(path);
    if (said.has(place)) continue;
    said.add(place);
    const value = at(data, path);
    const missing = value === undefined;
    if (missing && meant.has(place)) continue;
    const words = options.special?.(issue, path) ?? inWords(issue, path, value, options.echo);
    findings.push({ path, on: missing || issue.code === 'invalid_key' ? 'name' : 'value', ...words });
  }
  // An alternative of which one form went wrong is unknown as a whole.
  for (const issue of issues) if (issue.code === 'invalid_union') broken.push(asPath(issue.path));
  return { findings, broken };
}

/** A name that is like none of those still to be given. */
const unneeded = (known: readonly string[]): string =>
  known.length === 0 || known.length > 8 ? 'take it out' : `take it out, or write ${oneOf(known.map(quote))}`;

interface Placed {
  readonly issue: z.core.$ZodIssue;
  readonly path: Path;
}

/** Issues with their whole path; for alternatives, those of the form that was most likely meant. */
function flattened(issues: readonly z.core.$ZodIssue[], before: Path = []): Placed[] {
  return issues.flatMap((issue): Placed[] => {
    const path = [...before, ...asPath(issue.path)];
    if (issue.code !== 'invalid_union' || issue.errors.length === 0) return [{ issue, path }];
    const near = issue.errors.filter((errors) => !otherKind(errors));
    if (near.length === 0) return [{ issue, path }];
    const likeliest = near.reduce((best, errors) => (errors.length < best.length ? errors : best));
    return flattened(likeliest, path);
  });
}

/** The value is not even of this form's kind: text where a block was wanted. */
const otherKind = (errors: readonly z.core.$ZodIssue[]): boolean =>
  errors.some(
    (issue) =>
      issue.path.length === 0 &&
      (issue.code === 'invalid_type' ||
        issue.code === 'invalid_value' ||
        (issue.code === 'invalid_union' && issue.errors.length > 0 && issue.errors.every(otherKind))),
  );

type Words = Pick<Finding, 'problem' | 'instead'>;

function inWords(issue: z.core.$ZodIssue, path: Path, value: unknown, echo: boolean): Words {
  const name = path.at(-1);
  const it = typeof name === 'string' ? (echo || plainName(name) ? quote(name) : 'this name') : 'this entry';
  if (value === undefined) {
    return { problem: `${it} is missing`, instead: `add "${name}:" with ${wanted(issue)}` };
  }
  const shown = echo ? show(value) : kindOf(value);
  switch (issue.code) {
    case 'invalid_type':
      if (value === null && path.length === 0) {
        return { problem: 'the file is empty', instead: 'copy a file like it and change that' };
      }
      if (value === null) {
        return { problem: `nothing stands after ${it}`, instead: `write ${wanted(issue)}` };
      }
      return wrongKind(issue.expected, value, shown, wanted(issue), echo);
    case 'invalid_value':
    case 'invalid_union':
      return {
        problem: `${shown} is not possible here`,
        instead: proposeValue(value, wanted(issue), choices(issue)),
      };
    case 'too_small':
    case 'too_big':
      return outOfBounds(issue, value, shown);
    case 'invalid_format':
      return {
        problem: `${shown} is not written as it should be`,
        instead: reshaped(issue.message, value, echo),
      };
    case 'invalid_key': {
      const rule = issue.issues[0];
      const wrong = echo ? `the name ${quote(String(name))}` : 'this name';
      return {
        problem: `${wrong} is not written as it should be`,
        instead: reshaped(rule?.message ?? issue.message, name, echo),
      };
    }
    default:
      return { problem: `${shown} is not possible here`, instead: issue.message };
  }
}

function wrongKind(expected: string, value: unknown, shown: string, want: string, echo: boolean): Words {
  if (expected === 'number' || expected === 'int') {
    const number = typeof value === 'string' ? numberIn(value) : undefined;
    const instead = number === undefined || !echo ? `write ${want}` : `write ${number}`;
    return { problem: `${shown} is not ${expected === 'int' ? 'a whole number' : 'a number'}`, instead };
  }
  if (expected === 'string') {
    if (isBlock(value) && Object.keys(value).length === 1) {
      return {
        problem: 'the colon makes this line a name and its value',
        instead: 'put the whole line in quotes',
      };
    }
    if (typeof value === 'number' || typeof value === 'boolean') {
      return { problem: `${shown} is not text`, instead: 'put it in quotes' };
    }
  }
  return { problem: `${shown} is not ${want}`, instead: `write ${want}` };
}

function outOfBounds(
  issue: z.core.$ZodIssueTooSmall | z.core.$ZodIssueTooBig,
  value: unknown,
  shown: string,
): Words {
  const small = issue.code === 'too_small';
  const limit = Number(small ? issue.minimum : issue.maximum);
  if (issue.origin === 'string') {
    const length = String(value).trim().length;
    if (small && length === 0) return { problem: 'empty text', instead: 'write something' };
    return small
      ? { problem: `only ${length} characters`, instead: `write at least ${limit}` }
      : { problem: `${length} characters`, instead: `shorten it to at most ${limit}` };
  }
  if (issue.origin === 'array') {
    const length = Array.isArray(value) ? value.length : 0;
    const entries = length === 1 ? 'one entry' : `${length || 'no'} entries`;
    return small
      ? { problem: length === 0 ? entries : `only ${entries}`, instead: `write at least ${limit}` }
      : { problem: entries, instead: `write at most ${limit}` };
  }
  const open = issue.inclusive === false;
  if (!small && limit === 1) {
    return { problem: `${shown} is above 1`, instead: 'write a share between 0 and 1: 80 % is 0.8' };
  }
  return small
    ? { problem: `${shown} is too small`, instead: `write ${open ? 'more than' : 'at least'} ${limit}` }
    : { problem: `${shown} is too large`, instead: `write ${open ? 'less than' : 'at most'} ${limit}` };
}

/** The kind of thing an issue asks for. */
function wanted(issue: z.core.$ZodIssue): string {
  if (issue.code === 'invalid_type') return kinds[issue.expected] ?? issue.expected;
  if (issue.code === 'invalid_union' && issue.errors.length > 0) {
    const inner = issue.errors.flatMap((errors) => errors.slice(0, 1).map(wanted));
    return oneOf([...new Set(inner)]);
  }
  const options = choices(issue);
  return options.length > 0 ? oneOf(options.map((option) => JSON.stringify(option))) : 'what belongs there';
}

const kinds: Readonly<Record<string, string>> = {
  string: 'text',
  number: 'a number',
  int: 'a whole number',
  boolean: 'true or false',
  array: 'a list (lines that begin with "- ")',
  object: 'a block of names and values, indented',
  record: 'a block of names and values, indented',
};

function choices(issue: z.core.$ZodIssue): readonly unknown[] {
  if (issue.code === 'invalid_value') return issue.values;
  if (issue.code === 'invalid_union') {
    if (issue.errors.length > 0) return issue.errors.flatMap((errors) => errors.flatMap(choices));
    // A block whose kind is named by one of its values, such as `stores`.
    return (issue as { options?: readonly unknown[] }).options ?? [];
  }
  return [];
}

function proposeValue(value: unknown, want: string, options: readonly unknown[]): string {
  const near =
    typeof value === 'string'
      ? nearest(
          value,
          options.filter((o) => typeof o === 'string'),
        )
      : undefined;
  return near === undefined ? `write ${want}` : `write ${quote(near)}`;
}

/** An id or currency in its proper letters, where that is all that was wrong; else the schema's own rule. */
function reshaped(rule: string, value: unknown, echo: boolean): string {
  if (!echo || typeof value !== 'string') return rule;
  if (rule.startsWith('an id')) {
    const id = value
      .normalize('NFKD')
      .toLowerCase()
      .replace(/[^a-z0-9]+/g, '-')
      .replace(/^[-0-9]+|-+$/g, '');
    if (id !== '' && id.length <= 40) return `write ${quote(id)}: ${rule}`;
  }
  if (/three capitals/.test(rule) && /^[a-z]{3}$/i.test(value)) return `write ${quote(value.toUpperCase())}`;
  return rule;
}

/** "0,8", "80 %" and "0.8" in quotes are numbers that YAML does not read as such. */
function numberIn(text: string): number | undefined {
  const match = /^\s*(-?\d+(?:[.,]\d+)?)\s*(%?)\s*$/.exec(text);
  if (!match?.[1]) return undefined;
  const number = Number(match[1].replace(',', '.'));
  return match[2] === '%' ? Number((number / 100).toPrecision(12)) : number;
}

function show(value: unknown): string {
  return typeof value === 'string' ? quote(value) : isPlain(value) ? String(value) : kindOf(value);
}

const isPlain = (value: unknown): boolean => typeof value === 'number' || typeof value === 'boolean';

function kindOf(value: unknown): string {
  if (Array.isArray(value)) return 'a list';
  if (typeof value === 'string') return 'this text';
  if (typeof value === 'number') return 'this number';
  if (typeof value === 'boolean') return 'true or false';
  return value === null ? 'nothing' : 'a block of names and values';
}

const asPath = (path: readonly PropertyKey[]): Path =>
  path.map((part) => (typeof part === 'number' ? part : String(part)));

const isBlock = (value: unknown): value is Readonly<Record<string, unknown>> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

export function at(data: unknown, path: Path): unknown {
  let value = data;
  for (const part of path) {
    if (typeof value !== 'object' || value === null || !Object.hasOwn(value, part)) return undefined;
    value = (value as Record<string | number, unknown>)[part];
  }
  return value;
}

/** Names that the schema knows in the block at this path. */
function namesAt(schema: z.core.$ZodType, data: unknown, path: Path): string[] {
  const inner = unwrapped(schema);
  if (inner instanceof z.ZodUnion) {
    const options = inner.options as readonly z.core.$ZodType[];
    const chosen = options.filter((option) => isChosen(option, data));
    return [...new Set((chosen.length > 0 ? chosen : options).flatMap((o) => namesAt(o, data, path)))];
  }
  const [next, ...rest] = path;
  if (next === undefined) return inner instanceof z.ZodObject ? Object.keys(inner.shape) : [];
  const below = at(data, [next]);
  if (inner instanceof z.ZodObject) {
    const field: z.core.$ZodType | undefined = inner.shape[next];
    return field ? namesAt(field, below, rest) : [];
  }
  if (inner instanceof z.ZodArray) return namesAt(inner.element, below, rest);
  if (inner instanceof z.ZodRecord) return namesAt(inner.valueType, below, rest);
  return [];
}

/** The form whose fixed values (such as `stores: none`) are those of the data. */
function isChosen(option: z.core.$ZodType, data: unknown): boolean {
  if (!(option instanceof z.ZodObject) || !isBlock(data)) return false;
  const fixed = Object.entries(option.shape).filter(
    ([, field]) => field instanceof z.ZodLiteral || field instanceof z.ZodEnum,
  );
  return (
    fixed.length > 0 && fixed.every(([key, field]) => (field as z.ZodType).safeParse(at(data, [key])).success)
  );
}

export function unwrapped(schema: z.core.$ZodType): z.core.$ZodType {
  if (
    schema instanceof z.ZodOptional ||
    schema instanceof z.ZodNullable ||
    schema instanceof z.ZodDefault ||
    schema instanceof z.ZodPrefault
  ) {
    return unwrapped(schema.def.innerType);
  }
  return schema;
}
