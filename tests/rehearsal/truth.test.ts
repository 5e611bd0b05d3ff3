import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import cephes from 'cephes';
import { describe, expect, test } from 'vitest';
import { exampleCommunity, parseCommunity } from '../../src/config.ts';
import type { Settings } from '../../src/core/settings.ts';
import { tablesOf } from '../../src/core/step.ts';
import { bandOf, density, type Tables, tabulate } from '../../src/core/tables.ts';
import { parseFlow } from '../../src/flows.ts';
import { chancePolicy, sheetPolicy } from '../../src/rehearsal/policies.ts';
import { random } from '../../src/rehearsal/random.ts';
import { runCase } from '../../src/rehearsal/run.ts';
import { drawTruth, type Truth } from '../../src/rehearsal/truth.ts';
import { tinyFlow } from '../core/tiny-flow.ts';

await cephes.compiled;

const flow = tinyFlow({
  faults: { lamp: 5, fuse: 3, lead: 2 },
  complaints: {
    dark: { lamp: 0.6, fuse: 0.9, lead: 0.5 },
    dim: { lamp: 0.3, fuse: 0.02, lead: 0.2 },
  },
  checks: {
    look: { black: { lamp: 0.7, otherwise: 0.1 }, grey: { lamp: 0.2, otherwise: 0.2 }, clear: 'rest' },
    fit: { loose: { lead: 0.6, otherwise: 0.05 }, firm: 'rest' },
  },
  readings: {
    ohms: {
      unit: 'ohm',
      min: 0,
      max: 100,
      outliers: 0.05,
      expect: { lamp: { at: 40, within: 10 }, fuse: { from: 60, to: 100 }, lead: { at: 5, within: 2 } },
      bands: [
        { id: 'low', label: 'low', below: 20 },
        { id: 'middle', label: 'middle', below: 50 },
        { id: 'high', label: 'high' },
      ],
    },
  },
  remedies: { mend: { lamp: 0.9, fuse: 0.3 } },
});
const tables = tabulate(flow, { floor: 0.002, mainsVolts: 230 });
const column = (check: string, fault: number): number[] =>
  (tables.checks.get(check)?.rows ?? []).map((row) => row[fault] as number);

/** Counts of 0, 1, 2 … */
function tally(values: readonly number[], size: number): number[] {
  const counts = new Array<number>(size).fill(0);
  for (const value of values) counts[value] = (counts[value] as number) + 1;
  return counts;
}

/** Chance of counts at least so far from the model's (Pearson's chi-square; tail by cephes). Seeds are fixed. */
function agreement(counts: readonly number[], model: ArrayLike<number>): number {
  const n = counts.reduce((a, b) => a + b, 0);
  // The test is good where at least five are expected everywhere; else the numbers of this file are badly chosen.
  for (let i = 0; i < model.length; i++) expect(n * (model[i] as number)).toBeGreaterThan(5);
  const distance = counts.reduce(
    (sum, count, i) => sum + (count - n * (model[i] as number)) ** 2 / (n * (model[i] as number)),
    0,
  );
  return cephes.chdtrc(counts.length - 1, distance);
}
/** A fit worse than this would come once in a thousand fair draws. */
const rare = 0.001;

const many = (count: number, seed: number, blur = 0, trust = 1, of: Tables = tables): Truth[] =>
  Array.from({ length: count }, (_, index) => drawTruth(of, seed, index, blur, trust));
const mean = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0) / values.length;
const variance = (values: readonly number[]): number => {
  const middle = mean(values);
  return mean(values.map((value) => (value - middle) ** 2)) * (values.length / (values.length - 1));
};

describe('chance from a seed', () => {
  /** Draws laid on their own distribution function are even in [0, 1): ten bins of it. */
  const even = (levels: readonly number[]): number =>
    agreement(
      tally(
        levels.map((level) => Math.min(9, Math.floor(10 * level))),
        10,
      ),
      new Array<number>(10).fill(0.1),
    );
  const draws = <V>(make: () => V): V[] => Array.from({ length: 20_000 }, make);

  test('even and normal draws', () => {
    const chance = random('even and normal');
    expect(even(draws(() => chance.next()))).toBeGreaterThan(rare);
    expect(even(draws(() => cephes.ndtr(chance.normal())))).toBeGreaterThan(rare);
  });

  test('neighbouring streams have nothing in common', () => {
    expect(even(Array.from({ length: 20_000 }, (_, i) => random(1, i, 'fault').next()))).toBeGreaterThan(
      rare,
    );
    const pairs = Array.from({ length: 10_000 }, (_, i) => random(1, i).next() + random(1, i + 1).next());
    // The sum of two even draws has the triangular distribution function.
    expect(even(pairs.map((x) => (x < 1 ? x ** 2 / 2 : 1 - (2 - x) ** 2 / 2)))).toBeGreaterThan(rare);
  });

  test.each([0.05, 0.5, 1, 2.5, 15])('gamma draws of shape %d', (shape) => {
    const chance = random('gamma', shape);
    expect(even(draws(() => cephes.igam(shape, chance.gamma(shape))))).toBeGreaterThan(rare);
  });
});

