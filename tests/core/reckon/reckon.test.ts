import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { ReckonName } from '../../../shared/flow.ts';
import { reckon, sums } from '../../../src/core/reckon/reckon.ts';
import { e96, nextE24 } from '../../../src/core/reckon/series.ts';
import { settings } from '../example-flow.ts';

/** The sums against published and derived values; where they come from stands beside them. */

const country = (code: string, mains_volts = 230) => ({
  country: { ...settings.community.country, code, mains_volts },
});
const told = (typed: string, place = country('GBR')): string => {
  const worked = reckon(typed, place);
  return 'why' in worked ? `?? ${worked.why}` : [worked.answer, ...worked.steps].join(' | ');
};

describe('discharge and energy', () => {
  // t = R C ln(V0/V); worked by hand from the formula.
  test.each([
    ['discharge 100uF 470k 325.269V to 60V', '79.44 s'],
    ['discharge 220 uF 100 kohm 400 V 60 V', '41.74 s'],
    ['discharge 220uF 100k 400V 5V', '96.4 s'],
    ['discharge 150uF 2k2 325V 60V', '0.5575 s'],
    ['discharge 100 uF 1 kohm 400 V', '0.1897 s'],
  ])('%s: %s', (typed, seconds) => {
    expect(told(typed)).toContain(seconds);
  });

  // C V^2 / 2.
  test.each([
    ['energy 100uF 325.269V', '5.29 J'],
    ['energy 150 uF 325.269 V', '7.935 J'],
    ['energy 220uF 400V', '17.6 J'],
    ['energy 68uF 170V', '0.9826 J'],
    ['energy 470uF 16V', '0.06016 J'],
  ])('%s: %s', (typed, joules) => {
    expect(told(typed)).toContain(joules);
  });

  // NFPA 70E-2021, article 360 (from memory): 1 J from 100 V on, 0.25 J from 400 V on.
  test('says from when on it is dangerous', () => {
    expect(told('energy 100uF 325V')).toContain('injure');
    expect(told('energy 68uF 170V')).not.toContain('injure you badly');
    expect(told('energy 4uF 400V')).toContain('injure');
    expect(told('energy 3uF 400V')).not.toContain('injure you badly');
  });

  test('takes longer with more of everything', () => {
    const positive = fc.double({ min: 1, max: 900, noNaN: true });
    const seconds = (typed: string): number => Number(/= ([\d.e+-]+) s$/.exec(told(typed))?.[1]);
    fc.assert(
      fc.property(positive, positive, fc.integer({ min: 61, max: 900 }), (uf, kohm, volts) => {
        const [a, b] = [uf.toFixed(3), kohm.toFixed(3)];
        const one = seconds(`discharge ${a} uF ${b} kohm ${volts} V 60 V`);
        expect(one).toBeGreaterThan(0);
        expect(
          seconds(`discharge ${(Number(a) * 2).toFixed(3)} uF ${b} kohm ${volts} V 60 V`),
        ).toBeGreaterThan(one);
        expect(
          seconds(`discharge ${a} uF ${(Number(b) * 2).toFixed(3)} kohm ${volts} V 60 V`),
        ).toBeGreaterThan(one);
        expect(seconds(`discharge ${a} uF ${b} kohm ${volts * 2} V 60 V`)).toBeGreaterThan(one);
      }),
      { numRuns: 100 },
    );
  });
});

