import { parseArgs } from 'node:util';

export interface FileArgument {
  readonly file: string;
  /** Of people's keys, not of cases. */
  readonly keys: boolean;
}

/** `FILE` or `--keys FILE`; null for anything else. */
export function fileArgument(args: readonly string[]): FileArgument | null {
  try {
    const { values, positionals } = parseArgs({
      args: [...args],
      allowPositionals: true,
      options: { keys: { type: 'boolean' } },
    });
    const [file, more] = positionals;
    return file && more === undefined ? { file, keys: values.keys === true } : null;
  } catch {
    return null;
  }
}
