import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  type Expected,
  formatQuantity,
  type ParsedReading,
  parseReading,
  type Unit,
} from '../../../src/core/words/reading.ts';

const VOLTS_DC: Expected = { unit: 'V', current: 'dc', min: -600, max: 600 };
const OHMS: Expected = { unit: 'ohm', min: 0, max: 20e6 };

function value(
  amount: number,
  unit: Unit | null,
  current: 'dc' | 'ac' | null = null,
  about = false,
): ParsedReading {
  return { kind: 'value', reading: { value: amount, unit, current, about } };
}

function why(text: string, expected?: Expected): string {
  const parsed = parseReading(text, expected);
  return parsed.kind === 'unclear' ? parsed.why : `understood as ${JSON.stringify(parsed)}`;
}

describe('component notation', () => {
  // IEC 60062: a letter stands in place of the point. Quoted from memory; 2n2 also seen in public material.
  test.each([
    ['0R47', 0.47, 'ohm'],
    ['4R7', 4.7, 'ohm'],
    ['47R', 47, 'ohm'],
    ['4k7', 4700, 'ohm'],
    ['4K7', 4700, 'ohm'],
    ['47k', 47_000, 'ohm'],
    ['4M7', 4_700_000, 'ohm'],
    ['12R0', 12, 'ohm'],
    ['R47', 0.47, 'ohm'],
    ['2n2', 2.2e-9, 'F'],
    ['2n2 F', 2.2e-9, 'F'],
    ['4n7', 4.7e-9, 'F'],
    ['p47', 0.47e-12, 'F'],
    ['1n0', 1e-9, 'F'],
    ['100n', 100e-9, 'F'],
    ['470u', 470e-6, 'F'],
    ['2.2M', 2.2e6, 'ohm'],
    ['4k7 Ω', 4700, 'ohm'],
  ] as const)('%s is %d %s', (text, amount, unit) => {
    expect(parseReading(text)).toEqual(value(amount, unit));
  });

  test('a letter may stand in place of the point of a voltage too', () => {
    // Common practice, no source.
    expect(parseReading('3V3')).toEqual(value(3.3, 'V'));
  });

  test('"230V50Hz" is a nameplate and not 230.5 V', () => {
    expect(parseReading('230V50Hz').kind).toBe('unclear');
    expect(parseReading('5V2A').kind).toBe('unclear');
  });

  test('a number glued behind letters is the name of a part', () => {
    for (const text of ['C12', 'IC4', 'R 47', 'V5', 'k9']) expect(parseReading(text).kind).toBe('unclear');
  });

  // IEC 60063, the E24 list (27, 30, 33, 36, 39, 43, 47 and 82 differ from the rounded geometric series).
  const E24 = [
    ...[10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30],
    ...[33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91],
  ];
  const e24 = fc.constantFrom(...E24);

  test('every E24 value survives being written and read', () => {
    const decades = { ohm: fc.integer({ min: -2, max: 8 }), F: fc.integer({ min: -13, max: -3 }) };
    for (const unit of ['ohm', 'F'] as const) {
      fc.assert(
        fc.property(e24, decades[unit], (digits, decade) => {
          const amount = Number(`${digits}e${decade}`);
          expect(parseReading(formatQuantity(amount, unit))).toEqual(value(amount, unit));
        }),
      );
    }
  });

  test('every E24 value is read the same with a point and with the letter', () => {
    const letters = fc.constantFrom(
      ['R', 'Ω', 0, 'ohm'] as const,
      ['k', 'kΩ', 3, 'ohm'] as const,
      ['M', 'MΩ', 6, 'ohm'] as const,
      ['n', 'nF', -9, 'F'] as const,
      ['p', 'pF', -12, 'F'] as const,
    );
    fc.assert(
      fc.property(e24, letters, (digits, [letter, suffix, exponent, unit]) => {
        const [tens, ones] = [Math.floor(digits / 10), digits % 10];
        const amount = value(Number(`${tens}.${ones}e${exponent}`), unit);
        expect(parseReading(`${tens}${letter}${ones}`)).toEqual(amount);
        expect(parseReading(`${tens}.${ones} ${suffix}`)).toEqual(amount);
        expect(parseReading(`${tens},${ones}${suffix}`)).toEqual(amount);
      }),
    );
  });
});

