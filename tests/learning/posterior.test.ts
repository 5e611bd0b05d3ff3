import cephes from 'cephes';
import { describe, expect, test } from 'vitest';
import { tablesOf } from '../../src/core/step.ts';
import { detailCell, faultCell, seenCell } from '../../src/learning/cells.ts';
import {
  betaFigure,
  complaintShares,
  cureRate,
  dirichletFigures,
  faultsGiven,
  faultsOfChoice,
  type LearnSettings,
  outcomeShares,
} from '../../src/learning/posterior.ts';
import { settings } from '../core/example-flow.ts';
import { tinyFlow } from '../core/tiny-flow.ts';
import { strengths } from './usual-strengths.ts';

await cephes.compiled;

const sure = { new: 1, handy: 1, trained: 1 };
const learning = (reliability = sure, strength = {}): LearnSettings => ({
  strength: { ...strengths, ...strength },
  reliability,
});
const counted = (cells: Readonly<Record<string, number>>) => ({
  cases: 1,
  cells: new Map(Object.entries(cells)),
});
const nothing = counted({});

describe('published posteriors', () => {
  // Mean and 95 % equal-tailed interval.
  test.each([
    // 437 girls of 980, uniform prior: Gelman et al., Bayesian Data Analysis, section 2.4; seen in stored material.
    [438, 544, 0.44602851, 0.41506549, 0.47719977],
    // 0 of 10, uniform prior; 10 of 12; two with eight: derived.
    [1, 11, 0.0833333, 0.002299, 0.2849142],
    [11, 3, 0.7857143, 0.5455289, 0.9496189],
    [2, 8, 0.2, 0.028145, 0.4824965],
    // Derived from counts of the open repair data (Open Repair Alliance, CC BY-SA 4.0): flat screens fixed, 386 of 1067; of those
    // with sound but no picture, 8 of 29.
    [387, 682, 0.3620206, 0.333476, 0.3910542],
    [9, 22, 0.2903226, 0.1473452, 0.4588937],
  ])('Beta(%d, %d) has mean %d and lies between %d and %d', (a, b, mean, low, high) => {
    const one = betaFigure(a, b);
    expect(Math.abs(one.mean - mean)).toBeLessThan(6e-8);
    expect(Math.abs(one.low - low)).toBeLessThan(6e-8);
    expect(Math.abs(one.high - high)).toBeLessThan(6e-8);
  });

  test('Dirichlet(2, 2, 1, 1) and counts of 7, 2, 1, 0 have means .5625, .25, .125, .0625 (derived)', () => {
    const alphas = [2 + 7, 2 + 2, 1 + 1, 1];
    const figures = dirichletFigures(alphas);
    expect(figures.map(({ mean }) => mean)).toEqual([0.5625, 0.25, 0.125, 0.0625]);
    // Standard deviation of the first component: .1203167 (derived).
    const { mean } = figures[0] as { mean: number };
    expect(Math.sqrt((mean * (1 - mean)) / (16 + 1))).toBeCloseTo(0.1203167, 7);
    for (const [i, { low, high }] of figures.entries()) {
      const a = alphas[i] as number;
      expect(Math.abs(low - cephes.incbi(a, 16 - a, 0.025))).toBeLessThan(1e-8);
      expect(Math.abs(high - cephes.incbi(a, 16 - a, 0.975))).toBeLessThan(1e-8);
    }
  });
});

describe('the open data as an update', () => {
  // A remedy that the file knows nothing of, Beta(1, 1), and the counts of the open repair data (see above).
  const tables = tablesOf(
    tinyFlow({ faults: { screen: 1, other: 1 }, remedies: { mend: { screen: 0.5 } } }),
    settings,
  );
  const rate = (worked: number, not: number) =>
    cureRate(
      tables,
      counted({ 'cures/mend/screen/worked': worked, 'cures/mend/screen/not': not }),
      { remedy: 'mend', fault: 'screen' },
      learning(sure, { cures: 2 }),
    );

  test('386 of 1067 flat screens give Beta(387, 682)', () => {
    const { low, high, ...one } = rate(386, 1067 - 386) as NonNullable<ReturnType<typeof rate>>;
    expect(one).toEqual({ file: 0.5, mean: 387 / 1069, count: 1067 });
    expect(Math.abs(low - cephes.incbi(387, 682, 0.025))).toBeLessThan(1e-8);
    expect(Math.abs(high - cephes.incbi(387, 682, 0.975))).toBeLessThan(1e-8);
  });

  test('8 of 29 with sound but no picture give Beta(9, 22)', () => {
    expect(rate(8, 21)?.mean).toBeCloseTo(9 / 31, 12);
    expect(rate(8, 21)?.low).toBeCloseTo(0.1473452, 6);
    expect(rate(8, 21)?.high).toBeCloseTo(0.4588937, 6);
  });

  test('what the file says never cures, and nobody has seen cure, has no rate', () => {
    const of = { remedy: 'mend', fault: 'other' };
    expect(cureRate(tables, counted({ 'cures/mend/other/not': 3 }), of, learning())).toBeNull();
    expect(cureRate(tables, counted({ 'cures/mend/other/worked': 3 }), of, learning())?.mean).toBeGreaterThan(
      0,
    );
  });
});

