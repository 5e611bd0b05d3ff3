import { readFileSync } from 'node:fs';
import { join } from 'node:path';

/** Reading the project's own files in tests. */

export const root = join(import.meta.dirname, '..', '..');
export const read = (file: string): string => readFileSync(join(root, file), 'utf8');

/** What the first group of a global pattern matched, each time. */
export const all = (text: string, pattern: RegExp): string[] =>
  [...text.matchAll(pattern)].map(([, one]) => one ?? '');