describe('number, prefix and unit', () => {
  // What people type: common practice, no source; the numbers themselves need none.
  test.each([
    ['4.7 V', 4.7, 'V', null],
    ['4.7V', 4.7, 'V', null],
    ['4.97v', 4.97, 'V', null],
    ['4,7 V', 4.7, 'V', null],
    ['1,5 V', 1.5, 'V', null],
    ['325VDC', 325, 'V', 'dc'],
    ['325 V DC', 325, 'V', 'dc'],
    ['325 V d.c.', 325, 'V', 'dc'],
    ['DCV 325', 325, 'V', 'dc'],
    ['5 V ⎓', 5, 'V', 'dc'],
    ['230 V ~', 230, 'V', 'ac'],
    ['230V~', 230, 'V', 'ac'],
    ['V~ 230', 230, 'V', 'ac'],
    ['230V AC', 230, 'V', 'ac'],
    ['230 volts a.c.', 230, 'V', 'ac'],
    ['12 volts', 12, 'V', null],
    ['12.1 volts dc', 12.1, 'V', 'dc'],
    ['0.3 mV', 0.0003, 'V', null],
    ['300 mVDC', 0.3, 'V', 'dc'],
    ['-0.02', -0.02, null, null],
    ['- 0.02 V', -0.02, 'V', null],
    ['minus 5 V', -5, 'V', null],
    ['.5 V', 0.5, 'V', null],
    ['it says 4.97', 4.97, null, null],
    ['It’s 4.97 volts.', 4.97, 'V', null],
    ['the meter shows 5.02 V', 5.02, 'V', null],
    ['the reading, 5 V', 5, 'V', null],
    ['4.7 k', 4700, 'ohm', null],
    ['4.7 k Ω', 4700, 'ohm', null],
    ['2.2 megohms', 2.2e6, 'ohm', null],
    ['4.7 kilohm', 4700, 'ohm', null],
    ['20 milliamps', 0.02, 'A', null],
    ['20 m A', 0.02, 'A', null],
    ['2 a', 2, 'A', null],
    ['470uF', 470e-6, 'F', null],
    ['1.5 kW', 1500, 'W', null],
    ['50hz', 50, 'Hz', null],
    ['85 °C', 85, 'C', null],
    ['85 ºC', 85, 'C', null],
    ['2600 mAh', 2.6, 'Ah', null],
    ['zero', 0, null, null],
    ['0', 0, null, null],
    ['-0.00 V', 0, 'V', null],
    ['twelve volts', 12, 'V', null],
    ['Twenty', 20, null, null],
  ] as const)('"%s" is understood', (text, amount, unit, current) => {
    expect(parseReading(text)).toEqual(value(amount, unit, current));
  });

  // SI Brochure, 9th edition, Table 7 (quoted from memory).
  test.each([
    ['p', 1e-12],
    ['n', 1e-9],
    ['µ', 1e-6],
    ['m', 1e-3],
    ['k', 1e3],
    ['M', 1e6],
  ])('the prefix %s scales by %d', (prefix, factor) => {
    const unit = factor < 1 ? 'F' : 'ohm';
    expect(parseReading(`2 ${prefix}${unit}`)).toEqual(value(2 * factor, unit));
  });

  test('m and M differ', () => {
    expect(parseReading('5 mΩ')).toEqual(value(0.005, 'ohm'));
    expect(parseReading('5 MΩ')).toEqual(value(5e6, 'ohm'));
  });

  test('look-alike characters are one', () => {
    // The Unicode Standard: U+2126 is equivalent to U+03A9, U+00B5 compatible with U+03BC, U+FF14 with 4.
    expect(parseReading('1 M\u2126')).toEqual(value(1e6, 'ohm'));
    expect(parseReading('1 M\u03a9')).toEqual(value(1e6, 'ohm'));
    expect(parseReading('470 \u00b5F')).toEqual(value(470e-6, 'F'));
    expect(parseReading('470 \u03bcF')).toEqual(value(470e-6, 'F'));
    expect(parseReading('\uff14\uff0e\uff19\uff17\uff36')).toEqual(value(4.97, 'V'));
    expect(parseReading('\u22120.5 V')).toEqual(value(-0.5, 'V'));
    expect(parseReading('\u0664\u066b\u0669\u0667')).toEqual(value(4.97, null));
    expect(parseReading('4.97\u200e V\ufe0f')).toEqual(value(4.97, 'V'));
    expect(parseReading('\u06f1\u06f2 V')).toEqual(value(12, 'V'));
  });

  test.each([
    'about 12',
    'approx 12',
    '~12',
    '~ 12',
    '≈ 12',
    'approx. 12',
    'ca. 12',
    '12ish',
    'around twelve',
  ])('"%s" is about twelve', (text) => {
    expect(parseReading(text)).toEqual(value(12, null, null, true));
  });

  test.each([
    ['1 234,5', 1234.5],
    ['1\u00a0234,5', 1234.5],
    ['1\u202f234,5', 1234.5],
    ['1,234.5', 1234.5],
    ['1.234,5', 1234.5],
    ["1'234.5", 1234.5],
    ['1,234,567', 1_234_567],
    ['12 345', 12_345],
    ['1.234', 1.234],
    ['1234,567', 1234.567],
    ['0,123', 0.123],
  ])('"%s" is %d', (text, amount) => {
    expect(parseReading(text)).toEqual(value(amount, null));
  });

  test('"1,234" may be either and is asked again, with both meanings', () => {
    expect(why('1,234 V')).toBe(
      '"1,234" can mean 1.234 or 1234: please type it without a comma, for example 4.97 V.',
    );
    expect(parseReading('12,345').kind).toBe('unclear');
  });

  test.each(['1,23,4', '1,234,5', '1.2.3', '0 325', '12.03.2024', '1 234 56'])(
    '"%s" is not grouped as one number',
    (text) => {
      expect(parseReading(text).kind).toBe('unclear');
    },
  );
});

