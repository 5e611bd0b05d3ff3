import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { bins } from '../../src/scores/bins.ts';
import { type Murphy, murphy, murphyByValue, murphyMany } from '../../src/scores/murphy.ts';
import { type Binary, brier, brierMany, entropy, logLoss, logScore, ranked } from '../../src/scores/rules.ts';

const said = (p: number, events: number, n: number): Binary[] =>
  Array.from({ length: n }, (_, i) => ({ p, y: i < events }));
const added = ({ reliability, resolution, uncertainty, within }: Murphy): number =>
  reliability - resolution + uncertainty + within;
const pair = (p: number) => ({ a: p, b: 1 - p });

describe('yes-or-no forecasts', () => {
  test('Brier of y = 0 1 1 0 and p = .1 .9 .8 .3 is .0375 (printed in many manuals; worked by hand)', () => {
    expect(brier([0.1, 0.9, 0.8, 0.3].map((p, i) => ({ p, y: i === 1 || i === 2 })))).toBeCloseTo(0.0375, 12);
  });

  // Murphy 1973, J. Appl. Met. 12:595: 4 x 10 forecasts at .1 .3 .7 .9 with 1, 4, 6, 8 events; values by his formula.
  test.each([
    ['in tenths', murphy],
    ['by value', murphyByValue],
  ])('Murphy’s decomposition of forty forecasts, %s', (_, apart) => {
    const forecasts = [...said(0.1, 1, 10), ...said(0.3, 4, 10), ...said(0.7, 6, 10), ...said(0.9, 8, 10)];
    const parts = apart(forecasts);
    expect(forecasts.filter(({ y }) => y).length / 40).toBe(0.475);
    expect(parts.brier).toBeCloseTo(0.19, 12);
    expect(parts.reliability).toBeCloseTo(0.0075, 12);
    expect(parts.resolution).toBeCloseTo(0.066875, 12);
    expect(parts.uncertainty).toBeCloseTo(0.249375, 12);
    expect(parts.within).toBeCloseTo(0, 12);
    expect(parts.calibration).toBeCloseTo(0.075, 12);
    expect(parts.skill).toBeCloseTo(0.2380952, 7);
    expect(logLoss(forecasts)).toBeCloseTo(0.5652691, 7);
  });

  test('three parts add up where each group holds one value, whatever came', () => {
    const forecast = fc.record({ p: fc.constantFrom(0, 0.25, 0.5, 0.77, 1), y: fc.boolean() });
    fc.assert(
      fc.property(fc.array(forecast, { minLength: 1, maxLength: 60 }), (forecasts) => {
        for (const parts of [murphyByValue(forecasts), murphy(forecasts)]) {
          expect(parts.within).toBeCloseTo(0, 10);
          expect(parts.brier).toBeCloseTo(parts.reliability - parts.resolution + parts.uncertainty, 10);
        }
      }),
      { seed: 20261125 },
    );
  });

  // Stephenson, Coelho and Jolliffe 2008, Weather and Forecasting 23:752.
  test('with the part within groups it adds up whatever is said', () => {
    const forecast = fc.record({ p: fc.double({ min: 0, max: 1, noNaN: true }), y: fc.boolean() });
    fc.assert(
      fc.property(fc.array(forecast, { minLength: 1, maxLength: 60 }), (forecasts) => {
        const parts = murphy(forecasts);
        expect(parts.brier).toBeCloseTo(added(parts), 10);
      }),
      { seed: 20261125 },
    );
  });

  test('odds that never repeat are not taken for wrong ones', () => {
    // Right on average within each tenth, and no value twice.
    const forecasts = Array.from({ length: 1000 }, (_, i) => {
      const p = (i + 0.5) / 1000;
      return { p, y: (i * 7) % 100 < 100 * p };
    });
    expect(murphy(forecasts).reliability).toBeLessThan(0.002);
    expect(murphy(forecasts).calibration).toBeLessThan(0.03);
    expect(murphyByValue(forecasts).reliability).toBeCloseTo(brier(forecasts), 12);
  });

  test('there is no skill to tell of where everything came out alike', () => {
    expect(murphy(said(0.7, 5, 5)).skill).toBeNull();
  });
});

