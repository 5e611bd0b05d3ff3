import { readFile, stat } from 'node:fs/promises';
import type { FileProblem } from './file-problem.ts';
import { mostBytes } from './yaml-file.ts';

/** The text of a file, or why it is none. */
export async function readText(file: string): Promise<string | FileProblem> {
  try {
    if ((await stat(file)).size > mostBytes) {
      return wholeFile(file, 'the file is larger than 1 MB', 'keep it to text, without pictures');
    }
    return new TextDecoder('utf-8', { fatal: true }).decode(await readFile(file));
  } catch (cause) {
    if (cause instanceof TypeError) {
      return wholeFile(file, 'the file is not plain text', 'save it as text in UTF-8');
    }
    return wholeFile(file, `the file cannot be read (${codeOf(cause)})`, 'check its name');
  }
}

export const wholeFile = (file: string, problem: string, instead: string): FileProblem => ({
  file,
  line: 1,
  column: 1,
  where: '',
  problem,
  instead,
});

export const codeOf = (cause: unknown): string =>
  cause instanceof Error && 'code' in cause ? String(cause.code) : 'unknown reason';