describe('no number on the display', () => {
  const overs = ['OL', 'ol', 'O.L', '.OL', '0L', '0.L', 'over', 'overload', 'infinite', 'it shows OL'];
  test.each([...overs, '∞', 'open line', 'out of range', '1 .', '1  .', 'OL, no beep'])(
    '"%s" is over the range',
    (text) => {
      expect(parseReading(text)).toEqual({ kind: 'over', unit: null });
    },
  );

  test('over the range keeps its unit', () => {
    expect(parseReading('OL MΩ')).toEqual({ kind: 'over', unit: 'ohm' });
    expect(parseReading('OL', VOLTS_DC)).toEqual({ kind: 'over', unit: 'V' });
  });

  test.each(['beeps', 'it beeps', 'Beep!', 'beeping'])('"%s" is a beep', (text) => {
    expect(parseReading(text)).toEqual({ kind: 'beep', beeps: true });
  });

  test.each([
    'no beep',
    'silent',
    "doesn't beep",
    'it does not beep',
    'there is no beep',
    "i don't hear a beep",
  ])('"%s" is no beep', (text) => {
    expect(parseReading(text)).toEqual({ kind: 'beep', beeps: false });
  });

  test.each([
    'no, it beeps',
    'not silent',
    'beep? no',
    'beeps, silent',
    'beeps 0.3',
    'OL, beeps',
    'over 5 V',
    'no',
  ])('"%s" contradicts itself and is asked again', (text) => {
    expect(parseReading(text).kind).toBe('unclear');
  });

  test('"nothing" may be zero or an empty display and is asked again', () => {
    expect(why('nothing', VOLTS_DC)).toBe(
      '"Nothing" can mean zero or an empty display: please type what the meter shows, for example 4.97 V.',
    );
  });
});