describe('without blur the draws follow the model', () => {
  const drawn = many(12_000, 1);
  const withFault = (fault: number): Truth[] => drawn.filter((truth) => truth.fault === fault);

  test('faults by their weights', () => {
    const counts = tally(
      drawn.map((truth) => truth.fault),
      3,
    );
    expect(agreement(counts, tables.prior)).toBeGreaterThan(rare);
    // And the test would notice a wrong model: two of a hundred more of the first.
    expect(agreement(counts, [0.52, 0.29, 0.19])).toBeLessThan(rare);
  });

  test.each([0, 1, 2])('with fault %d: complaints, outcomes and cures', (fault) => {
    const these = withFault(fault);
    const stated = [...tables.complaints.values()].map((row) => row[fault] as number);
    const ids: (string | null)[] = [...tables.complaints.keys(), null];
    const complaints = tally(
      these.map((truth) => ids.indexOf(truth.complaint)),
      ids.length,
    );
    expect(agreement(complaints, [...stated, 1 - stated.reduce((a, b) => a + b, 0)])).toBeGreaterThan(rare);

    for (const check of ['look', 'fit']) {
      const model = column(check, fault);
      const counts = tally(
        these.map((truth) => truth.outcome(check)),
        model.length,
      );
      expect(agreement(counts, model), check).toBeGreaterThan(rare);
    }

    const cure = tables.cures.get('mend')?.[fault] as number;
    const cured = these.filter((truth) => truth.cures('mend', 0)).length;
    if (cure === 0) expect(cured).toBe(0);
    else expect(agreement([cured, these.length - cured], [cure, 1 - cure])).toBeGreaterThan(rare);
  });

  test('two checks of one appliance are independent given its fault', () => {
    const these = withFault(0);
    const [look, fitting] = [column('look', 0), column('fit', 0)];
    const counts = tally(
      these.map((truth) => truth.outcome('look') * 2 + truth.outcome('fit')),
      6,
    );
    expect(
      agreement(
        counts,
        look.flatMap((p) => fitting.map((q) => p * q)),
      ),
    ).toBeGreaterThan(rare);
  });

  test('a remedy done again has its chance again', () => {
    const these = withFault(0);
    const counts = tally(
      these.map((truth) => Number(truth.cures('mend', 0)) * 2 + Number(truth.cures('mend', 1))),
      4,
    );
    expect(agreement(counts, [0.01, 0.09, 0.09, 0.81])).toBeGreaterThan(rare);
  });

  test.each([0.9, 0.5, 0])('somebody right %d of the time guesses evenly otherwise', (trust) => {
    const seen = tally(
      many(4000, 3).map((truth) => truth.reported('look', 1, 3, trust, 0)),
      3,
    );
    const guess = (1 - trust) / 3;
    expect(agreement(seen, [guess, trust + guess, guess])).toBeGreaterThan(rare);
    // The complaint is told with the same trust; "something else" is a guess like the others.
    const ids: (string | null)[] = [...tables.complaints.keys(), null];
    const told = many(6000, 4, 0, trust).filter((truth) => truth.fault === 0);
    const stated = [...tables.complaints.values()].map((row) => row[0] as number);
    const model = [...stated, 1 - stated.reduce((a, b) => a + b, 0)].map((p) => trust * p + (1 - trust) / 3);
    const complaints = tally(
      told.map((truth) => ids.indexOf(truth.complaint)),
      3,
    );
    expect(agreement(complaints, model)).toBeGreaterThan(rare);
  });

  test('somebody always right reports what is there', () => {
    for (const truth of many(200, 5)) {
      expect(truth.reported('look', truth.outcome('look'), 3, 1, 0)).toBe(truth.outcome('look'));
    }
  });

  test('a reading lies in its band and is spread by the density there', () => {
    const reading = tables.checks.get('ohms')?.reading;
    if (!reading) throw new Error('no reading');
    for (const truth of drawn.slice(0, 500)) {
      for (const band of [0, 1, 2]) expect(bandOf(reading, truth.value('ohms', band))).toBe(band);
    }
    // The middle band of a lamp, 20 to 50, in six parts of 5; model by the midpoint rule over 1000 points each.
    const values = withFault(0).map((truth) => truth.value('ohms', 1));
    const weights = Array.from({ length: 6 }, (_, part) =>
      mean(
        Array.from({ length: 1000 }, (_point, i) => density(reading, 0, 20 + 5 * (part + (i + 0.5) / 1000))),
      ),
    );
    const total = weights.reduce((a, b) => a + b, 0);
    const counts = tally(
      values.map((value) => Math.floor((value - 20) / 5)),
      6,
    );
    expect(
      agreement(
        counts,
        weights.map((w) => w / total),
      ),
    ).toBeGreaterThan(rare);
  });

  test('a reading has the three digits of a meter', () => {
    for (const truth of drawn.slice(0, 300)) {
      const value = truth.value('ohms', 1);
      if (value > 20.01 && value < 49.99) expect(value).toBe(Number(value.toPrecision(3)));
    }
  });
});

