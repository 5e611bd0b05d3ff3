/** Sums in a file are of short decimals; a difference larger than this was meant. */
export const tolerance = 1e-6;

/** A number as people write it: 0.1 + 0.2 is 0.3. */
export const figure = (value: number): string => String(Number(value.toPrecision(6)));
