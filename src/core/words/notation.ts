/** The quantities that repairers read on a meter. `C` is degrees Celsius, `Ah` ampere-hours; the rest are SI. */
export type Unit = 'V' | 'A' | 'ohm' | 'F' | 'W' | 'Hz' | 'C' | 's' | 'J' | 'Ah';
export type Current = 'dc' | 'ac';

interface Notation {
  readonly symbol: string;
  readonly plural: string;
  /** Lower-case words that name the unit; a prefix may stand before each. */
  readonly words: readonly string[];
  /** Prefixes that meters show for it: no milliohms, and 4700 µF rather than 4.7 mF. */
  readonly shown: readonly string[];
  /** Below or above, it was mistyped: wider than any hand-held meter. */
  readonly least: number;
  readonly most: number;
  readonly example: string;
}

/** How each unit is written, spoken and bounded. Words and bounds: common practice, no source. */
// biome-ignore format: a table reads best as rows
export const NOTATION: Readonly<Record<Unit, Notation>> = {
  V:   { symbol: 'V', plural: 'volts', words: ['v', 'volt', 'volts', 'voltage'], shown: ['µ', 'm', '', 'k'], least: -1e5, most: 1e5, example: '4.97 V' },
  A:   { symbol: 'A', plural: 'amps', words: ['a', 'amp', 'amps', 'ampere', 'amperes'], shown: ['µ', 'm', ''], least: -1e4, most: 1e4, example: '0.35 A' },
  ohm: { symbol: 'Ω', plural: 'ohms', words: ['ω', 'ohm', 'ohms', 'r', 'resistance'], shown: ['', 'k', 'M', 'G'], least: 0, most: 1e12, example: '4.7 kΩ' },
  F:   { symbol: 'F', plural: 'farads', words: ['f', 'farad', 'farads'], shown: ['p', 'n', 'µ', ''], least: 0, most: 1e4, example: '470 µF' },
  W:   { symbol: 'W', plural: 'watts', words: ['w', 'watt', 'watts'], shown: ['m', '', 'k'], least: 0, most: 1e6, example: '60 W' },
  Hz:  { symbol: 'Hz', plural: 'hertz', words: ['hz', 'hertz'], shown: ['', 'k', 'M', 'G'], least: 0, most: 1e11, example: '50 Hz' },
  C:   { symbol: '°C', plural: 'degrees Celsius', words: ['c', '°c', 'celsius'], shown: [''], least: -273.15, most: 3000, example: '85 °C' },
  s:   { symbol: 's', plural: 'seconds', words: ['s', 'sec', 'secs', 'second', 'seconds'], shown: ['µ', 'm', ''], least: 0, most: 1e7, example: '12 s' },
  J:   { symbol: 'J', plural: 'joules', words: ['j', 'joule', 'joules'], shown: ['m', '', 'k'], least: 0, most: 1e6, example: '0.5 J' },
  Ah:  { symbol: 'Ah', plural: 'ampere-hours', words: ['ah'], shown: ['m', ''], least: 0, most: 1e4, example: '2.2 Ah' },
};

/** Powers of ten, SI Brochure (9th edition) Table 7; `u`, `K` and the spoken forms: common practice, no source. */
// biome-ignore format: a table reads best as rows
const PREFIXES: readonly (readonly [string, number])[] = [
  ['pico', -12], ['nano', -9], ['micro', -6], ['milli', -3], ['kilo', 3], ['kil', 3], ['mega', 6], ['meg', 6], ['giga', 9],
  ['p', -12], ['n', -9], ['µ', -6], ['u', -6], ['U', -6], ['m', -3], ['k', 3], ['K', 3], ['M', 6], ['G', 9], ['', 0],
];
const EXPONENTS: ReadonlyMap<string, number> = new Map(PREFIXES);
const UNITS: ReadonlyMap<string, Unit> = new Map(
  (Object.keys(NOTATION) as Unit[]).flatMap((unit) =>
    NOTATION[unit].words.map((word) => [word, unit] as const),
  ),
);