describe('with blur every seed has a copy of the model of its own', () => {
  // One fault that always comes, so that every case of a seed speaks of the same column.
  const model = [0.6, 0.3, 0.1] as const;
  const sureFault = tabulate(
    tinyFlow({
      faults: { always: 1e12, never: 1e-12 },
      checks: { look: { a: { otherwise: 0.6 }, b: { otherwise: 0.3 }, c: { otherwise: 0.1 } } },
      remedies: { mend: { otherwise: 0.7 } },
    }),
    { floor: 0, mainsVolts: 230 },
  );
  const seeds = 4000;
  const cases = 40;
  const shares = (blur: number, of: (truth: Truth) => boolean): number[] =>
    Array.from({ length: seeds }, (_, seed) =>
      mean(many(cases, seed, blur, 1, sureFault).map((truth) => Number(of(truth)))),
    );

  // A component of a Dirichlet with strength s around p has mean p and variance p (1 - p) / (s + 1); a share of n cases
  // adds the mean of q (1 - q) / n over its values q, which is p (1 - p) s / (s + 1) / n. Formulas from memory.
  const expected = (p: number, blur: number): number => {
    const strength = 1 / blur ** 2;
    return (p * (1 - p) * (1 + strength / cases)) / (strength + 1);
  };

  test.each([
    [0.2, 0],
    [0.2, 2],
    [0.5, 1],
  ] as const)(
    'blur %d: outcome %d has the mean and the variance of a Dirichlet of strength 1/b²',
    (blur, outcome) => {
      const p = model[outcome];
      const seen = shares(blur, (truth) => truth.outcome('look') === outcome);
      const spread = expected(p, blur);
      // Four standard errors of a mean, and of a variance (excess kurtosis up to 1.3).
      expect(Math.abs(mean(seen) - p)).toBeLessThan(4 * Math.sqrt(spread / seeds));
      expect(Math.abs(variance(seen) / spread - 1)).toBeLessThan(4 * Math.sqrt(3.3 / seeds));
    },
  );

  test('a cure is blurred in the same way', () => {
    const seen = shares(0.2, (truth) => truth.cures('mend', 0));
    expect(Math.abs(mean(seen) - 0.7)).toBeLessThan(4 * Math.sqrt(expected(0.7, 0.2) / seeds));
    expect(Math.abs(variance(seen) / expected(0.7, 0.2) - 1)).toBeLessThan(4 * Math.sqrt(3.3 / seeds));
  });

  test('without blur the same shares vary by chance alone', () => {
    const seen = shares(0, (truth) => truth.outcome('look') === 0);
    expect(Math.abs(variance(seen) / ((0.6 * 0.4) / cases) - 1)).toBeLessThan(4 * Math.sqrt(2 / seeds));
  });

  test('weights are multiplied by exp(b N(0, 1))', () => {
    // The log odds of two equal faults are then normal, mean 0 and variance 2 b²; counting n cases adds about 4 / n.
    const even = tabulate(tinyFlow({ faults: { one: 1, other: 1 } }), { floor: 0.002, mainsVolts: 230 });
    const blur = 0.4;
    const [copies, drawn] = [400, 400];
    const odds = Array.from({ length: copies }, (_, seed) => {
      const first = many(drawn, seed, blur, 1, even).filter((truth) => truth.fault === 0).length;
      return Math.log(first / (drawn - first));
    });
    const spread = 2 * blur ** 2 + 4 / drawn;
    expect(Math.abs(mean(odds))).toBeLessThan(4 * Math.sqrt(spread / copies));
    expect(Math.abs(variance(odds) / spread - 1)).toBeLessThan(4 * Math.sqrt(2 / copies));
  });

  test('two cases of one seed share the copy: what one shows tells of the other', () => {
    // P(both show a) is p² for separate copies, p² + p (1 - p) / (s + 1) for one: .36 and .408 at b = .5.
    const both = Array.from({ length: 6000 }, (_, seed) =>
      Number(many(2, seed, 0.5, 1, sureFault).every((truth) => truth.outcome('look') === 0)),
    );
    expect(Math.abs(mean(both) - 0.408)).toBeLessThan(4 * Math.sqrt((0.408 * 0.592) / 6000));
    expect(mean(both) - 0.36).toBeGreaterThan(4 * Math.sqrt((0.36 * 0.64) / 6000));
  });
});

