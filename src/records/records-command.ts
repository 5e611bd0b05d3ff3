import { createWriteStream } from 'node:fs';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { parseArgs } from 'node:util';
import { stringify } from 'csv-stringify';
import { ZodError } from 'zod';
import type { Community } from '../../shared/community.ts';
import type { Flow } from '../../shared/flow.ts';
import type { SettledCase } from '../outcomes/settled.ts';
import { columns, type Record, recordOf } from './ords.ts';

/** `npm run records`: settled cases as Open Repair Data, for others to count. */
const usage = `npm run records -- FILE.csv`;

export interface RecordsDesk {
  readonly cases: AsyncIterable<SettledCase>;
  readonly flows: readonly Flow[];
  readonly community: Community;
  readonly out: (line: string) => void;
  readonly err: (line: string) => void;
}

/** Resolves to the exit code: 1 where some cases could not be written and were left out. */
export async function recordsCommand(args: readonly string[], desk: RecordsDesk): Promise<number> {
  const file = fileIn(args);
  if (file === null) {
    desk.err(usage);
    return 2;
  }
  const counts = { written: 0, left: 0 };
  await pipeline(
    Readable.from(records(desk, counts)),
    // What a table program would take for a formula stays text.
    stringify({ header: true, columns: [...columns], escape_formulas: true, record_delimiter: 'windows' }),
    createWriteStream(file),
  );
  desk.out(
    `${counts.written} records are in ${file}: Open Repair Data Standard 0.3, for the Open Repair Alliance’s CC BY-SA 4.0.`,
  );
  if (counts.left > 0) desk.err(`${counts.left} cases were left out: they would not keep to the standard.`);
  return counts.left > 0 ? 1 : 0;
}

/** One record after the other; demonstrations are none. */
export async function* records(
  { cases, flows, community }: Pick<RecordsDesk, 'cases' | 'flows' | 'community'>,
  counts: { written: number; left: number },
): AsyncGenerator<Record> {
  const byId = new Map(flows.map((flow) => [flow.flow, flow]));
  for await (const one of cases) {
    const flow = byId.get(one.flow);
    if (!flow || one.demonstration) continue;
    try {
      const record = recordOf(one, flow, community);
      counts.written++;
      yield record;
    } catch (cause) {
      if (!(cause instanceof ZodError)) throw cause;
      counts.left++;
    }
  }
}

function fileIn(args: readonly string[]): string | null {
  try {
    const { positionals } = parseArgs({ args: [...args], allowPositionals: true, options: {} });
    const [file, ...others] = positionals;
    return file !== undefined && others.length === 0 ? file : null;
  } catch {
    return null;
  }
}
