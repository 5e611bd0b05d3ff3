import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { tablesOf } from '../../src/core/step.ts';
import {
  addCase,
  casesBehind,
  faded,
  merged,
  newTally,
  removeCase,
  type Tally,
  weighted,
} from '../../src/learning/counts.ts';
import type { SettledCase } from '../../src/outcomes/settled.ts';
import { radio, settings } from '../core/example-flow.ts';
import { day0, simulated } from './communities.ts';

const tables = tablesOf(radio, settings);
const day = 86_400_000;
const cases = Array.from({ length: 40 }, (_, i): SettledCase => {
  const one = simulated(tables, { seed: 7, blur: 0.3, trust: 0.95 }, i);
  // From before the fixed day to long after it.
  return { ...one, settled: Date.UTC(2015, 0, 1) + i * 190 * day, confirmed: 'person', fault: one.fault };
});
const first: SettledCase = {
  ...(cases[0] as SettledCase),
  settled: day0,
  complaint: 'hums',
  fault: 'big-can-dry',
  details: { kind: 'no such kind' },
  seen: [
    { check: 'dial-lamp', outcome: 'yes', value: null, level: 'new' },
    { check: 'rail', outcome: null, value: 0.2, level: 'trained' },
  ],
  tried: [
    { remedy: 'settings', worked: false },
    { remedy: 'new-can', worked: true },
  ],
};

/** Everything a tally holds, whatever the order in which it came. */
const held = ({ flows }: Tally): unknown =>
  [...flows]
    .map(([name, flow]) => ({
      name,
      cells: [...flow.cells].toSorted(([a], [b]) => (a < b ? -1 : 1)),
      cases: [...flow.cases].toSorted(([a], [b]) => (a < b ? -1 : 1)),
    }))
    .toSorted((a, b) => (a.name < b.name ? -1 : 1));

describe('what counts', () => {
  test('a confirmed case counts its fault, its cures and what was seen, a reading by its band', () => {
    const tally = newTally(null);
    expect(addCase(tally, first, tables)).toBe(true);
    const bands = radio.checks.find(({ id }) => id === 'rail')?.reading?.bands ?? [];
    expect(Object.fromEntries(weighted(tally, radio.flow, day0).cells)).toEqual({
      'faults/hums/big-can-dry': 1,
      'cures/settings/big-can-dry/not': 1,
      'cures/new-can/big-can-dry/worked': 1,
      'seen/dial-lamp/big-can-dry/new/yes': 1,
      [`seen/rail/big-can-dry/trained/${bands[0]?.id}`]: 1,
    });
  });

  test.each([
    ['nobody confirmed', { confirmed: null }],
    ['a demonstration', { demonstration: true }],
    ['with a fault that the flow no longer has', { fault: 'moths' }],
    ['of another flow', { flow: 'kettle' }],
  ] as const)('a case %s does not count', (_, change) => {
    const tally = newTally(null);
    expect(addCase(tally, { ...first, ...change }, tables)).toBe(false);
    expect(tally.flows.size).toBe(0);
  });

  test('each id counts once, as it was last settled; no longer confirmed, it no longer counts', () => {
    const tally = newTally(null);
    addCase(tally, first, tables);
    addCase(tally, first, tables);
    expect(weighted(tally, radio.flow, day0).cells.get('faults/hums/big-can-dry')).toBe(1);
    addCase(tally, { ...first, fault: 'joint' }, tables);
    expect(weighted(tally, radio.flow, day0).cells.get('faults/hums/big-can-dry')).toBeUndefined();
    expect(weighted(tally, radio.flow, day0).cells.get('faults/hums/joint')).toBe(1);
    addCase(tally, { ...first, confirmed: null }, tables);
    expect(tally.flows.size).toBe(0);
  });

  test('of remedies that were tested together, none is said to have worked', () => {
    const tally = newTally(null);
    const together = ['drain', 'new-can'].map((remedy) => ({ remedy, worked: true }));
    addCase(tally, { ...first, tried: together }, tables);
    expect(
      [...weighted(tally, radio.flow, day0).cells.keys()].filter((one) => one.startsWith('cures')),
    ).toEqual([]);
  });

  test('the cases behind a number are named', () => {
    const tally = newTally(null);
    addCase(tally, first, tables);
    addCase(tally, { ...first, id: 'another', fault: 'joint' }, tables);
    expect(casesBehind(tally, radio.flow)('faults/hums/')).toEqual([first.id, 'another'].toSorted());
    expect(casesBehind(tally, radio.flow)('faults/hums/joint')).toEqual(['another']);
  });
});

