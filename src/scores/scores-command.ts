import { writeFile } from 'node:fs/promises';
import { parseArgs } from 'node:util';
import type { Flow } from '../../shared/flow.ts';
import type { Settings } from '../core/settings.ts';
import type { SettledCase } from '../outcomes/settled.ts';
import { reliabilityPicture } from '../pictures/reliability.ts';
import { type Forecast, forecastOf } from './forecast.ts';
import { type Scores, scores } from './summary.ts';

/** `npm run scores`: whether "80 %" means 80 %. */
const usage = `npm run scores -- [--json] [--picture FILE.svg]`;

export interface ScoresDesk {
  readonly cases: AsyncIterable<SettledCase>;
  readonly flows: readonly Flow[];
  readonly settings: Settings;
  readonly out: (line: string) => void;
  readonly err: (line: string) => void;
}

/** Resolves to the exit code. */
export async function scoresCommand(args: readonly string[], desk: ScoresDesk): Promise<number> {
  const given = options(args);
  if (!given) {
    desk.err(usage);
    return 2;
  }
  const byId = new Map(desk.flows.map((flow) => [flow.flow, flow]));
  const forecasts: Forecast[] = [];
  let settled = 0;
  for await (const one of desk.cases) {
    settled++;
    const flow = byId.get(one.flow);
    const forecast = flow ? forecastOf(one, flow, desk.settings) : null;
    if (forecast) forecasts.push(forecast);
  }
  const all = scores(forecasts);
  if (given.json) desk.out(JSON.stringify(all));
  else {
    desk.out(
      `${settled} settled cases; the fault is confirmed in ${forecasts.length} of them, and only those are scored.`,
    );
    if (forecasts.length > 0) for (const line of table(all)) desk.out(line);
  }
  const [first] = all;
  if (given.picture !== undefined && first && forecasts.length > 0) {
    await writeFile(given.picture, reliabilityPicture(first.desk.reliability, first.desk.cases));
    desk.err(`${given.picture} is written.`);
  }
  return 0;
}

function options(args: readonly string[]) {
  try {
    const { values, positionals } = parseArgs({
      args: [...args],
      allowPositionals: true,
      options: { json: { type: 'boolean', default: false }, picture: { type: 'string' } },
    });
    return positionals.length > 0 ? null : values;
  } catch {
    return null;
  }
}

function table(all: readonly Scores[]): string[] {
  const percent = (x: number): string => `${(100 * x).toFixed(0)} %`;
  const head = [
    '',
    'cases',
    'log score',
    'by weights',
    'Brier',
    'by weights',
    'first right',
    'in three',
    'sharpness',
  ];
  const rows = all.map(({ flow, desk, commonest }) => [
    flow,
    String(desk.cases),
    desk.log.toFixed(3),
    commonest.log.toFixed(3),
    desk.brier.toFixed(3),
    commonest.brier.toFixed(3),
    percent(desk.top1),
    percent(desk.top3),
    desk.sharpness.toFixed(2),
  ]);
  const widths = head.map((_, i) => Math.max(...[head, ...rows].map((row) => (row[i] as string).length)));
  const lines = [head, ...rows].map((row) =>
    row
      .map((cell, i) => (i === 0 ? cell.padEnd(widths[i] as number) : cell.padStart(widths[i] as number)))
      .join('  '),
  );
  const [first] = all;
  const bins = (first?.desk.reliability ?? []).map(
    ({ forecast, n, share, low, high }) =>
      `  said ${percent(forecast)}, ${n} times: right ${percent(share)} (${percent(low)} to ${percent(high)})`,
  );
  const { murphy } = first?.desk ?? {};
  return [
    ...lines,
    '',
    'Was the likeliest fault right as often as it said? Intervals: 95 %.',
    ...bins,
    ...(murphy
      ? [
          `  Brier ${murphy.brier.toFixed(3)} = reliability ${murphy.reliability.toFixed(3)} - resolution ${murphy.resolution.toFixed(3)} + uncertainty ${murphy.uncertainty.toFixed(3)}`,
        ]
      : []),
    '',
    'Log score in nats and Brier from 0 to 2: smaller is better. "By weights": the flow’s own weights, whatever was answered.',
  ];
}
