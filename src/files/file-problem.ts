import { type Finding, type Path, plainName } from './finding.ts';
import type { YamlFile } from './yaml-file.ts';

/** A mistake in a file that somebody wrote by hand, with its place and what to write instead. */
export interface FileProblem {
  readonly file: string;
  /** Counted from 1, as editors do. */
  readonly line: number;
  readonly column: number;
  /** The place in words, such as "checks > torch > outcomes > faint"; empty for the whole file. */
  readonly where: string;
  readonly problem: string;
  readonly instead: string;
}

/**
 * Gives findings their lines, in the order of the file; the same thing is said once. `echo` false: nothing that the
 * file says is repeated.
 */
export function placed(
  findings: readonly Finding[],
  yaml: YamlFile,
  file: string,
  echo = true,
): FileProblem[] {
  const problems = findings.map((finding) => {
    const first = finding.first && yaml.place(finding.first, finding.on);
    return {
      file,
      ...yaml.place(finding.path, finding.on),
      where: inWords(finding.on === 'name' ? finding.path.slice(0, -1) : finding.path, yaml.data, echo),
      problem: first ? `${finding.problem} (first on line ${first.line})` : finding.problem,
      instead: finding.instead,
    };
  });
  return tidied(problems);
}

export function tidied(problems: readonly FileProblem[]): FileProblem[] {
  const sorted = problems.toSorted(
    (a, b) => (a.file < b.file ? -1 : a.file > b.file ? 1 : 0) || a.line - b.line || a.column - b.column,
  );
  const said = new Set<string>();
  return sorted.filter((problem) => {
    const line = formatProblem(problem);
    return !said.has(line) && said.add(line);
  });
}

/** Entries of a list are called by their id, as their author would. */
function inWords(path: Path, data: unknown, echo: boolean): string {
  const words: string[] = [];
  let at: unknown = data;
  for (const part of path) {
    at = typeof at === 'object' && at !== null ? (at as Record<string, unknown>)[part] : undefined;
    if (typeof part === 'string') words.push(echo ? clip(part) : (plainName(part) ?? '...'));
    else words.push(echo ? called(at, part) : `entry ${part + 1}`);
  }
  return words.join(' > ');
}

function called(entry: unknown, place: number): string {
  if (typeof entry === 'object' && entry !== null && !Array.isArray(entry)) {
    for (const key of ['id', 'step', 'check', 'name', 'label']) {
      const name = (entry as Record<string, unknown>)[key];
      if (typeof name === 'string' && name.trim() !== '') return clip(name);
    }
  }
  return `entry ${place + 1}`;
}

const clip = (name: string): string => {
  const line = name.replace(/\s+/g, ' ').trim();
  return line.length > 40 ? `${line.slice(0, 37)}...` : line;
};

/** `flows/kettle.yaml:12:5  checks > torch: unknown fault "strp"; write "strip"` */
export function formatProblem({ file, line, column, where, problem, instead }: FileProblem): string {
  return `${file}:${line}:${column}  ${where === '' ? '' : `${where}: `}${problem}; ${instead}`;
}

export const formatProblems = (problems: readonly FileProblem[]): string =>
  problems.map(formatProblem).join('\n');