describe('what the step asked for', () => {
  test('gives the unit and the kind of current that were not typed', () => {
    expect(parseReading('about 12', VOLTS_DC)).toEqual(value(12, 'V', 'dc', true));
    expect(parseReading('4.97v', VOLTS_DC)).toEqual(value(4.97, 'V', 'dc'));
    expect(parseReading('4k7', OHMS)).toEqual(value(4700, 'ohm'));
    expect(parseReading('470u', { unit: 'A' })).toEqual(value(470e-6, 'A'));
  });

  test('refuses another unit and says where to turn the meter', () => {
    const refusal =
      'That is ohms, and I need volts d.c.: please turn the meter to V with the straight line ' +
      'and type what the meter shows, for example 4.97 V.';
    expect(why('4.7 kΩ', VOLTS_DC)).toBe(refusal);
    expect(why('4k7', VOLTS_DC)).toBe(refusal);
    expect(why('OL MΩ', VOLTS_DC)).toBe(refusal);
    expect(why('100n', VOLTS_DC)).toMatch(/^That is farads, and I need volts d\.c\.: /);
    expect(why('5 V', OHMS)).toMatch(/^That is volts, and I need ohms: please turn the meter to Ω and /);
    expect(why('it beeps', VOLTS_DC)).toMatch(/^That is the sound test, and I need volts d\.c\.: /);
  });

  test('refuses a.c. where d.c. is wanted, and the other way round', () => {
    expect(why('230 V ~', VOLTS_DC)).toBe(
      'That is a.c., and I need volts d.c.: please turn the meter to V with the straight line ' +
        'and type what the meter shows, for example 4.97 V.',
    );
    expect(why('325 VDC', { unit: 'V', current: 'ac' })).toMatch(/ with the wavy line .* 230 V a\.c\.\.$/);
  });

  test('refuses what cannot be, with the limit', () => {
    const check =
      'check the point, the sign and the unit (m and M differ) and type it again, for example 4.97 V.';
    expect(why('1200 V', VOLTS_DC)).toBe(
      `I read 1.2 kV, and above 600 V cannot be right here: please ${check}`,
    );
    expect(why('-5 Ω', OHMS)).toMatch(/^I read -5 Ω, and below 0 Ω cannot be right here: /);
    expect(why('-5 ohm')).toMatch(/^I read -5 Ω, and below 0 Ω cannot be right here: /);
    expect(why('-5 V ac')).toMatch(/below 0 V cannot be right here/);
    for (const text of ['1000000000', '1e9', '300 MV', `${'9'.repeat(400)} V`])
      expect(parseReading(text).kind).toBe('unclear');
  });

  test('keeps the limits themselves', () => {
    expect(parseReading('600 V', VOLTS_DC)).toEqual(value(600, 'V', 'dc'));
    expect(parseReading('-600', VOLTS_DC)).toEqual(value(-600, 'V', 'dc'));
    expect(parseReading('600.1', VOLTS_DC).kind).toBe('unclear');
    expect(parseReading('-600.1', VOLTS_DC).kind).toBe('unclear');
  });

  test('a lone 1 may be an overloaded old display, never silently one volt', () => {
    // A 3½-digit display blanks all but the leading 1 on overload: common practice, no source.
    for (const text of ['1', '1.', '-1', '1 V', 'it says 1', 'one volt', '1 mV', '1 V dc'])
      expect(why(text, VOLTS_DC)).toBe(
        'A single 1 can mean "too much for this range": please type OL if nothing else is on the display, or 1.0 V if it is one.',
      );
    expect(parseReading('1.0 V', VOLTS_DC)).toEqual(value(1, 'V', 'dc'));
    expect(parseReading('1,00', VOLTS_DC)).toEqual(value(1, 'V', 'dc'));
    expect(parseReading('001', VOLTS_DC)).toEqual(value(1, 'V', 'dc'));
    expect(parseReading('about 1', VOLTS_DC)).toEqual(value(1, 'V', 'dc', true));
    expect(parseReading('1 MΩ', OHMS)).toEqual(value(1e6, 'ohm'));
    expect(parseReading('1', { unit: 's' })).toEqual(value(1, 's'));
    expect(parseReading('1 V')).toEqual(value(1, 'V'));
  });

  test('a bare m may be milli or minutes and is asked again', () => {
    for (const unit of ['V', 's'] as const) expect(parseReading('30m', { unit }).kind).toBe('unclear');
    expect(parseReading('30 mV', VOLTS_DC)).toEqual(value(0.03, 'V', 'dc'));
  });
});

