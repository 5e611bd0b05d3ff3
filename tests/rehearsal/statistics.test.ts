import { describe, expect, test } from 'vitest';
import { random } from '../../src/rehearsal/random.ts';
import { estimate } from '../../src/rehearsal/statistics.ts';

describe('a mean with its interval', () => {
  test('five values by hand', () => {
    // 1 2 3 4 5: mean 3, squares 4 1 0 1 4, variance 10 / 4 = 2.5, error sqrt(2.5 / 5) = .7071068;
    // 1.959964 (97.5 % point of the normal distribution, from memory) times .7071068 = 1.3859038.
    const { mean, low, high } = estimate([1, 2, 3, 4, 5]);
    expect(mean).toBe(3);
    expect(low).toBeCloseTo(3 - 1.3859038, 6);
    expect(high).toBeCloseTo(3 + 1.3859038, 6);
  });

  test('equal values leave no doubt, and a common shift moves all three', () => {
    expect(estimate([7, 7, 7])).toEqual({ mean: 7, low: 7, high: 7 });
    const [here, there] = [estimate([1, 4, 9]), estimate([101, 104, 109])];
    expect(there.mean - here.mean).toBeCloseTo(100, 10);
    expect(there.low - here.low).toBeCloseTo(100, 10);
    expect(there.high - here.high).toBeCloseTo(100, 10);
  });

  test('four times as many values halve the interval', () => {
    const once = Array.from({ length: 100 }, (_, i) => i % 10);
    const four = [...once, ...once, ...once, ...once];
    const width = (values: readonly number[]): number => estimate(values).high - estimate(values).low;
    // The n - 1 of the variance keeps it a hair under two.
    expect(width(once) / width(four)).toBeCloseTo(2 * Math.sqrt(399 / 396), 10);
  });

  test('of 2000 intervals about 95 % hold the true mean', () => {
    const rounds = 2000;
    let held = 0;
    for (let round = 0; round < rounds; round++) {
      const draw = random(95, round);
      const { low, high } = estimate(Array.from({ length: 60 }, () => 5 + 2 * draw.normal()));
      if (low <= 5 && 5 <= high) held++;
    }
    // 94.52 % by Student's t with 59 degrees of freedom (derived); four standard errors of a share of 2000 are 2 %.
    expect(held / rounds).toBeGreaterThan(0.925);
    expect(held / rounds).toBeLessThan(0.965);
  });

  test('no value and a single one are a mean without an interval', () => {
    expect(estimate([])).toEqual({ mean: 0, low: 0, high: 0 });
    expect(estimate([4])).toEqual({ mean: 4, low: 4, high: 4 });
  });
});
