import { writeFile } from 'node:fs/promises';
import { parseArgs } from 'node:util';
import type { Flow } from '../../shared/flow.ts';
import type { Settings } from '../core/settings.ts';
import type { Tables } from '../core/tables.ts';
import { counted } from '../keeping/desk.ts';
import type { SettledCase } from '../outcomes/settled.ts';
import { reliabilityPicture } from '../pictures/reliability.ts';
import { type Forecasts, forecastsOf } from './forecast.ts';
import { type Desk, scores } from './scores.ts';
import { table } from './table.ts';

/** `npm run scores`: whether "80 %" means 80 %. */
const usage = `npm run scores            over the settled cases whose fault is confirmed: how often the desk was right, and by how much
     --json               the same figures, for programs
     --picture FILE.svg   draws what was said against what came
     --end                hold the odds of the end, not of the start, against what came; they look wrong even where they are right`;

export interface ScoresDesk {
  readonly cases: AsyncIterable<SettledCase> | Iterable<SettledCase>;
  readonly flows: readonly Flow[];
  readonly settings: Settings;
  /** The numbers that the desk goes by, for flows where they are not the file's. */
  readonly learnt?: (flow: Flow) => Tables | undefined;
  readonly out: (line: string) => void;
  readonly err: (line: string) => void;
}

/** Resolves to the exit code: 1 where a picture was asked for and there is nothing to draw. Throws where it cannot be written. */
export async function scoresCommand(args: readonly string[], desk: ScoresDesk): Promise<number> {
  const given = options(args);
  if (!given) {
    desk.err(usage);
    return 2;
  }
  const byId = new Map(desk.flows.map((flow) => [flow.flow, flow]));
  const forecasts: Forecasts[] = [];
  let settled = 0;
  for await (const one of desk.cases) {
    settled++;
    const flow = byId.get(one.flow);
    const forecast = flow ? forecastsOf(one, flow, desk.settings, desk.learnt?.(flow)) : null;
    if (forecast) forecasts.push(forecast);
  }
  const { time_zone: timeZone, currency } = desk.settings.community;
  const all = scores(forecasts, timeZone);
  const at: Desk = given.end ? 'end' : 'start';
  if (given.json) desk.out(JSON.stringify({ settled, scored: forecasts.length, currency, scores: all }));
  else {
    desk.out(
      `${counted(settled, 'settled case')}; the fault is confirmed in ${forecasts.length} of them, and only those are scored.`,
    );
    for (const line of table(all, at, currency)) desk.out(line);
    if (forecasts.some(({ file }) => file))
      desk.out(
        'The desk goes by learnt numbers. Cases that helped to make them score better by them than new ones will.',
      );
  }
  if (given.picture === undefined) return 0;
  const summary = all[0]?.sources[at];
  if (!summary) {
    desk.err('There is nothing to draw: no fault is confirmed yet.');
    return 1;
  }
  await writeFile(given.picture, reliabilityPicture(summary.reliability, summary.cases));
  desk.err(`${given.picture} is written.`);
  return 0;
}

function options(args: readonly string[]) {
  try {
    const { values, positionals } = parseArgs({
      args: [...args],
      allowPositionals: true,
      options: {
        json: { type: 'boolean', default: false },
        end: { type: 'boolean', default: false },
        picture: { type: 'string' },
      },
    });
    return positionals.length > 0 ? null : values;
  } catch {
    return null;
  }
}