describe('what is not one reading', () => {
  test.each(['between 4 and 5', '4.9 or 5.1', '12-13', '5V 2A', '1\n234', '4. 97', 'the red one shows 4.97'])(
    '"%s" has more than one number',
    (text) => {
      expect(why(text, VOLTS_DC)).toBe(
        'I see more than one number: please type only what the meter shows now, for example 4.97 V.',
      );
    },
  );

  // Each would be a low voltage if the unknown word were skipped.
  test.each([
    'not 5 V',
    '5 V, no',
    '5 V, not',
    'it does not show 5 V',
    'below 5 V',
    '< 5 V',
    'less than 5 V',
    'up to 5 V',
    'was 5 V',
    'does it show 5 V',
    'should be 5 V',
    'falling, now 5 V',
    'is it 5 V?',
    '~~5 V~~',
    '5 % of it',
    '4.9²',
    '5½',
    '±5 V',
    'twenty-five',
    'five hundred',
    '0.0L',
    '--5 V',
    'DC-5 V',
    '5 V ohm',
    '5 V ac dc',
    '5 k kΩ',
    '5 kC',
    '5 kR',
    '5 FDC',
  ])('"%s" is not read as a value', (text) => {
    expect(parseReading(text, VOLTS_DC).kind).toBe('unclear');
    expect(parseReading(text).kind).toBe('unclear');
  });

  test.each([
    'banana',
    '',
    '   ',
    '👍',
    'V',
    'dc',
    'about',
    '-',
    '----',
    'k',
    'the meter',
    'constructor',
    '__proto__',
  ])('"%s" gets one sentence with an example', (text) => {
    expect(why(text)).toBe(
      'I could not read that as one reading: please type what the meter shows, for example 4.97 V.',
    );
  });

  test('the example in every refusal is itself understood', () => {
    const units: Unit[] = ['V', 'A', 'ohm', 'F', 'W', 'Hz', 'C', 's', 'J', 'Ah'];
    const wishes: Expected[] = [
      ...units.map((unit) => ({ unit })),
      { unit: 'V', current: 'ac' },
      { unit: 'V', current: 'dc' },
    ];
    for (const wish of wishes) {
      const example = /for example (.+)\.$/.exec(why('banana', wish))?.[1] ?? '';
      expect(parseReading(example, wish)).toMatchObject({ kind: 'value', reading: { unit: wish.unit } });
    }
  });

  // A mix that meets the grammar often, and any Unicode at all, lone surrogates included.
  const morsels = fc.array(
    fc.constantFrom(
      ..."0 1 12 . , - ~ V mV k Ω dc ac OL beep no not about a it one 4k7 ∞ ² ' é".split(' '),
      ' ',
    ),
    { maxLength: 40 },
  );
  const anything = fc.oneof(
    fc.string({ unit: 'binary', maxLength: 5000, size: 'max' }),
    fc
      .array(fc.integer({ min: 0, max: 0xffff }), { maxLength: 200 })
      .map((codes) => String.fromCharCode(...codes)),
    morsels.map((parts) => parts.join('')),
  );

  test('any text at all is answered, within the bounds or with one sentence', () => {
    fc.assert(
      fc.property(anything, fc.constantFrom(undefined, VOLTS_DC, OHMS), (text, expected) => {
        const parsed = parseReading(text, expected);
        if (parsed.kind === 'unclear') expect(parsed.why).toMatch(/^[^\n]+: please [^\n]+\.$/);
        if (parsed.kind !== 'value') return;
        const { value: amount, unit } = parsed.reading;
        expect(Number.isFinite(amount)).toBe(true);
        if (!expected) return;
        expect(unit).toBe(expected.unit);
        expect(amount).toBeGreaterThanOrEqual(expected.min ?? -Infinity);
        expect(amount).toBeLessThanOrEqual(expected.max ?? Infinity);
      }),
      { seed: 60062, numRuns: 1000 },
    );
  });

  test('time grows no faster than the text', () => {
    // Fifty times the longest message, where looking back at every step would take minutes.
    const seeds = [
      '1',
      '1,',
      '1 ',
      '1 234',
      ' ',
      '-',
      '~',
      'a',
      "a'",
      'no ',
      '1k',
      '.',
      'o',
      'dc',
      '\ufdfa',
      "1'",
      '9,999',
    ];
    const start = performance.now();
    for (const seed of seeds) {
      const long = seed.repeat(100_000 / seed.length);
      for (const text of [long, `${long}x`, `x${long}`]) parseReading(text, VOLTS_DC);
    }
    expect(performance.now() - start).toBeLessThan(10_000);
  }, 60_000);
});

