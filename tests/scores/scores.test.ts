import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { settledCase } from '../../src/outcomes/settled.ts';
import { reliabilityPicture } from '../../src/pictures/reliability.ts';
import { forecastOf } from '../../src/scores/forecast.ts';
import {
  type Binary,
  bins,
  brier,
  brierMany,
  entropy,
  logLoss,
  logScore,
  murphy,
} from '../../src/scores/rules.ts';
import { scoresCommand } from '../../src/scores/scores-command.ts';
import { type scores, summarise } from '../../src/scores/summary.ts';
import { newTalk } from '../conversations/thread.ts';
import { people, radio, settings } from '../core/example-flow.ts';

const said = (p: number, events: number, n: number): Binary[] =>
  Array.from({ length: n }, (_, i) => ({ p, y: i < events }));

describe('scores of yes-or-no forecasts', () => {
  test('Brier of y = 0 1 1 0 and p = .1 .9 .8 .3 is .0375 (an example that many manuals print; worked by hand)', () => {
    const forecasts = [0.1, 0.9, 0.8, 0.3].map((p, i) => ({ p, y: i === 1 || i === 2 }));
    expect(brier(forecasts)).toBeCloseTo(0.0375, 12);
  });

  // Murphy 1973, J. Appl. Met. 12: 4 x 10 forecasts at .1 .3 .7 .9 with 1, 4, 6, 8 events; values by his formula.
  test('Murphy’s decomposition of forty forecasts', () => {
    const forecasts = [...said(0.1, 1, 10), ...said(0.3, 4, 10), ...said(0.7, 6, 10), ...said(0.9, 8, 10)];
    const parts = murphy(forecasts);
    expect(parts.brier).toBeCloseTo(0.19, 12);
    expect(parts.reliability).toBeCloseTo(0.0075, 12);
    expect(parts.resolution).toBeCloseTo(0.066875, 12);
    expect(parts.uncertainty).toBeCloseTo(0.249375, 12);
    expect(parts.calibration).toBeCloseTo(0.075, 12);
    expect(parts.skill).toBeCloseTo(0.2380952, 7);
    expect(logLoss(forecasts)).toBeCloseTo(0.5652691, 7);
  });

  test('the parts add up whatever is said', () => {
    const forecast = fc.record({ p: fc.constantFrom(0, 0.05, 0.2, 0.5, 0.77, 1), y: fc.boolean() });
    fc.assert(
      fc.property(fc.array(forecast, { minLength: 1, maxLength: 60 }), (forecasts) => {
        const { brier: score, reliability, resolution, uncertainty } = murphy(forecasts);
        expect(score).toBeCloseTo(reliability - resolution + uncertainty, 10);
      }),
    );
  });

  test('bins hold every forecast once, with intervals that hold the share', () => {
    const forecasts = [...said(0, 0, 3), ...said(0.55, 4, 7), ...said(1, 5, 5)];
    const all = bins(forecasts);
    expect(all.reduce((sum, { n }) => sum + n, 0)).toBe(15);
    for (const { share, low, high } of all) {
      expect(low).toBeLessThanOrEqual(share);
      expect(high).toBeGreaterThanOrEqual(share);
    }
    // Beta(4 + 1, 7 - 4 + 1), equal tails: mean 5/9 lies inside.
    expect(all[1]).toMatchObject({ n: 7, forecast: expect.closeTo(0.55, 12) });
  });
});