describe('the file’s numbers and the counts', () => {
  const flow = tinyFlow({
    faults: { one: 2, two: 2, three: 1, four: 1 },
    complaints: { broken: { otherwise: 0.5 } },
    details: { make: { alder: { one: 0.5, otherwise: 0.5 }, birch: { one: 0.5, otherwise: 0.5 } } },
    checks: { look: { yes: { one: 0.9, otherwise: 0.2 }, no: 'rest' } },
  });
  const tables = tablesOf(flow, settings);
  const six = learning(sure, { faults: 6 });

  test('faults of a complaint: 2, 2, 1, 1 cases’ worth of file, and 7, 2, 1, 0 cases', () => {
    const seen = { one: 7, two: 2, three: 1 };
    const cells = Object.fromEntries(Object.entries(seen).map(([f, n]) => [faultCell('broken', f), n]));
    const figures = faultsGiven(tables, counted(cells), 'broken', six);
    const means = [0.5625, 0.25, 0.125, 0.0625];
    for (const [f, { mean, count }] of figures.entries()) {
      expect(mean).toBeCloseTo(means[f] as number, 12);
      expect(count).toBe([7, 2, 1, 0][f]);
    }
    expect(figures[0]?.file).toBeCloseTo(1 / 3, 12);
  });

  test('nothing counted changes nothing, anywhere', () => {
    const all = [
      ...faultsGiven(tables, nothing, 'broken', learning()),
      ...complaintShares(tables, nothing, learning()),
      ...outcomeShares(
        tables,
        nothing,
        { check: 'look', fault: 'one' },
        learning(settings.community.reliability),
      ),
      ...faultsOfChoice(
        tables,
        nothing,
        { detail: 'make', choice: 'alder', complaint: 'broken' },
        learning(),
      ),
    ];
    expect(all.length).toBe(4 + 2 + 2 + 4);
    for (const { file, mean, count } of all) {
      expect(mean).toBeCloseTo(file, 12);
      expect(count).toBe(0);
    }
  });

  test('what is confirmed can never be "something else", so its share stays the file’s', () => {
    const with_ = tablesOf(tinyFlow({ faults: { one: 6, two: 3, 'something-else': 1 } }), settings);
    const figures = faultsGiven(with_, counted({ [faultCell('broken', 'one')]: 500 }), 'broken', learning());
    expect(figures[2]?.mean).toBeCloseTo(0.1, 12);
    expect(figures.reduce((sum, { mean }) => sum + mean, 0)).toBeCloseTo(1, 12);
    expect(figures[0]?.mean).toBeGreaterThan(0.75);
    expect(figures[0]?.high).toBeLessThanOrEqual(0.9);
  });

  describe('makes', () => {
    const cells = {
      [faultCell('broken', 'one')]: 100,
      [faultCell('broken', 'two')]: 20,
      [detailCell('make', 'birch', 'broken', 'two')]: 20,
    };
    const of = (choice: string) =>
      faultsOfChoice(tables, counted(cells), { detail: 'make', choice, complaint: 'broken' }, learning());

    test('a make without cases has the community’s numbers', () => {
      const community = faultsGiven(tables, counted(cells), 'broken', learning());
      for (const [f, { mean }] of of('alder').entries())
        expect(mean).toBeCloseTo(community[f]?.mean ?? 0, 12);
    });

    test('twenty cases of a make weigh as much as the community, with the stated strength of twenty', () => {
      // Its own cases are left out of what it is pooled towards: (200/3 + 0) / 300 for "two".
      const rest = strengths.faults / 3 / (strengths.faults + 100);
      expect(of('birch')[1]?.mean).toBeCloseTo((20 * rest + 20) / 40, 12);
    });

    test('more cases of its own pull it further away', () => {
      const many = {
        ...cells,
        [faultCell('broken', 'two')]: 200,
        [detailCell('make', 'birch', 'broken', 'two')]: 200,
      };
      const one = faultsOfChoice(
        tables,
        counted(many),
        { detail: 'make', choice: 'birch', complaint: 'broken' },
        learning(),
      );
      expect(one[1]?.mean).toBeGreaterThan(of('birch')[1]?.mean ?? 1);
      expect(one[1]?.mean).toBeGreaterThan(0.9);
    });
  });

  describe('outcomes', () => {
    const of = { check: 'look', fault: 'one' };
    const said = (level: string, yes: number, no: number) => ({
      [seenCell('look', 'one', level, 'yes')]: yes,
      [seenCell('look', 'one', level, 'no')]: no,
    });

    test('of people who never guess: the plain Dirichlet', () => {
      const [yes] = outcomeShares(tables, counted(said('new', 30, 70)), of, learning(sure, { outcomes: 10 }));
      expect(yes?.mean).toBeCloseTo((10 * 0.9 + 30) / 110, 10);
      expect(Math.abs((yes?.low ?? 0) - cephes.incbi(39, 71, 0.025))).toBeLessThan(1e-8);
    });

    test('of people who guess in one of five: what was there, not what was said', () => {
      // Truly yes in .9: said in .8 × .9 + .2 × .5 = .82.
      const guessing = { new: 0.8, handy: 0.95, trained: 0.98 };
      const [yes] = outcomeShares(tables, counted(said('new', 820_000, 180_000)), of, learning(guessing));
      expect(yes?.mean).toBeCloseTo(0.9, 5);
      expect(yes?.count).toBe(820_000);
    });
  });
});
