import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { World } from '../../shared/case.ts';
import { judgeProof, type ProofVerdict } from '../../src/core/proof.ts';
import { dischargedBelow } from '../../src/core/safety.ts';

const points = ['known-source-before', 'reservoir', 'light-output', 'known-source-after'];
const [before, reservoir, light, after] = points as [string, string, string, string];

/** The readings so far, in the order of the points. */
const so = (...values: number[]): World['readings'] =>
  values.map((value, i) => ({ point: points[i] as string, value, at: i }));
const kind = (readings: World['readings'], point: string, value: number): ProofVerdict['kind'] =>
  judgeProof(readings, point, value, points).kind;
const words = (readings: World['readings'], point: string, value: number): string => {
  const verdict = judgeProof(readings, point, value, points);
  return 'words' in verdict ? verdict.words : '';
};

/** A whole proof, begun again wherever a verdict says so: which verdicts it met. */
function prove(values: readonly number[]): ProofVerdict['kind'][] {
  let readings: World['readings'] = [];
  return values.map((value) => {
    const point = points[readings.length] as string;
    const verdict = judgeProof(readings, point, value, points);
    if (verdict.kind === 'next') readings = [...readings, { point, value, at: 0 }];
    else if (verdict.kind !== 'repeat') readings = [];
    return verdict.kind;
  });
}

describe('the known source comes first', () => {
  test('a meter that reads 0 V on a good battery never counts', () => {
    expect(kind([], before, 0)).toBe('repeat');
    expect(words([], before, 0)).toContain('Until then nothing counts as dead.');
    // However often it is tried, and whatever else it would read.
    expect(prove([0, 0, 0, 0, 0.02, 0])).toEqual(Array(6).fill('repeat'));
  });

  // A cell of 1.2 V up to a block of 12 V: common practice, no source.
  test.each([
    [1.09, 'repeat'],
    [1.1, 'next'],
    [1.2, 'next'],
    [1.55, 'next'],
    [9.4, 'next'],
    [12.6, 'next'],
    [15, 'next'],
    [15.01, 'repeat'],
    [230, 'repeat'],
  ])('a source of %d V: %s', (volts, verdict) => {
    expect(kind([], before, volts)).toBe(verdict);
    expect(kind([], before, -volts)).toBe(verdict);
  });

  test('no number is no reading', () => {
    for (const value of [Number.NaN, Infinity, -Infinity]) {
      expect(kind([], before, value)).toBe('repeat');
      expect(kind(so(1.5), reservoir, value)).toBe('repeat');
      expect(kind(so(1.5, 0, 0), after, value)).toBe('repeat');
    }
  });
});

describe('every point is under 10 V', () => {
  test.each([
    [0, 'next'],
    [0.3, 'next'],
    [9.99, 'next'],
    [10, 'charged'],
    [10.01, 'charged'],
    [59.99, 'charged'],
    [60, 'charged'],
    [325, 'charged'],
    [400, 'charged'],
  ])('%d V, either way round: %s', (volts, verdict) => {
    for (const value of [volts, -volts]) {
      expect(kind(so(1.5), reservoir, value)).toBe(verdict);
      expect(kind(so(1.5, 0.2), light, value)).toBe(verdict);
    }
  });

  test('a charged point is left alone for a quarter of an hour and is never shorted', () => {
    const verdict = judgeProof(so(1.5), reservoir, 48, points);
    expect(verdict).toMatchObject({ kind: 'charged', minutes: 15 });
    expect(words(so(1.5), reservoir, 48)).toContain(
      'Do not touch anything inside and never short it with a tool.',
    );
  });

  // IEC 62368-1, table 4: steady d.c. is ES1 up to 60 V; seen in stored technical regulations that reproduce it.
  test('from 60 V it is called dangerous, below it too much', () => {
    for (const volts of [60, -60, 61, 325])
      expect(words(so(1.5), reservoir, volts)).toContain('V is dangerous.');
    for (const volts of [10, -10, 48, 59.99])
      expect(words(so(1.5), reservoir, volts)).toContain('V is too much.');
  });

  test.each([
    // Strings of white LEDs at 3.0 to 3.4 V each: derived. From 18 at 3.4 V they are no longer ES1.
    ['6 LEDs at 3.0 V', 18, 'V is too much.'],
    ['12 LEDs at 3.4 V', 40.8, 'V is too much.'],
    ['18 LEDs at 3.4 V', 61.2, 'V is dangerous.'],
    ['32 LEDs at 3.2 V', 102.4, 'V is dangerous.'],
  ])('a light output that still holds the voltage of %s is charged', (_name, volts, told) => {
    expect(kind(so(1.5, 0.2), light, volts)).toBe('charged');
    expect(words(so(1.5, 0.2), light, volts)).toContain(told);
  });

  test('the sign is told from the amount', () => {
    expect(words(so(1.5), reservoir, -325)).toMatch(/^325 V is dangerous/);
  });
});

