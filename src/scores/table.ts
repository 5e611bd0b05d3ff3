import { counted } from '../keeping/desk.ts';
import type { Source } from './forecast.ts';
import { type Desk, type Scores, sources } from './scores.ts';
import type { Summary } from './summary.ts';

/** Scores as text that can be read in a terminal. */

const names: Readonly<Record<Source, string>> = {
  start: 'the desk at the start',
  end: 'the desk at the end',
  file: 'the file’s numbers at the end',
  weights: 'the file’s weights alone',
  commonest: 'always the commonest',
};

const percent = (share: number): string => `${(100 * share).toFixed(0)} %`;
const signed = (x: number): string => `${x < 0 ? '-' : '+'}${Math.abs(x).toFixed(3)}`;

/** `at`: the moment whose odds are held against what came. */
export function table(all: readonly Scores[], at: Desk, currency: string): string[] {
  const [first] = all;
  const summary = first?.sources[at];
  if (!first || !summary) return [];
  return [
    ...aligned([
      ['', 'odds of', 'cases', 'log score', 'Brier', 'skill', 'first right', 'in three', 'sharpness'],
      ...all.flatMap(rows),
    ]),
    'Log score and sharpness in nats, Brier from 0 to 2: smaller is better. Skill: how much of the log score of the file’s weights',
    'alone is saved. Odds that are right have a log score as large as their sharpness.',
    '',
    ...against(first),
    ...reliability(summary, at),
    ...monthly(first, at),
    ...cost(first, currency),
  ];
}

const rows = ({ flow, sources: by, skill }: Scores): string[][] =>
  sources.flatMap((source, i): string[][] => {
    const one = by[source];
    if (!one) return [];
    const saved = source === 'start' || source === 'end' ? skill[source]?.weights?.log : null;
    return [
      [
        i === 0 ? flow : '',
        names[source],
        String(one.cases),
        one.log.toFixed(3),
        one.brier.toFixed(3),
        saved === null || saved === undefined ? '' : percent(saved),
        percent(one.top1.mean),
        percent(one.top3.mean),
        one.sharpness.toFixed(3),
      ],
    ];
  });

/** Columns as wide as they must be; the first two to the left, figures to the right. */
function aligned(rows: readonly (readonly string[])[]): string[] {
  const widths = (rows[0] ?? []).map((_, i) => Math.max(...rows.map((row) => (row[i] ?? '').length)));
  return rows.map((row) =>
    row
      .map((cell, i) => (i < 2 ? cell.padEnd(widths[i] as number) : cell.padStart(widths[i] as number)))
      .join('  ')
      .trimEnd(),
  );
}

function against({ skill, cases }: Scores): string[] {
  if (cases < 2) return [];
  const lines = Object.entries(skill).flatMap(([desk, others]) =>
    Object.entries(others).map(
      ([other, { gain }]) =>
        `  ${names[desk as Desk]}, against ${names[other as Source]}: ${signed(gain.mean)} nats a case (${signed(gain.low)} to ${signed(gain.high)})`,
    ),
  );
  return ['Better (+) or worse (-) than the others, case by case, with 95 % intervals:', ...lines, ''];
}

function reliability({ reliability: bins, murphy, murphyMany }: Summary, at: Desk): string[] {
  const parts = ({ brier, reliability, resolution, uncertainty, within }: Summary['murphy']): string =>
    `${brier.toFixed(3)} = reliability ${reliability.toFixed(3)} - resolution ${resolution.toFixed(3)} + uncertainty ${uncertainty.toFixed(3)} ${within < 0 ? '-' : '+'} within ${Math.abs(within).toFixed(3)}`;
  return [
    `Was the likeliest fault right as often as ${names[at]} said? Intervals: 95 %, Beta from the uniform prior.`,
    ...bins.map(
      ({ forecast, n, share, low, high }) =>
        `  said ${percent(forecast)}, ${counted(n, 'time')}: right ${percent(share)} (${percent(low)} to ${percent(high)})${forecast < low || forecast > high ? '  <- not as said' : ''}`,
    ),
    `  calibration error ${murphy.calibration.toFixed(3)}; of few cases it is above 0 even where the odds are right`,
    `  Brier of the likeliest: ${parts(murphy)}`,
    `  Brier of all faults: ${parts(murphyMany)}`,
    ...(at === 'end'
      ? ['  The end is a moment picked by how it ended: even perfect odds look wrong by it. Go by the start.']
      : []),
    '',
  ];
}

function monthly({ months }: Scores, at: Desk): string[] {
  const head = ['month', '', 'cases', 'log score', 'of weights', 'Brier', 'first right'];
  const rows = months.flatMap(({ month, sources: by }): string[][] => {
    const [one, weights] = [by[at], by.weights];
    if (!one || !weights) return [];
    const { mean, low, high } = one.top1;
    return [
      [
        month,
        '',
        String(one.cases),
        one.log.toFixed(3),
        weights.log.toFixed(3),
        one.brier.toFixed(3),
        `${percent(mean)} (${percent(low)} to ${percent(high)})`,
      ],
    ];
  });
  return [`By month, ${names[at]}:`, ...aligned([head, ...rows]).map((line) => `  ${line}`), ''];
}

function cost({ sources: by }: Scores, currency: string): string[] {
  const one = by.start?.cost;
  if (!one) return [];
  const { expected, was, difference, distance, cases } = one;
  const range =
    cases < 2 ? '' : ` (difference ${difference.low.toFixed(2)} to ${difference.high.toFixed(2)}, 95 %)`;
  return [
    `Cost, ${cases} cases, ${currency} a case: expected ${expected.toFixed(2)}, was ${was.toFixed(2)}${range}; off by ${distance.toFixed(2)} on average.`,
    '  Only cases whose fault is known, by the flow’s own figures, each opened once: a rough guide.',
  ];
}