describe('bins', () => {
  // 437 girls of 980, uniform prior: Gelman et al., Bayesian Data Analysis, section 2.4; exact Beta(438, 544).
  test('437 of 980 came true with .4151 to .4772, and not the .415 to .476 of an often quoted simulation', () => {
    const [bin] = bins(said(0.485, 437, 980));
    expect(bin?.low).toBeCloseTo(0.41506549, 8);
    expect(bin?.high).toBeCloseTo(0.47719977, 8);
    expect(bin?.high.toFixed(3)).toBe('0.477');
    // .485, the share of girls in all births, lies above it.
    expect(bin?.forecast).toBeGreaterThan(bin?.high ?? 1);
  });

  test('hold every forecast once, each between its ends, with intervals that hold the share', () => {
    const forecast = fc.record({
      p: fc.oneof(fc.double({ min: 0, max: 1, noNaN: true }), fc.constantFrom(0, 0.1, 0.3, 0.6, 0.7, 1)),
      y: fc.boolean(),
    });
    fc.assert(
      fc.property(fc.array(forecast, { maxLength: 60 }), (forecasts) => {
        const all = bins(forecasts);
        expect(all.reduce((sum, { n }) => sum + n, 0)).toBe(forecasts.length);
        for (const { from, to, forecast: mean, share, low, high } of all) {
          expect(mean).toBeGreaterThanOrEqual(from - 1e-12);
          expect(mean).toBeLessThanOrEqual(to + 1e-12);
          expect(low).toBeLessThanOrEqual(share);
          expect(high).toBeGreaterThanOrEqual(share);
        }
      }),
      { seed: 20261125 },
    );
  });

  test('begin at their own edge: .3 is the first of the fourth, and 1 belongs to the last', () => {
    expect(bins([...said(0.3, 0, 1), ...said(1, 1, 1)]).map(({ from, to }) => [from, to])).toEqual([
      [0.3, 0.4],
      [0.9, 1],
    ]);
  });
});

describe('beliefs', () => {
  test('entropy of .35 .25 .20 .15 .05 is 2.1211275 bit (Shannon’s formula)', () => {
    const belief = Object.fromEntries([0.35, 0.25, 0.2, 0.15, 0.05].map((p, i) => [`f${i}`, p]));
    expect(entropy(belief) / Math.LN2).toBeCloseTo(2.1211275, 7);
    expect(entropy({ a: 1 })).toBe(0);
  });

  test('what was sure and right costs nothing, and honest doubt less than sure and wrong', () => {
    expect(logScore({ belief: pair(1), truth: 'a' })).toBeCloseTo(0, 12);
    expect(brierMany({ belief: pair(1), truth: 'a' })).toBe(0);
    expect(brierMany({ belief: pair(0), truth: 'a' })).toBe(2);
    expect(logScore({ belief: pair(0.5), truth: 'a' })).toBeCloseTo(Math.LN2, 12);
    expect(logScore({ belief: pair(0), truth: 'a' })).toBeGreaterThan(20);
  });

  test('a fault that nobody thought of was given nothing, whatever it is called', () => {
    for (const truth of ['c', 'constructor', 'to-string']) {
      expect(brierMany({ belief: pair(1), truth })).toBe(2);
      expect(logScore({ belief: pair(1), truth })).toBeGreaterThan(20);
    }
  });

  test('telling the truth is best on average: both scores are proper', () => {
    const share = fc.double({ min: 0.02, max: 0.98, noNaN: true });
    const expected = (truth: number, told: number, score: typeof logScore): number =>
      truth * score({ belief: pair(told), truth: 'a' }) +
      (1 - truth) * score({ belief: pair(told), truth: 'b' });
    fc.assert(
      fc.property(share, share, (truth, told) => {
        for (const score of [logScore, brierMany])
          expect(expected(truth, told, score)).toBeGreaterThanOrEqual(expected(truth, truth, score) - 1e-12);
      }),
      { seed: 20261125 },
    );
  });

  test('their Brier score comes apart name by name, and of two names each gives the same', () => {
    const belief = fc.array(fc.double({ min: 0.01, max: 1, noNaN: true }), { minLength: 3, maxLength: 3 });
    const one = fc.tuple(belief, fc.constantFrom('a', 'b', 'c')).map(([[a, b, c], truth]) => {
      const sum = (a as number) + (b as number) + (c as number);
      return {
        belief: { a: (a as number) / sum, b: (b as number) / sum, c: (c as number) / sum },
        truth,
      };
    });
    fc.assert(
      fc.property(fc.array(one, { minLength: 1, maxLength: 40 }), (forecasts) => {
        const parts = murphyMany(forecasts);
        const whole = forecasts.reduce((sum, next) => sum + brierMany(next), 0) / forecasts.length;
        expect(parts.brier).toBeCloseTo(whole, 10);
        expect(added(parts)).toBeCloseTo(whole, 10);
      }),
      { seed: 20261125 },
    );
    const forecasts = [0.1, 0.3, 0.35, 0.8].map((p, i) => ({ belief: pair(p), truth: i < 2 ? 'b' : 'a' }));
    const a = murphy(forecasts.map(({ belief, truth }) => ({ p: belief.a, y: truth === 'a' })));
    expect(murphyMany(forecasts).brier).toBeCloseTo(2 * a.brier, 12);
    expect(murphyMany(forecasts).uncertainty).toBeCloseTo(2 * a.uncertainty, 12);
  });

  test('are ranked by chance, and by letters where the chance is the same', () => {
    expect(ranked({ belief: { b: 0.3, c: 0.4, a: 0.3 } }).map(([name]) => name)).toEqual(['c', 'a', 'b']);
  });
});