describe('writing a quantity', () => {
  test.each([
    [4.97, 'V', null, '4.97 V'],
    [325, 'V', 'dc', '325 V d.c.'],
    [230, 'V', 'ac', '230 V a.c.'],
    [4700, 'ohm', null, '4.7 kΩ'],
    [0.47, 'ohm', null, '0.47 Ω'],
    [470e-6, 'F', null, '470 µF'],
    [0.0047, 'F', null, '4700 µF'],
    [0.0003, 'V', null, '300 µV'],
    [-0.02, 'V', 'dc', '-20 mV d.c.'],
    [0, 'V', 'dc', '0 V d.c.'],
    [-0, 'V', null, '0 V'],
    [999.6, 'ohm', null, '1 kΩ'],
    [999.4, 'ohm', null, '999 Ω'],
    [17.6333, 'ohm', null, '17.6 Ω'],
    [13.0435, 'A', null, '13 A'],
    [3000, 'W', null, '3 kW'],
    [85, 'C', null, '85 °C'],
    [2.6, 'Ah', null, '2.6 Ah'],
    [100, 'ohm', 'dc', '100 Ω'],
    [Number.NaN, 'V', null, 'NaN V'],
  ] as const)('%d %s %s is written %s', (amount, unit, current, text) => {
    expect(formatQuantity(amount, unit, current)).toBe(text);
  });

  const spans: Record<Unit, readonly [number, number]> = {
    V: [-99_900, 99_900],
    A: [-9990, 9990],
    ohm: [0, 9.99e11],
    F: [0, 9990],
    W: [0, 9.99e5],
    Hz: [0, 9.99e10],
    C: [-273, 2990],
    s: [0, 9.99e6],
    J: [0, 9.99e5],
    Ah: [0, 9990],
  };

  test('what is written is read back to three digits', () => {
    const exponents = fc.integer({ min: -12, max: 11 });
    const units = fc.constantFrom(...(Object.keys(spans) as Unit[]));
    fc.assert(
      fc.property(
        units,
        fc.double({ min: -9.99, max: 9.99, noNaN: true }),
        exponents,
        fc.constantFrom(null, 'dc', 'ac'),
        (unit, mantissa, exponent, current) => {
          const amount = mantissa * 10 ** exponent;
          const [least, most] = spans[unit];
          fc.pre(amount >= least && amount <= most && !(current === 'ac' && amount < 0));
          const kept = unit === 'V' || unit === 'A' ? current : null;
          const rounded = Number(amount.toPrecision(3)) + 0;
          const text = formatQuantity(amount, unit, current);
          expect(parseReading(text), text).toEqual(value(rounded, unit, kept));
        },
      ),
      { seed: 60063, numRuns: 3000 },
    );
  });
});
