import { parseArgs } from 'node:util';
import { ZodError } from 'zod';
import type { Flow } from '../../shared/flow.ts';
import type { SettledCase } from '../outcomes/settled.ts';
import { writeCsv } from './csv.ts';
import { columns, type Publisher, type Record, recordOf } from './ords.ts';

/** `npm run records`: settled cases as Open Repair Data, for others to count. */
const usage = `npm run records -- FILE.csv`;

export interface RecordsDesk {
  readonly cases: AsyncIterable<SettledCase>;
  readonly flows: readonly Flow[];
  readonly community: Publisher;
  /** Known to the community alone: keeps others from telling cases by their records' ids. */
  readonly secret?: string;
  readonly out: (line: string) => void;
  readonly err: (line: string) => void;
}

/** How many became records, how many have no flow any more, and what was wrong with the others. */
export interface RecordCounts {
  written: number;
  gone: number;
  readonly refused: Map<string, number>;
}

/** Resolves to the exit code: 1 where some cases could not be written and were left out. Throws `Advice` as `writeCsv` does. */
export async function recordsCommand(args: readonly string[], desk: RecordsDesk): Promise<number> {
  const file = fileIn(args);
  if (file === null) {
    desk.err(usage);
    return 2;
  }
  const counts: RecordCounts = { written: 0, gone: 0, refused: new Map() };
  await writeCsv(file, columns, records(desk, counts));
  desk.out(
    `${counts.written} records are in ${file}: Open Repair Data Standard 0.3, for the Open Repair Alliance’s CC BY-SA 4.0.`,
  );
  if (counts.gone > 0) desk.err(`Left out, ${counts.gone}: the flow is not here any more.`);
  for (const [why, times] of counts.refused)
    desk.err(`Left out, ${times}: would not keep to the standard (${why}).`);
  return counts.gone + counts.refused.size > 0 ? 1 : 0;
}

/** One record after the other; demonstrations are none. */
export async function* records(
  { cases, flows, community, secret }: Pick<RecordsDesk, 'cases' | 'flows' | 'community' | 'secret'>,
  counts: RecordCounts,
): AsyncGenerator<Record> {
  const byId = new Map(flows.map((flow) => [flow.flow, flow]));
  for await (const one of cases) {
    if (one.demonstration) continue;
    const flow = byId.get(one.flow);
    if (!flow) {
      counts.gone++;
      continue;
    }
    try {
      const record = recordOf(one, flow, community, secret);
      counts.written++;
      yield record;
    } catch (cause) {
      if (!(cause instanceof ZodError)) throw cause;
      const why = whyNot(cause);
      counts.refused.set(why, (counts.refused.get(why) ?? 0) + 1);
    }
  }
}

/** Which columns are wrong and how; never what stands in them. */
const whyNot = ({ issues }: ZodError): string =>
  issues.map(({ path, message }) => (path.length > 0 ? `${path.join('.')}: ${message}` : message)).join('; ');

function fileIn(args: readonly string[]): string | null {
  try {
    const { positionals } = parseArgs({ args: [...args], allowPositionals: true, options: {} });
    const [file, ...others] = positionals;
    return file !== undefined && others.length === 0 ? file : null;
  } catch {
    return null;
  }
}
