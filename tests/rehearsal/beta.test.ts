import cephes from 'cephes';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { betaInterval, betaQuantile } from '../../src/rehearsal/beta.ts';
import { share } from '../../src/rehearsal/statistics.ts';

await cephes.compiled;

const deviation = (a: number, b: number): number => Math.sqrt((a * b) / ((a + b) ** 2 * (a + b + 1)));

describe('published 95 % equal-tailed intervals', () => {
  // Where a count is given, the posterior is Beta(hits + 1, misses + 1).
  test.each([
    // 437 girls of 980: Gelman et al., Bayesian Data Analysis, section 2.4; seen in stored material.
    [438, 544, 0.41506549, 0.47719977],
    // 0 of 10, uniform prior: derived.
    [1, 11, 0.002299, 0.2849142],
    // 0 of 10, Jeffreys' prior: derived.
    [0.5, 10.5, 0.0000478904, 0.2171963],
    // 10 of 12: derived.
    [11, 3, 0.5455289, 0.9496189],
    // Derived.
    [2, 8, 0.028145, 0.4824965],
    // Flat screens fixed, 386 of 1067 in the open repair data: derived from counts seen in stored material.
    [387, 682, 0.333476, 0.3910542],
    // Sound but no picture fixed, 8 of 29 in the open repair data: derived from counts seen in stored material.
    [9, 22, 0.1473452, 0.4588937],
  ])('Beta(%d, %d) lies between %d and %d', (a, b, low, high) => {
    // The printed digits: half of the last one.
    expect(Math.abs(betaQuantile(0.025, a, b) - low)).toBeLessThan(a === 0.5 ? 5e-11 : 6e-8);
    expect(Math.abs(betaQuantile(0.975, a, b) - high)).toBeLessThan(6e-8);
  });

  test('437 girls of 980 give .4151 to .4772, and not the .415 to .476 of an often quoted simulation', () => {
    // Exact ends seen in stored material; that .476 is a simulation's result: from memory.
    const { low, high } = betaInterval(437, 980);
    expect(Math.abs(low - 0.4150655)).toBeLessThan(6e-8);
    expect(Math.abs(high - 0.4771998)).toBeLessThan(6e-8);
    expect(high.toFixed(3)).toBe('0.477');
    expect(high - 0.476).toBeGreaterThan(0.001);
  });

  test('the median and the tail of that posterior are the derived ones', () => {
    expect(Math.abs(betaQuantile(0.5, 438, 544) - 0.4459919)).toBeLessThan(6e-8);
    // P(theta < .485) = .9928260, so the other way round; seven digits of it fix x to 2e-8.
    expect(Math.abs(betaQuantile(0.992826, 438, 544) - 0.485)).toBeLessThan(6e-8);
  });

  test('ten tries without a failure bound the rate below .2589 with 95 %, and the rule of three says .3', () => {
    // Derived: 1 - .05^(1/10). The exact one-sided bound of 0 in n is the 95 % point of Beta(1, n).
    expect(Math.abs(betaQuantile(0.95, 1, 10) - 0.2588656)).toBeLessThan(6e-8);
    for (const n of [10, 30, 100, 1000]) {
      // -ln .05 is 2.9957, and the next term of the bound is 4.49 / n².
      const bound = betaQuantile(0.95, 1, n);
      expect(bound).toBeLessThan(3 / n);
      expect(bound).toBeGreaterThan(3 / n - 0.005 / n - 5 / n ** 2);
    }
  });
});