describe('the known source comes last as well', () => {
  // Both readings agree within a tenth of the first: common practice, no source.
  test.each([
    [1.5, 1.5, 'proven'],
    [1.5, 1.36, 'proven'],
    [1.5, 1.64, 'proven'],
    [1.5, 1.34, 'void'],
    [1.5, 1.66, 'void'],
    [9, 8.2, 'proven'],
    [9, 8, 'void'],
    [9, 1.5, 'void'],
    [-1.5, 1.5, 'proven'],
    [1.5, -1.5, 'proven'],
    [1.5, 0, 'void'],
    [12, 0.3, 'void'],
    [12, 325, 'void'],
  ])('%d V before and %d V after: %s', (first, last, verdict) => {
    expect(kind(so(first, 0.1, 0.2), after, last)).toBe(verdict);
  });

  test('both numbers are told when they differ', () => {
    expect(words(so(-1.5, 0, 0), after, 0.4)).toContain('1.5 V before and 0.4 V now');
  });
});

describe('nothing is proven but by the whole order', () => {
  test('source, points, source', () => {
    expect(prove([1.5, 0.3, -0.2, 1.52])).toEqual(['next', 'next', 'next', 'proven']);
  });

  test('a charged point or a meter that failed begins it anew', () => {
    expect(prove([1.5, 180, 1.5, 8, 0.1, 1.5])).toEqual([
      'next',
      'charged',
      'next',
      'next',
      'next',
      'proven',
    ]);
    expect(prove([1.5, 0.3, 0.2, 0, 1.5, 0.3, 0.2, 1.5])).toEqual([
      'next',
      'next',
      'next',
      'void',
      'next',
      'next',
      'next',
      'proven',
    ]);
  });

  test('a point left out, swapped or unknown makes it void', () => {
    expect(kind(so(1.5), after, 1.5)).toBe('void');
    expect(kind(so(1.5, 0.2), after, 1.5)).toBe('void');
    expect(kind([], after, 1.5)).toBe('void');
    expect(kind([], reservoir, 0)).toBe('void');
    expect(kind(so(1.5), light, 0)).toBe('void');
    expect(kind(so(1.5, 0.2), before, 1.5)).toBe('void');
    expect(kind(so(1.5, 0.2, 0.1), 'elsewhere', 1.5)).toBe('void');
    const [source, first, second] = so(1.5, 0.2, 0.1);
    if (!source || !first || !second) throw new Error('three readings');
    expect(kind([source, second, first], after, 1.5)).toBe('void');
    expect(kind([source, first, first], after, 1.5)).toBe('void');
  });

  test('a charged point among the readings makes it void, however it came there', () => {
    expect(kind(so(1.5, dischargedBelow, 0), after, 1.5)).toBe('void');
    expect(kind(so(1.5, 0, -60), after, 1.5)).toBe('void');
    expect(kind(so(1.5, 325), light, 0)).toBe('void');
  });

  test('whatever the meter shows, proven means: source alive, points dead, source alive', () => {
    const volts = fc.oneof(
      fc.double({ min: -20, max: 20, noNaN: true }),
      fc.double({ min: 1, max: 2, noNaN: true }),
      fc.double({ min: -400, max: 400, noNaN: true }),
      fc.constantFrom(0, 1.5, 9.99, 10, 60, Number.NaN, Infinity),
    );
    let proven = 0;
    fc.assert(
      fc.property(fc.array(volts, { minLength: 4, maxLength: 12 }), (values) => {
        const verdicts = prove(values);
        // What counted since the last new beginning.
        let counted: number[] = [];
        verdicts.forEach((verdict, i) => {
          const value = Math.abs(values[i] as number);
          if (verdict === 'proven') {
            proven++;
            const [source, ...dead] = counted;
            expect(counted).toHaveLength(3);
            expect(source).toBeGreaterThanOrEqual(1.1);
            expect(value).toBeGreaterThan(0.9 * (source as number) - 1e-9);
            for (const point of dead) expect(point).toBeLessThan(10);
          }
          if (verdict === 'next') counted.push(value);
          else if (verdict !== 'repeat') counted = [];
        });
      }),
      { seed: 62_368, numRuns: 5000 },
    );
    // The property was put to the test: proofs did succeed.
    expect(proven).toBeGreaterThan(50);
  });
});
