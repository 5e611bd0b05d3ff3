import { formatQuantity } from '../words/notation.ts';
import { inUnit, quantities } from './quantities.ts';
import { e96 } from './series.ts';
import { figure, type Sum, unclear, type Worked } from './sum.ts';

/** What is printed on parts, and what two of them make. */

const printed = {
  word: 'NOTICE',
  text: 'Old paint changes its colour with heat. Measure a part with one leg out before you trust its marking.',
} as const;

interface Colour {
  readonly digit?: number;
  readonly exponent?: number;
  readonly tolerance?: number;
  readonly ppm?: number;
}

/** IEC 60062. */
const colours: Readonly<Record<string, Colour>> = {
  black: { digit: 0, exponent: 0, ppm: 250 },
  brown: { digit: 1, exponent: 1, tolerance: 1, ppm: 100 },
  red: { digit: 2, exponent: 2, tolerance: 2, ppm: 50 },
  orange: { digit: 3, exponent: 3, tolerance: 0.05, ppm: 15 },
  yellow: { digit: 4, exponent: 4, tolerance: 0.02, ppm: 25 },
  green: { digit: 5, exponent: 5, tolerance: 0.5, ppm: 20 },
  blue: { digit: 6, exponent: 6, tolerance: 0.25, ppm: 10 },
  violet: { digit: 7, exponent: 7, tolerance: 0.1, ppm: 5 },
  grey: { digit: 8, exponent: 8, ppm: 1 },
  white: { digit: 9, exponent: 9 },
  gold: { exponent: -1, tolerance: 5 },
  silver: { exponent: -2, tolerance: 10 },
  pink: { exponent: -3 },
};
const alike: Readonly<Record<string, string>> = { gray: 'grey', purple: 'violet' };

export const bands: Sum = {
  name: 'bands',
  what: 'A resistor by its colours, three to six bands',
  example: 'bands yellow violet red gold',
  work(typed) {
    const names = (typed.toLowerCase().match(/\p{L}+/gu) ?? []).map((name) => alike[name] ?? name);
    const unknown = names.find((name) => !Object.hasOwn(colours, name));
    if (unknown !== undefined) return unclear(`I know no colour “${unknown}”.`);
    if (names.length < 3 || names.length > 6) return unclear('A resistor has three to six bands.');
    const all = names.map((name) => colours[name] as Colour);
    const count = names.length >= 5 ? 3 : 2;
    const digits = all.slice(0, count).map(({ digit }) => digit);
    const exponent = all[count]?.exponent;
    const last = names.length === 3 ? { tolerance: 20 } : (all[count + 1] as Colour);
    if (digits.includes(undefined) || exponent === undefined || last.tolerance === undefined)
      return unclear(
        'These colours cannot stand in this order. Turn it round: gold or silver mostly come last.',
      );
    const ohms = Number((Number(digits.join('')) * 10 ** exponent).toPrecision(6));
    const ppm = names.length === 6 ? all[5]?.ppm : undefined;
    if (names.length === 6 && ppm === undefined) return unclear('The sixth band cannot have this colour.');
    return {
      answer: `${formatQuantity(ohms, 'ohm')}, within ${figure(last.tolerance)} %.`,
      steps: [
        `${digits.join('')} x 10^${exponent} = ${figure(ohms)} ohm`,
        `That is ${figure(ohms * (1 - last.tolerance / 100))} to ${figure(ohms * (1 + last.tolerance / 100))} ohm.`,
        ...(ppm === undefined ? [] : [`It changes by ${ppm} ppm a kelvin.`]),
      ],
      caution: printed,
      source: 'IEC 60062, colour code',
    };
  },
};

/** EIA-96, letters for the multiplier. */
const letters96: Readonly<Record<string, number>> = {
  Z: -3,
  Y: -2,
  R: -2,
  X: -1,
  S: -1,
  A: 0,
  B: 1,
  H: 1,
  C: 2,
  D: 3,
  E: 4,
  F: 5,
};
/** IEC 60062, tolerance of capacitors, per cent. */
const percents: Readonly<Record<string, string>> = {
  F: '1 %',
  G: '2 %',
  J: '5 %',
  K: '10 %',
  M: '20 %',
  Z: '-20/+80 %',
};

export const code: Sum = {
  name: 'code',
  what: 'What a code on a small part means: resistors, EIA-96, capacitors',
  example: 'code 104',
  work(typed) {
    const text = typed.trim().replace(/\s.*$/, '');
    const read = [letterPoint(text), eia96(text), digitCode(text)].filter((one) => one !== null);
    const [first] = read;
    if (!first) return unclear('I do not know a code like that.');
    // The same letters mean several things; the part itself tells which.
    return {
      ...first,
      answer: read.map(({ answer }) => answer).join(' '),
      steps: read.flatMap(({ steps }) => steps),
      source: [...new Set(read.map(({ source }) => source))].join('; '),
    };
  },
};

function eia96(text: string): Worked | null {
  const match = /^(\d\d)([ABCDEFHRSXYZ])$/i.exec(text);
  const [, index = '', letter = ''] = match ?? [];
  const place = Number(index);
  if (!match || place < 1 || place > 96) return null;
  const exponent = letters96[letter.toUpperCase()] as number;
  const digits = e96(place - 1);
  const ohms = Number((digits * 10 ** exponent).toPrecision(6));
  return {
    answer: `As a resistor (EIA-96, 1 %): ${formatQuantity(ohms, 'ohm')}.`,
    steps: [
      `${index} stands for ${digits}; ${letter.toUpperCase()} for 10^${exponent}: ${digits} x 10^${exponent} = ${figure(ohms)} ohm`,
    ],
    caution: printed,
    source: 'EIA-96; E96 of IEC 60063',
  };
}

