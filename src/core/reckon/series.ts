/** Preferred numbers of IEC 60063. */
const e24 = [10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91];

/** E96 as round(100 * 10^(i/96)), i from 0 to 95. */
export const e96 = (i: number): number => Math.round(100 * 10 ** (i / 96));

/** The next value of E24 at or above this one, ohm. */
export function nextE24(ohms: number): number {
  const decade = Math.floor(Math.log10(ohms) + 1e-9);
  for (const exponent of [decade, decade + 1])
    for (const digits of e24) {
      const value = Number((digits * 10 ** (exponent - 1)).toPrecision(6));
      if (value >= ohms * (1 - 1e-9)) return value;
    }
  throw new RangeError(`no preferred value above ${ohms}`);
}