describe('age', () => {
  test('a case counts half after each half-life, before the fixed day and after it', () => {
    for (const settled of [Date.UTC(2012, 4, 3), Date.UTC(2026, 0, 1)]) {
      const tally = newTally(400);
      addCase(tally, { ...first, settled }, tables);
      for (const [ages, weight] of [
        [0, 1],
        [1, 0.5],
        [2, 0.25],
        [0.5, Math.SQRT1_2],
      ] as const) {
        const cells = weighted(tally, radio.flow, settled + ages * 400 * day).cells;
        expect(Math.abs((cells.get('faults/hums/big-can-dry') as number) - weight)).toBeLessThan(1e-9);
        expect(faded(settled, settled + ages * 400 * day, 400)).toBeCloseTo(weight, 12);
      }
    }
  });

  test('a hundred years of monthly half-lives are still numbers', () => {
    const tally = newTally(30);
    addCase(tally, { ...first, settled: Date.UTC(2120, 0, 1) }, tables);
    const cells = weighted(tally, radio.flow, Date.UTC(2120, 0, 31)).cells;
    expect(cells.get('faults/hums/big-can-dry')).toBeCloseTo(0.5, 9);
  });

  test.each([0, -1, 0.5, Number.NaN, Infinity])('a half-life of %d days is refused', (halfLife) => {
    expect(() => newTally(halfLife)).toThrow(RangeError);
  });
});

describe('sums', () => {
  const acts = fc.array(fc.record({ add: fc.boolean(), one: fc.nat({ max: cases.length - 1 }) }), {
    maxLength: 120,
  });

  test('adding and removing in any order gives exactly the numbers of the cases that are left', () => {
    fc.assert(
      fc.property(
        acts,
        fc.constantFrom(null, 30, 365, 1461),
        fc.infiniteStream(fc.nat()),
        (list, halfLife, chance) => {
          const tally = newTally(halfLife);
          const left = new Set<number>();
          for (const { add, one } of list) {
            if (add) addCase(tally, cases[one] as SettledCase, tables);
            else removeCase(tally, cases[one] as SettledCase);
            if (add) left.add(one);
            else left.delete(one);
          }
          const shuffled = [...left]
            .map((one) => ({ one, at: chance.next().value as number }))
            .toSorted((a, b) => a.at - b.at);
          const fresh = newTally(halfLife);
          for (const { one } of shuffled) addCase(fresh, cases[one] as SettledCase, tables);
          expect(held(tally)).toEqual(held(fresh));
          const numbers = (of: Tally): unknown =>
            [...weighted(of, radio.flow, Date.UTC(2036, 0, 1)).cells].toSorted(([a], [b]) =>
              a < b ? -1 : 1,
            );
          expect(numbers(tally)).toStrictEqual(numbers(fresh));
        },
      ),
      { numRuns: 200 },
    );
  });

  test('taking everything back leaves nothing', () => {
    const tally = newTally(365);
    for (const one of cases) addCase(tally, one, tables);
    expect(tally.flows.get(radio.flow)?.cases.size).toBeGreaterThan(30);
    for (const one of cases.toReversed()) removeCase(tally, one);
    expect(held(tally)).toEqual([]);
    expect(removeCase(tally, first)).toBe(false);
  });

  test('counts of two communities add up', () => {
    const one = { cases: 2, cells: new Map([['faults/hums/joint', 2]]) };
    const two = {
      cases: 3,
      cells: new Map([
        ['faults/hums/joint', 1.5],
        ['faults/dead/joint', 1],
      ]),
    };
    expect(merged([one, two])).toEqual({
      cases: 5,
      cells: new Map([
        ['faults/hums/joint', 3.5],
        ['faults/dead/joint', 1],
      ]),
    });
  });
});