describe('the same seed and number give the same appliance', () => {
  const everything = (truth: Truth, checks: readonly string[]): unknown => {
    const shown = Object.fromEntries(checks.map((check) => [check, truth.outcome(check)]));
    return {
      fault: truth.fault,
      complaint: truth.complaint,
      look: shown.look,
      fit: shown.fit,
      ohms: shown.ohms,
      value: truth.value('ohms', 1),
      reported: [0, 1, 2].map((time) => truth.reported('look', 0, 3, 0.5, time)),
      cures: [0, 1, 2].map((time) => truth.cures('mend', time)),
    };
  };

  test.each([0, 0.2])('twice over, with blur %d', (blur) => {
    for (let index = 0; index < 100; index++) {
      const [one, other] = [drawTruth(tables, 9, index, blur, 0.9), drawTruth(tables, 9, index, blur, 0.9)];
      expect(everything(one, ['look', 'fit', 'ohms'])).toEqual(everything(other, ['look', 'fit', 'ohms']));
    }
  });

  test('in whatever order it is looked at', () => {
    for (let index = 0; index < 100; index++) {
      const [one, other] = [drawTruth(tables, 9, index, 0.2, 0.9), drawTruth(tables, 9, index, 0.2, 0.9)];
      // The second is tried and asked first, and looked at the other way round.
      other.cures('mend', 2);
      other.reported('look', 2, 3, 0.5, 1);
      other.value('ohms', 1);
      expect(everything(one, ['look', 'fit', 'ohms'])).toEqual(everything(other, ['ohms', 'fit', 'look']));
    }
  });

  test('a check shows the same each time it is looked at', () => {
    for (const truth of many(100, 9, 0.2)) {
      expect([truth.outcome('look'), truth.outcome('look')]).toEqual(Array(2).fill(truth.outcome('look')));
    }
  });

  test('another number, another seed or another blur give others', () => {
    const of = (seed: number, blur: number, from = 0): unknown[] =>
      Array.from({ length: 50 }, (_, i) =>
        everything(drawTruth(tables, seed, from + i, blur, 0.9), ['look', 'fit', 'ohms']),
      );
    expect(of(9, 0)).not.toEqual(of(10, 0));
    expect(of(9, 0)).not.toEqual(of(9, 0, 50));
    expect(of(9, 0)).not.toEqual(of(9, 0.9));
  });

  test('the same truth stands before every policy', () => {
    const lamp = parseFlow(
      readFileSync(join(import.meta.dirname, '../fixtures/desk-lamp.yaml'), 'utf8'),
      'desk-lamp',
    );
    const town = parseCommunity(readFileSync(exampleCommunity, 'utf8'), 'community');
    if ('problems' in lamp || 'problems' in town) throw new Error('the fixtures cannot be read');
    const settings: Settings = { community: town.community, budget: 2000 };
    const lampTables = tablesOf(lamp.flow, settings);

    /** What a whole conversation got to see of the appliance. */
    const seen = (index: number, decide: Settings['decide']): Map<string, unknown> => {
      const truth = drawTruth(lampTables, 11, index, 0.2, 0.95);
      const met = new Map<string, unknown>([
        ['fault', truth.fault],
        ['complaint', truth.complaint],
      ]);
      const keep = <V>(name: string, value: V): V => {
        met.set(name, value);
        return value;
      };
      runCase(
        lamp.flow,
        { ...settings, ...(decide ? { decide } : {}) },
        {
          ...truth,
          outcome: (check) => keep(`outcome ${check}`, truth.outcome(check)),
          value: (check, band) => keep(`value ${check} ${band}`, truth.value(check, band)),
          cures: (remedy, time) => keep(`cures ${remedy} ${time}`, truth.cures(remedy, time)),
          reported: (check, outcome, outcomes, by, time) =>
            keep(`reported ${check} ${time}`, truth.reported(check, outcome, outcomes, by, time)),
        },
        'trained',
      );
      return met;
    };

    let shared = 0;
    for (let index = 0; index < 40; index++) {
      const met = [undefined, sheetPolicy(lamp.flow, lampTables), chancePolicy(11, index)].map((decide) =>
        seen(index, decide),
      );
      const [plan, ...others] = met as [Map<string, unknown>, ...Map<string, unknown>[]];
      for (const other of others) {
        for (const [name, value] of other) {
          if (!plan.has(name)) continue;
          expect(plan.get(name), name).toEqual(value);
          if (name !== 'fault' && name !== 'complaint') shared++;
        }
      }
    }
    // Enough was looked at by both to mean something.
    expect(shared).toBeGreaterThan(50);
  });
});
