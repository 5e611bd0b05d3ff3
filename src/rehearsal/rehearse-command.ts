import { parseArgs } from 'node:util';
import { type Flow, Level } from '../../shared/flow.ts';
import type { Settings } from '../core/settings.ts';
import { type Rehearsal, type Report, rehearsal } from './rehearse.ts';
import type { Estimate } from './statistics.ts';
import { runTogether } from './together.ts';

/** `npm run rehearse`. */

const usage = `npm run rehearse -- FLOW [--cases 1000] [--seed 1] [--level new|handy|trained] [--blur 0.2] [--json]`;

export async function rehearseCommand(
  args: readonly string[],
  { flows, settings }: { readonly flows: readonly Flow[]; readonly settings: Settings },
): Promise<number> {
  const problem = (words: string): number => {
    console.error(`${words}\n\n${usage}`);
    return 2;
  };
  let parsed: ReturnType<typeof options>;
  try {
    parsed = options(args);
  } catch (cause) {
    return problem(cause instanceof Error ? cause.message : String(cause));
  }
  const { values, positionals } = parsed;
  const flow = flows.find((one) => one.flow === positionals[0]);
  if (!flow) return problem(`Which flow? There is: ${flows.map((one) => one.flow).join(', ')}.`);
  const level = Level.safeParse(values.level);
  const cases = Number(values.cases);
  const seed = Number(values.seed);
  const blur = Number(values.blur);
  if (!level.success) return problem(`--level is one of ${Level.options.join(', ')}.`);
  if (!Number.isInteger(cases) || cases < 1) return problem('--cases is a whole number from 1.');
  if (!Number.isInteger(seed)) return problem('--seed is a whole number.');
  if (!(blur >= 0 && blur <= 1)) return problem('--blur is a number from 0 to 1.');

  const bar = process.stderr.isTTY === true && !values.json;
  const result = rehearsal(
    await runTogether(flow, settings, { cases, seed, level: level.data, blur }, (done) => {
      if (bar) showProgress(done, cases);
    }),
  );
  if (values.json) console.log(JSON.stringify(result));
  else console.log(table(result, settings.community.currency));
  return result.aboveLevel.mean + result.sheet.aboveLevel.mean + result.random.aboveLevel.mean > 0 ? 1 : 0;
}

const options = (args: readonly string[]) =>
  parseArgs({
    args: [...args],
    allowPositionals: true,
    options: {
      cases: { type: 'string', default: '1000' },
      seed: { type: 'string', default: '1' },
      level: { type: 'string', default: 'handy' },
      blur: { type: 'string', default: '0' },
      json: { type: 'boolean', default: false },
    },
  });

function showProgress(done: number, of: number): void {
  const step = Math.max(1, Math.floor(of / 200));
  if (done % step !== 0 && done !== of) return;
  const width = 40;
  const filled = Math.round((done / of) * width);
  process.stderr.write(
    `\r[${'='.repeat(filled)}${' '.repeat(width - filled)}] ${done} of ${of}${done === of ? '\n' : ''}`,
  );
}

function table(result: Rehearsal, currency: string): string {
  const rows: readonly (readonly [string, keyof Report, (x: number) => string])[] = [
    ['solved', 'solved', (x) => `${(100 * x).toFixed(1)} %`],
    [`mean cost, ${currency}`, 'cost', (x) => x.toFixed(1)],
    ['hands-on minutes', 'minutes', (x) => x.toFixed(1)],
    ['questions', 'questions', (x) => x.toFixed(1)],
    ['waits', 'waits', (x) => x.toFixed(2)],
    ['minutes waited', 'waitMinutes', (x) => x.toFixed(0)],
    ['parts bought in vain', 'wastedParts', (x) => x.toFixed(3)],
    ['steps above the level', 'aboveLevel', (x) => x.toFixed(0)],
  ];
  const cell = (e: Estimate, show: (x: number) => string): string =>
    `${show(e.mean)} (${show(e.low)} to ${show(e.high)})`;
  const lines = rows.map(([label, key, show]) => [
    label,
    cell(result[key], show),
    cell(result.sheet[key], show),
    cell(result.random[key], show),
  ]);
  const all = [[`${result.cases.mean} cases`, 'the plan', 'the printed sheet', 'random order'], ...lines];
  const widths = [0, 1, 2, 3].map((i) => Math.max(...all.map((line) => (line[i] as string).length)));
  const text = all.map((line) =>
    line
      .map((c, i) => c.padEnd(widths[i] as number))
      .join('  ')
      .trimEnd(),
  );
  const ratio = result.cost.mean / result.sheet.cost.mean;
  return [...text, '', `The plan costs ${ratio.toFixed(2)} of the sheet. Intervals: 95 %.`].join('\n');
}