function letterPoint(text: string): Worked | null {
  const resistor = /^(\d*)([RKM])(\d*)$/i.exec(text);
  const capacitor = /^(\d*)([pnuµ])(\d*)$/.exec(text);
  const [, whole = '', letter = '', part = ''] = resistor ?? capacitor ?? [];
  if (whole === '' && part === '') return null;
  const number = Number(`${whole === '' ? '0' : whole}.${part === '' ? '0' : part}`);
  if (resistor) {
    const ohms = Number((number * ({ R: 1, K: 1e3, M: 1e6 }[letter.toUpperCase()] as number)).toPrecision(6));
    return {
      answer: `As a resistor: ${formatQuantity(ohms, 'ohm')}.`,
      steps: [`The letter stands for the point: ${text} = ${figure(ohms)} ohm`],
      caution: printed,
      source: 'IEC 60062, letter in place of the point',
    };
  }
  const farads = Number(
    (number * ({ p: 1e-12, n: 1e-9, u: 1e-6, µ: 1e-6 }[letter] as number)).toPrecision(6),
  );
  return {
    answer: `As a capacitor: ${formatQuantity(farads, 'F')}.`,
    steps: [`The letter stands for the point: ${text} = ${figure(farads)} F`],
    caution: printed,
    source: 'IEC 60062, letter in place of the point',
  };
}

function digitCode(text: string): Worked | null {
  if (/^0+$/.test(text)) {
    return {
      answer: 'A link: a resistor of 0 ohm.',
      steps: ['It only joins two places.'],
      caution: printed,
      source: 'IEC 60062',
    };
  }
  const match = /^(\d{2,3})(\d)([BCDFGJKMZ]?)$/i.exec(text);
  if (!match) return null;
  const [, digits = '', last = '', letter = ''] = match;
  const exponent = Number(last);
  const ohms = Number((Number(digits) * 10 ** exponent).toPrecision(6));
  // On capacitors a third digit of 8 or 9 makes it smaller (from memory).
  const shrunk = digits.length === 2 && exponent >= 8;
  const picofarads = shrunk ? Number(digits) * (exponent === 8 ? 0.01 : 0.1) : ohms;
  const tolerance = percents[letter.toUpperCase()];
  const farads = Number((picofarads * 1e-12).toPrecision(6));
  const capacitor = `As a capacitor: ${formatQuantity(farads, 'F')}${tolerance ? `, within ${tolerance}` : ''}.`;
  const resistor = `As a resistor: ${formatQuantity(ohms, 'ohm')}.`;
  return {
    answer: digits.length === 3 ? resistor : letter === '' ? `${capacitor} ${resistor}` : capacitor,
    steps: [
      `${digits} and ${exponent} zeros: ${figure(ohms)} (pF on a capacitor, ohm on a resistor)`,
      ...(shrunk
        ? [`On a capacitor a last digit of ${exponent} means x ${exponent === 8 ? '0.01' : '0.1'}.`]
        : []),
    ],
    caution: printed,
    source: 'IEC 60062, three and four figures; tolerance letters',
  };
}

export const divider: Sum = {
  name: 'divider',
  what: 'The voltage between two resistors',
  example: 'divider 12 V 10 kohm 4.7 kohm',
  work(typed) {
    const all = quantities(typed);
    if (!all) return unclear('I do not know one of the units.');
    const [volts] = inUnit(all, 'V');
    const [upper, lower] = inUnit(all, 'ohm');
    if (volts === undefined || upper === undefined || lower === undefined)
      return unclear('I need the volts, the upper and the lower resistor.');
    if (!(upper + lower > 0)) return unclear('One of them has to be above zero.');
    const out = (volts * lower) / (upper + lower);
    return {
      answer: `${figure(out)} V across the lower one.`,
      steps: [
        `V = Vin R2 / (R1 + R2) = ${figure(volts)} V x ${formatQuantity(lower, 'ohm')} / (${formatQuantity(upper, 'ohm')} + ${formatQuantity(lower, 'ohm')}) = ${figure(out)} V`,
      ],
      caution:
        volts > 60
          ? {
              word: 'DANGER',
              text: 'That is above 60 V. A divider at the mains is live in all of its parts.',
            }
          : {
              word: 'NOTICE',
              text: 'Whatever is joined to it pulls the voltage down, your meter a little, too.',
            },
      source: 'voltage divider',
    };
  },
};

export const battery: Sum = {
  name: 'battery',
  what: 'How much of a battery’s capacity is left',
  example: 'battery 2500 mAh 1800 mAh',
  work(typed) {
    const all = quantities(typed);
    if (!all) return unclear('I do not know one of the units.');
    const [rated, left] = [inUnit(all, 'Ah'), inUnit(all, 'Wh')].find((one) => one.length >= 2) ?? [];
    if (rated === undefined || left === undefined || !(rated > 0))
      return unclear('I need the capacity on its label and the one it has now, both in mAh or both in Wh.');
    const share = left / rated;
    return {
      answer: `${figure(share * 100)} % of its capacity is left.${share < 0.8 ? ' Under 80 % it counts as worn.' : ''}`,
      steps: [`${figure(left)} / ${figure(rated)} = ${figure(share)}`],
      caution: {
        word: 'WARNING',
        text: 'A swollen, hot or damaged pack is never charged and never opened. Put it outside, away from what burns.',
      },
      source: 'ratio of capacities; 80 % as the end of life is common practice, no source',
    };
  },
};