describe('LEDs', () => {
  // R = (V - Vf) / I, and the next value of E24 (IEC 60063).
  test.each([
    ['led-resistor 12V 3.2V 20mA', '440 ohm', '470', '0.176 W'],
    ['led-resistor 5 V 2.0 V 10 mA', '300 ohm', '300', '0.03 W'],
    ['led-resistor 24V 9.6V 20mA', '720 ohm', '750', '0.288 W'],
  ])('%s: %s, %s, %s', (typed, ohms, next, watts) => {
    expect(told(typed)).toContain(ohms);
    expect(told(typed)).toContain(`take ${next}`);
    expect(told(typed)).toContain(watts);
  });

  // Rust et al., EE Times 2013-01-15: white backlight LEDs 3.2 V, within 0.2 V.
  test.each([
    ['string 6 leds 3.0V', '18 V'],
    ['string 12 LEDs 3.2 V', '38.4 V'],
    ['string 24 3.4V', '81.6 V'],
    ['string 18 x 3.4 V', '61.2 V'],
  ])('%s: %s', (typed, volts) => {
    expect(told(typed)).toContain(volts);
  });

  test('above 60 V d.c., no longer ES1 of IEC 62368-1, a string is a DANGER', () => {
    const word = (typed: string) => {
      const worked = reckon(typed, country('GBR'));
      return 'why' in worked ? worked.why : worked.caution.word;
    };
    expect(word('string 18 3.4 V')).toBe('DANGER');
    expect(word('string 17 3.4 V')).toBe('WARNING');
  });

  // mean = D V.
  test.each([
    ['pwm 5V 50%', '2.5 V'],
    ['pwm 12 V 25 %', '3 V'],
    ['pwm 3.3V 10%', '0.33 V'],
    ['pwm 12V 25%', 'r.m.s. = V sqrt(D) = 6 V'],
  ])('%s: %s', (typed, volts) => {
    expect(told(typed)).toContain(volts);
  });
});

describe('heating elements', () => {
  // R = V^2 / P, I = P / V.
  test.each([
    ['element 3000W 230V', '17.63 ohm', '13.04 A'],
    ['element 2200 W 230 V', '24.05 ohm', '9.565 A'],
    ['element 2 kW 230 V', '26.45 ohm', '8.696 A'],
    ['element 900W 230V', '58.78 ohm', '3.913 A'],
    ['element 2400W 240V', '24 ohm', '10 A'],
    ['element 1500W 120V', '9.6 ohm', '12.5 A'],
    ['element 50W 12V', '2.88 ohm', '4.167 A'],
  ])('%s: %s, %s', (typed, ohms, amps) => {
    expect(told(typed)).toContain(`About ${ohms}`);
    expect(told(typed)).toContain(amps);
  });

  test('takes the country’s mains where none is typed, and goes back from ohms', () => {
    expect(told('element 1500 W', country('USA', 120))).toContain('9.6 ohm');
    expect(told('element 24 ohm 240 V')).toContain('2400 W');
    // Power tolerance +5/-10 % on 2200 W.
    expect(told('element 2200W 230V')).toContain('22.9 to 26.72 ohm');
  });
});

describe('plug fuses', () => {
  // 700 W and less: 3 A; above: 13 A; BS 1362 colours.
  test.each([
    ['fuse 60 W', '3 A (red)'],
    ['fuse 700 W', '3 A (red)'],
    ['fuse 701 W', '13 A (brown)'],
    ['fuse 2990W', '13 A (brown)'],
    ['fuse 700W', '3.043 A'],
  ])('%s: %s', (typed, words) => {
    expect(told(typed)).toContain(words);
  });

  test('too much for a plug is said, and countries without plug fuses have none', () => {
    expect(told('fuse 3500 W')).toContain('too much');
    expect(told('fuse 2000 W', country('DEU'))).toContain('Here plugs have no fuse');
  });
});