/** One spelling for everything that looks alike: digits, micro and ohm signs, minus, apostrophes, overload. */
export function tidy(text: string): string {
  return (
    text
      // Before the compatibility form, which would make 4.92 of "4.9²" and "oC" of "ºC".
      .replace(/\p{No}/gu, '?')
      .replace(/\u00ba/g, '°')
      .normalize('NFKC')
      .replace(/\p{Cf}|\ufe0f/gu, '')
      .replace(/[\u0660-\u0669\u06f0-\u06f9]/g, (digit) => String(digit.charCodeAt(0) & 15))
      .replace(/\u066b/g, '.')
      .replace(/[\u2018\u2019\u02bc\u066c`]/g, "'")
      .replace(/[\u2010-\u2013\u2212]/g, '-')
      .replace(/\u03bc/g, '\u00b5')
      .replace(/\b([ad])\. ?c\b\.?/gi, '$1c')
      .replace(/\b(?:do|does|did) not\b/gi, 'not')
      // "0L" and "O.L" of the display, and the lone 1 at the left of an old one.
      .replace(/(?<![\p{L}\d])[oO0][.,]? ?[lL](?![\p{L}\d])|(?<![\d.,'])1 +\.(?!\d)/gu, 'OL')
  );
}

/** A typed scale: a power of ten, and its unit if one was named ("kΩ", "mVDC", "k"). */
export interface Scale {
  readonly exponent: number;
  readonly unit: Unit | null;
  readonly current: Current | null;
}

/** Reads a word as prefix, unit and kind of current; null if it is none of these. `m` and `M` differ. */
export function readScale(word: string): Scale | null {
  const lower = word.toLowerCase();
  const front = /^[ad]c/.exec(lower)?.[0];
  const back = front ? undefined : /[ad]c$/.exec(lower)?.[0];
  const current = (front ?? back ?? null) as Current | null;
  const bare = front ? word.slice(2) : back ? word.slice(0, -2) : word;
  if (current && !bare) return { exponent: 0, unit: null, current };
  for (const [prefix, exponent] of PREFIXES) {
    if (!(prefix.length > 1 ? bare.toLowerCase() : bare).startsWith(prefix)) continue;
    const rest = bare.slice(prefix.length).toLowerCase();
    const unit = UNITS.get(rest) ?? null;
    if (unit === null && rest) continue;
    // "nr" is a number in some languages and "mC" no temperature: these two are never scaled.
    if (exponent !== 0 && (unit === 'C' || rest === 'r')) continue;
    if (current && unit !== 'V' && unit !== 'A') continue;
    return { exponent, unit, current };
  }
  return null;
}

/**
 * Plain decimal digits for a typed number, 'ambiguous', or null if it is not one number.
 * The last of point and comma is the decimal sign; groups of three part thousands ("1 234,5", "1,234.5", "1.234,5").
 * A lone point is always decimal, as on a meter. "1,234" may be either and a thousandfold error can hurt: ambiguous.
 */
export function readDigits(raw: string): string | 'ambiguous' | null {
  if (/^[1-9]\d{0,2},\d{3}$/.test(raw)) return 'ambiguous';
  if (/^(?:\d+(?:[.,]\d+)?|[.,]\d+)$/.test(raw)) return raw.replace(',', '.');
  const parts = /^([1-9]\d{0,2}([ '.,])\d{3}(?:\2\d{3})*)(?:([.,])(\d+))?$/.exec(raw);
  if (!parts || parts[2] === parts[3]) return null;
  return `${parts[1]?.replace(/\D/g, '')}.${parts[4] ?? '0'}`;
}

const threeDigits = new Intl.NumberFormat('en', { maximumSignificantDigits: 3, useGrouping: false });

/** Writes a quantity as a meter shows it: three significant digits, prefix chosen. "4.7 kΩ", "325 V d.c." */
export function formatQuantity(value: number, unit: Unit, current?: Current | null): string {
  const { symbol, shown } = NOTATION[unit];
  // Rounded first, so that 999.6 Ω becomes 1 kΩ and not 1000 Ω; plus zero, so that -0 loses its sign.
  const rounded = Number(value.toPrecision(3)) + 0;
  // Not 10 ** n, which is inexact for some n.
  const power = (prefix: string) => Number(`1e${EXPONENTS.get(prefix) ?? 0}`);
  const fits = shown.filter((prefix) => Math.abs(rounded) >= power(prefix));
  const prefix = rounded !== 0 && Number.isFinite(rounded) ? (fits.at(-1) ?? shown[0] ?? '') : '';
  const digits = threeDigits.format(rounded / power(prefix));
  const suffix = current && (unit === 'V' || unit === 'A') ? ` ${current[0]}.c.` : '';
  return `${digits} ${prefix}${symbol}${suffix}`;
}