describe('scores of beliefs', () => {
  // Shannon: .35 .25 .20 .15 .05 has 2.1211275 bit.
  test('entropy', () => {
    const belief = new Map([0.35, 0.25, 0.2, 0.15, 0.05].map((p, i) => [`f${i}`, p]));
    expect(entropy(belief) / Math.LN2).toBeCloseTo(2.1211275, 7);
    expect(entropy(new Map([['a', 1]]))).toBe(0);
  });

  test('what was sure and right costs nothing, and honest doubt costs less than sure and wrong', () => {
    const belief = (p: number) =>
      new Map([
        ['a', p],
        ['b', 1 - p],
      ]);
    expect(logScore({ belief: belief(1), truth: 'a' })).toBeCloseTo(0, 12);
    expect(brierMany({ belief: belief(1), truth: 'a' })).toBe(0);
    expect(brierMany({ belief: belief(0), truth: 'a' })).toBe(2);
    expect(logScore({ belief: belief(0.5), truth: 'a' })).toBeCloseTo(Math.LN2, 12);
    expect(logScore({ belief: belief(0), truth: 'a' })).toBeGreaterThan(20);
  });

  test('telling the truth is best on average: both scores are proper', () => {
    const share = fc.double({ min: 0.02, max: 0.98, noNaN: true });
    const expected = (truth: number, told: number, score: typeof logScore): number => {
      const belief = new Map([
        ['a', told],
        ['b', 1 - told],
      ]);
      return truth * score({ belief, truth: 'a' }) + (1 - truth) * score({ belief, truth: 'b' });
    };
    fc.assert(
      fc.property(share, share, (truth, told) => {
        for (const score of [logScore, brierMany])
          expect(expected(truth, told, score)).toBeGreaterThanOrEqual(expected(truth, truth, score) - 1e-12);
      }),
    );
  });

  test('first and first three are counted', () => {
    const belief = new Map([
      ['a', 0.4],
      ['b', 0.3],
      ['c', 0.2],
      ['d', 0.1],
    ]);
    const { top1, top3, cases } = summarise(['a', 'c', 'd', 'd'].map((truth) => ({ belief, truth })));
    expect({ top1, top3, cases }).toEqual({ top1: 0.25, top3: 0.5, cases: 4 });
  });
});

describe('a settled case', () => {
  const settledBy = (fault: string) => {
    const talk = newTalk();
    const asker = talk.as(people.asker);
    asker.says('It lights up but is silent');
    for (const tap of ['silent', 'solid']) asker.taps(tap);
    talk.as(people.mender).does({ what: 'settle', outcome: 'Repairable', fault });
    return settledCase(talk.kase, radio);
  };
  const fault = radio.faults[0]?.id ?? '';

  test('is scored by the belief before it was known, against the flow’s weights', () => {
    const settled = settledBy(fault);
    const forecast = settled && forecastOf(settled, radio, settings);
    expect(forecast?.truth).toBe(fault);
    expect([...(forecast?.belief.values() ?? [])].reduce((sum, p) => sum + p, 0)).toBeCloseTo(1, 9);
    expect(forecast?.belief.get(fault)).not.toBeCloseTo(forecast?.commonest.get(fault) as number, 3);
  });

  test('is not scored where nobody knows the fault', () => {
    const settled = settledBy(fault);
    if (!settled) throw new Error('it is settled');
    expect(forecastOf({ ...settled, confirmed: null }, radio, settings)).toBeNull();
    expect(forecastOf({ ...settled, demonstration: true }, radio, settings)).toBeNull();
    expect(forecastOf({ ...settled, fault: 'no-such-fault' }, radio, settings)).toBeNull();
  });

  test('npm run scores tells how many are known, and the same as JSON', async () => {
    const settled = settledBy(fault);
    if (!settled) throw new Error('it is settled');
    async function* cases() {
      yield settled as typeof settled & object;
      yield { ...settled, id: 'two', confirmed: null } as typeof settled & object;
    }
    const lines: string[] = [];
    const desk = { flows: [radio], settings, out: (line: string) => lines.push(line), err: () => {} };
    expect(await scoresCommand([], { ...desk, cases: cases() })).toBe(0);
    expect(lines[0]).toBe('2 settled cases; the fault is confirmed in 1 of them, and only those are scored.');
    lines.length = 0;
    expect(await scoresCommand(['--json'], { ...desk, cases: cases() })).toBe(0);
    const [all] = JSON.parse(lines[0] ?? '') as ReturnType<typeof scores>;
    expect(all).toMatchObject({ flow: 'all', desk: { cases: 1 } });
    expect(await scoresCommand(['what'], { ...desk, cases: cases() })).toBe(2);
  });
});

test('the picture of reliability says its numbers', () => {
  const svg = reliabilityPicture(bins([...said(0.3, 3, 10), ...said(0.8, 8, 10)]), 20);
  expect(svg).toContain('20 cases');
  expect(svg).not.toMatch(/NaN|undefined/);
});
