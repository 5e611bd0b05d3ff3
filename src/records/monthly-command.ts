import { writeFile } from 'node:fs/promises';
import { parseArgs } from 'node:util';
import type { Flow } from '../../shared/flow.ts';
import type { Settings } from '../core/settings.ts';
import type { Tables } from '../core/tables.ts';
import type { SettledCase } from '../outcomes/settled.ts';
import { dayIn } from './day.ts';
import { monthOf } from './monthly.ts';
import { monthlyReport } from './monthly-words.ts';

/** `npm run monthly`: what the community's month came to, as Markdown. */
const usage = `npm run monthly -- [FILE.md]
     --month YYYY-MM   which month (default: the last whole one)`;

export interface MonthlyDesk {
  readonly cases: AsyncIterable<SettledCase>;
  readonly flows: readonly Flow[];
  readonly settings: Settings;
  /** The numbers that the desk goes by, for flows where they are not the file's. */
  readonly learnt?: (flow: Flow) => Tables | undefined;
  readonly now: () => number;
  readonly out: (line: string) => void;
  readonly err: (line: string) => void;
}

/** Resolves to the exit code. */
export async function monthlyCommand(args: readonly string[], desk: MonthlyDesk): Promise<number> {
  const given = options(args);
  if (!given) {
    desk.err(usage);
    return 2;
  }
  const { community } = desk.settings;
  const month = given.month ?? monthBefore(dayIn(desk.now(), community.time_zone));
  const report = monthlyReport(await monthOf(desk.cases, { ...desk, month }), community);
  if (given.file === undefined) desk.out(report.trimEnd());
  else {
    await writeFile(given.file, report);
    desk.err(`${given.file} is written.`);
  }
  return 0;
}

/** '2026-01-31' → '2025-12'. */
function monthBefore(day: string): string {
  const [year, month] = day.split('-').map(Number) as [number, number];
  return new Date(Date.UTC(year, month - 2)).toISOString().slice(0, 7);
}

function options(args: readonly string[]) {
  try {
    const { values, positionals } = parseArgs({
      args: [...args],
      allowPositionals: true,
      options: { month: { type: 'string' } },
    });
    const { month } = values;
    const [file, ...others] = positionals;
    if (others.length > 0 || (month !== undefined && !/^\d{4}-(0[1-9]|1[0-2])$/.test(month))) return null;
    return { month, file };
  } catch {
    return null;
  }
}