describe('against other ways to the same number', () => {
  test('where the distribution can be inverted by hand, 12 digits agree', () => {
    for (const p of [1e-6, 0.025, 0.3, 0.5, 0.9, 0.975, 0.999]) {
      for (const n of [0.5, 1, 2, 10, 1000]) {
        // P(X <= x) of Beta(n, 1) is x^n; Beta(1, n) is its mirror image.
        expect(Math.abs(betaQuantile(p, n, 1) / p ** (1 / n) - 1)).toBeLessThan(1e-12);
        expect(Math.abs(betaQuantile(p, 1, n) / -Math.expm1(Math.log1p(-p) / n) - 1)).toBeLessThan(1e-12);
      }
      // Beta(1/2, 1/2) is the arcsine law.
      expect(Math.abs(betaQuantile(p, 0.5, 0.5) / Math.sin((Math.PI * p) / 2) ** 2 - 1)).toBeLessThan(1e-12);
    }
  });

  // Cephes itself is off by up to 1e-8 deviations in this range (measured against 40 digits), hence 1e-7.
  const tolerance = 1e-7;

  test('the cephes library agrees within 1e-7 standard deviations over a grid', () => {
    const sizes = [0.5, 1, 1.5, 2, 5, 11, 50, 438, 1000, 5000];
    const chances = [0.001, 0.005, 0.025, 0.1, 0.5, 0.9, 0.975, 0.995, 0.999];
    const far: unknown[] = [];
    let compared = 0;
    for (const a of sizes) {
      for (const b of sizes) {
        for (const p of chances) {
          const error = Math.abs(betaQuantile(p, a, b) - cephes.incbi(a, b, p));
          compared++;
          if (!(error <= tolerance * deviation(a, b))) far.push({ a, b, p, error });
        }
      }
    }
    expect(far).toEqual([]);
    expect(compared).toBe(900);
  });

  test('the cephes library agrees within 1e-7 standard deviations at random', () => {
    const size = fc.double({ min: -0.7, max: 8, noNaN: true }).map(Math.exp);
    fc.assert(
      fc.property(size, size, fc.double({ min: 0.001, max: 0.999, noNaN: true }), (a, b, p) => {
        const x = betaQuantile(p, a, b);
        expect(Math.abs(x - cephes.incbi(a, b, p))).toBeLessThanOrEqual(tolerance * deviation(a, b));
        // And back again, through the other half of the library.
        expect(Math.abs(cephes.incbet(a, b, x) - p)).toBeLessThan(1e-9);
      }),
      { seed: 20_260_725, numRuns: 2000 },
    );
  });

  test('swapping the two kinds of count mirrors the quantile', () => {
    const size = fc.double({ min: 0.1, max: 2000, noNaN: true });
    fc.assert(
      fc.property(size, size, fc.double({ min: 0.01, max: 0.99, noNaN: true }), (a, b, p) => {
        expect(Math.abs(betaQuantile(p, a, b) - (1 - betaQuantile(1 - p, b, a)))).toBeLessThan(1e-12);
      }),
      { seed: 82, numRuns: 500 },
    );
  });
});

describe('the edges', () => {
  test('the whole distribution lies between 0 and 1', () => {
    expect(betaQuantile(0, 3, 4)).toBe(0);
    expect(betaQuantile(1, 3, 4)).toBe(1);
  });

  test('a quantile too small for a number is about 0 and does not hang', () => {
    expect(betaQuantile(0.001, 0.001, 5)).toBeLessThan(1e-300);
  });

  test('a hundred thousand cases still give an interval', () => {
    const { low, high } = betaInterval(99_990, 100_000);
    // Ten misses in so many are Poisson: 5.49 to 18.39 of them with the uniform prior (gamma, shape 11), by cephes.
    expect(Math.abs((1 - low) * 100_000 - cephes.igami(11, 0.025))).toBeLessThan(0.01);
    expect(Math.abs((1 - high) * 100_000 - cephes.igami(11, 0.975))).toBeLessThan(0.01);
  });

  test.each([
    [-0.1, 1, 1],
    [1.1, 1, 1],
    [Number.NaN, 1, 1],
    [0.5, 0, 1],
    [0.5, 1, -1],
    [0.5, Number.NaN, 1],
    [0.5, 1, Infinity],
  ])('a quantile of p = %d, a = %d, b = %d is refused', (p, a, b) => {
    expect(() => betaQuantile(p, a, b)).toThrow(RangeError);
  });

  test.each([
    [-1, 10, 0.95],
    [11, 10, 0.95],
    [Number.NaN, 10, 0.95],
    [1, 10, 0],
    [1, 10, 1],
  ])('an interval for %d of %d at level %d is refused', (hits, n, level) => {
    expect(() => betaInterval(hits, n, level)).toThrow(RangeError);
  });
});

describe('an interval for a share', () => {
  test('nothing counted leaves everything open', () => {
    expect(betaInterval(0, 0).low).toBeCloseTo(0.025, 14);
    expect(betaInterval(0, 0).high).toBeCloseTo(0.975, 14);
  });

  test('a higher level holds a lower one, and more cases narrow it', () => {
    const [narrow, wide, longer] = [betaInterval(8, 29), betaInterval(8, 29, 0.99), betaInterval(80, 290)];
    expect(wide.low).toBeLessThan(narrow.low);
    expect(wide.high).toBeGreaterThan(narrow.high);
    expect(longer.high - longer.low).toBeLessThan(narrow.high - narrow.low);
  });

  test('it holds the true share in 95 % of the cases that the prior describes', () => {
    // Exact: with a uniform share every number of hits is equally likely, and each interval holds .95 of its posterior.
    const n = 12;
    let held = 0;
    for (let hits = 0; hits <= n; hits++) {
      const { low, high } = betaInterval(hits, n);
      held +=
        (cephes.incbet(hits + 1, n - hits + 1, high) - cephes.incbet(hits + 1, n - hits + 1, low)) / (n + 1);
    }
    expect(held).toBeCloseTo(0.95, 10);
  });

  test('a rehearsal reports that interval, and always with the share itself inside', () => {
    expect(share(8, 29)).toEqual({ mean: 8 / 29, ...betaInterval(8, 29) });
    expect(share(0, 10)).toEqual({ mean: 0, low: 0, high: betaInterval(0, 10).high });
    expect(share(10, 10)).toEqual({ mean: 1, low: betaInterval(10, 10).low, high: 1 });
    expect(share(0, 0)).toEqual({ mean: 0, low: 0, high: 1 });
  });
});
