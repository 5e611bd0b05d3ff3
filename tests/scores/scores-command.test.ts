import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import type { SettledCase } from '../../src/outcomes/settled.ts';
import type { Forecast, Forecasts } from '../../src/scores/forecast.ts';
import { scores } from '../../src/scores/scores.ts';
import { scoresCommand } from '../../src/scores/scores-command.ts';
import { compare, summarise } from '../../src/scores/summary.ts';
import { radio, settings } from '../core/example-flow.ts';
import { simulated } from './simulated.ts';

const forecast = (belief: Forecast['belief'], truth: string, more: Partial<Forecast> = {}): Forecast => ({
  flow: 'radio',
  at: 0,
  belief,
  truth,
  cost: null,
  ...more,
});
const four = { a: 0.4, b: 0.3, c: 0.2, d: 0.1 };
const everybody = (one: Forecast): Forecasts => ({ end: one, start: one, weights: one, commonest: one });

describe('a summary', () => {
  test('counts what came first and among the first three', () => {
    const summary = summarise(['a', 'c', 'd', 'd'].map((truth) => forecast(four, truth)));
    expect(summary?.top1.mean).toBe(0.25);
    expect(summary?.top3.mean).toBe(0.5);
    expect(summary?.cases).toBe(4);
  });

  test('of nothing is none, rather than a perfect score', () => {
    expect(summarise([])).toBeNull();
    expect(scores([], 'UTC')).toEqual([]);
  });

  test('of two flows takes each apart by its own faults', () => {
    const list = [
      forecast({ a: 0.8, b: 0.2 }, 'a'),
      forecast({ x: 0.5, y: 0.5 }, 'x', { flow: 'lamp' }),
      forecast({ x: 0.5, y: 0.5 }, 'y', { flow: 'lamp' }),
    ];
    const parts = summarise(list)?.murphyMany;
    expect(parts?.brier).toBeCloseTo((0.08 + 0.5 + 0.5) / 3, 12);
    expect(parts?.uncertainty).toBeCloseTo((0 + 0.5 + 0.5) / 3, 12);
  });

  test('holds costs against what was expected, of the cases that have one', () => {
    const costs = [
      { expected: 10, was: 14 },
      { expected: 20, was: 18 },
    ];
    const list = [...costs.map((cost) => forecast(four, 'a', { cost })), forecast(four, 'a')];
    expect(summarise(list)?.cost).toMatchObject({ cases: 2, expected: 15, was: 16, distance: 3 });
    expect(summarise(list)?.cost?.difference.mean).toBe(1);
    expect(summarise([forecast(four, 'a')])?.cost).toBeNull();
  });
});

describe('a comparison', () => {
  test('tells the share that is saved and the gain of a case', () => {
    const [own, other] = [forecast({ a: 0.5, b: 0.5 }, 'a'), forecast({ a: 0.25, b: 0.75 }, 'a')];
    const { log, brier, gain } = compare([own], [other]);
    expect(log).toBeCloseTo(0.5, 12);
    expect(brier).toBeCloseTo(1 - 0.5 / 1.125, 12);
    expect(gain.mean).toBeCloseTo(Math.LN2, 12);
  });

  test('is refused of other truths', () => {
    expect(() => compare([forecast(four, 'a')], [forecast(four, 'b')])).toThrow(RangeError);
    expect(() => compare([], [])).toThrow(RangeError);
  });
});

test('months are the community’s own', () => {
  // 31 January 2026, 23:30 UTC; in Berlin it is February.
  const at = Date.UTC(2026, 0, 31, 23, 30);
  const list = [
    everybody(forecast(four, 'a', { at })),
    everybody(forecast(four, 'b', { at: at - 86_400_000 })),
  ];
  const monthsOf = (zone: string) =>
    scores(list, zone)[0]?.months.map(({ month, sources }) => [month, sources.end?.cases]);
  expect(monthsOf('UTC')).toEqual([['2026-01', 2]]);
  expect(monthsOf('Europe/Berlin')).toEqual([
    ['2026-01', 1],
    ['2026-02', 1],
  ]);
});

describe('npm run scores', () => {
  const cases = simulated(40).map(({ settled }) => settled);
  const confirmed = cases.filter(({ confirmed: how }) => how !== null).length;
  const run = async (args: readonly string[], list: readonly SettledCase[] = cases) => {
    const [out, err]: [string[], string[]] = [[], []];
    async function* one() {
      yield* list;
    }
    const desk = {
      flows: [radio],
      settings,
      out: (l: string) => out.push(l),
      err: (l: string) => err.push(l),
    };
    return { code: await scoresCommand(args, { ...desk, cases: one() }), out, err };
  };

  test('tells how many are known and how good the odds were', async () => {
    const { code, out } = await run([]);
    expect(code).toBe(0);
    expect(out[0]).toBe(
      `40 settled cases; the fault is confirmed in ${confirmed} of them, and only those are scored.`,
    );
    const text = out.join('\n');
    expect(text).toContain('as often as the desk at the start said');
    expect(text).not.toContain('moment picked');
    expect(text).toContain(`Cost, ${confirmed} cases, ${settings.community.currency}`);
    expect(text).not.toMatch(/NaN|undefined|null|Infinity/);
  });

  test('tells of the end that it is a picked moment', async () => {
    const { out } = await run(['--end']);
    expect(out.join('\n')).toContain('as often as the desk at the end said');
    expect(out.join('\n')).toContain('moment picked by how it ended');
  });

  test('tells the same as JSON, for all and for each flow', async () => {
    const { out } = await run(['--json']);
    expect(out).toHaveLength(1);
    const told = JSON.parse(out[0] ?? '');
    expect(told).toMatchObject({ settled: 40, scored: confirmed, currency: settings.community.currency });
    expect(told.scores.map(({ flow }: { flow: string }) => flow)).toEqual(['all', radio.flow]);
    expect(Object.keys(told.scores[0].sources)).toEqual(['start', 'end', 'weights', 'commonest']);
    expect(told.scores[0].sources.end.cases).toBe(confirmed);
  });

  test('scores nothing where nothing is known, and draws nothing then', async () => {
    const unknown = cases.map((one) => ({ ...one, confirmed: null }));
    expect(JSON.parse((await run(['--json'], unknown)).out[0] ?? '').scores).toEqual([]);
    expect((await run([], unknown)).out).toHaveLength(1);
    const { code, err } = await run(['--picture', join(tmpdir(), 'no-such-folder', 'p.svg')], unknown);
    expect(code).toBe(1);
    expect(err.join()).toContain('nothing to draw');
  });

  test('draws the picture into a file', async () => {
    const folder = await mkdtemp(join(tmpdir(), 'scores-'));
    try {
      const file = join(folder, 'odds.svg');
      expect((await run(['--picture', file])).code).toBe(0);
      expect(await readFile(file, 'utf8')).toContain(`${confirmed} cases`);
    } finally {
      await rm(folder, { recursive: true });
    }
  });

  test('refuses what it does not know', async () => {
    expect((await run(['what'])).code).toBe(2);
    expect((await run(['--what'])).err.join()).toContain('npm run scores');
  });
});