describe('markings', () => {
  // IEC 60062.
  test.each([
    ['bands brown black red gold', '1000 ohm', '5 %'],
    ['bands yellow violet red gold', '4700 ohm', '5 %'],
    ['bands red, red, orange, gold', '22000 ohm', '5 %'],
    ['bands brown black black gold brown', '10 ohm', '1 %'],
    ['bands orange orange white silver brown', '3.39 ohm', '1 %'],
    ['bands brown black red', '1000 ohm', '20 %'],
    ['bands gray purple black red', '87 ohm', '2 %'],
  ])('%s: %s, %s', (typed, ohms, tolerance) => {
    expect(told(typed)).toContain(`= ${ohms}`);
    expect(told(typed)).toContain(`within ${tolerance}`);
  });

  // EIA-96.
  test.each([
    ['code 01A', 100],
    ['code 39D', 249e3],
    ['code 68X', 49.9],
    ['code 01Y', 1],
    ['code 96a', 976],
    ['code 24C', 17_400],
  ])('%s: %d ohm', (typed, ohms) => {
    expect(told(typed)).toContain(`= ${ohms} ohm`);
  });

  test('E96 is what IEC 60063 prints', () => {
    expect([1, 2, 3, 10, 12, 24, 34, 39, 48, 68, 96].map((n) => e96(n - 1))).toEqual([
      100, 102, 105, 124, 130, 174, 221, 249, 309, 499, 976,
    ]);
    expect(new Set(Array.from({ length: 96 }, (_, i) => e96(i))).size).toBe(96);
  });

  // IEC 60062: three figures, letters in place of the point; capacitors in pF.
  test.each([
    ['code 103', '10 nF'],
    ['code 104', '100 nF'],
    ['code 105K', '1 µF, within 10 %'],
    ['code 2n2', '2.2 nF'],
    ['code 4n7', '4.7 nF'],
    ['code p47', '0.47 pF'],
    ['code 100n', '100 nF'],
    ['code 339', '3.3 pF'],
    ['code 0R47', '= 0.47 ohm'],
    ['code 4R7', '= 4.7 ohm'],
    ['code 47R', '= 47 ohm'],
    ['code 4k7', '= 4700 ohm'],
    ['code 47k', '= 47000 ohm'],
    ['code 4M7', '= 4700000 ohm'],
    ['code 4702', '47 kΩ'],
    ['code 12R0', '= 12 ohm'],
    ['code R47', '= 0.47 ohm'],
    ['code 220', '22 Ω'],
    ['code 000', 'link'],
  ])('%s: %s', (typed, words) => {
    expect(told(typed)).toContain(words);
  });
});

describe('the rest', () => {
  test('a divider of 12 V, 10 k over 4.7 k gives 3.837 V', () => {
    expect(told('divider 12V 10k 4k7')).toContain('3.837 V');
  });

  test('a battery is weighed against its label', () => {
    expect(told('battery 2500 mAh 1800 mAh')).toContain('72 %');
    expect(told('battery 50Wh 45Wh')).toContain('90 %');
  });

  test('E24 goes up to the next decade', () => {
    expect([440, 720, 300, 92, 95, 0.95, 1_000_000].map(nextE24)).toEqual([
      470, 750, 300, 100, 100, 1, 1_000_000,
    ]);
  });

  test('every sum works with its own example, shows its formula, and has a caution', () => {
    expect(Object.keys(sums).toSorted()).toEqual(ReckonName.options.toSorted());
    for (const { example } of Object.values(sums)) {
      const worked = reckon(example, country('GBR'));
      expect(worked).not.toHaveProperty('why');
      if ('why' in worked) continue;
      expect(worked.steps.length).toBeGreaterThan(0);
      expect(worked.steps.join()).toMatch(/\d/);
      expect(worked.caution.text.length).toBeGreaterThan(20);
    }
  });

  test('any text gives an answer or says what is missing, and never throws or shows nonsense', () => {
    fc.assert(
      fc.property(fc.constantFrom(...ReckonName.options), fc.string({ maxLength: 40 }), (name, rest) => {
        const text = told(`${name} ${rest}`);
        expect(text).not.toMatch(/NaN|Infinity|undefined|\bnull\b/);
      }),
      { numRuns: 500 },
    );
    const piece = fc.constantFrom(
      '12 V',
      '0 V',
      '100uF',
      '4k7',
      '0 ohm',
      '5 mA',
      '0',
      '30 %',
      '2 W',
      '10 Wh',
      'to',
      '-3',
      '1e9',
    );
    fc.assert(
      fc.property(fc.constantFrom(...ReckonName.options), fc.array(piece, { maxLength: 5 }), (name, rest) => {
        expect(told(`${name} ${rest.join(' ')}`)).not.toMatch(/NaN|Infinity|undefined|\bnull\b/);
      }),
      { numRuns: 1000 },
    );
  });
});
