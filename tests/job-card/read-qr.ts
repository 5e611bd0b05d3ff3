/**
 * Reads a QR code of version 1 with correction level Q (ISO/IEC 18004:2015, clauses 6.4.4, 7.3.4, 7.7.3, 7.8, 7.9) that is not
 * spoilt: thirteen codewords of data in one block. It knows nothing of how the code was made.
 */
const alphanumeric = '0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:';
const masks: readonly ((row: number, column: number) => boolean)[] = [
  (i, j) => (i + j) % 2 === 0,
  (i) => i % 2 === 0,
  (_, j) => j % 3 === 0,
  (i, j) => (i + j) % 3 === 0,
  (i, j) => (Math.floor(i / 2) + Math.floor(j / 3)) % 2 === 0,
  (i, j) => ((i * j) % 2) + ((i * j) % 3) === 0,
  (i, j) => (((i * j) % 2) + ((i * j) % 3)) % 2 === 0,
  (i, j) => (((i + j) % 2) + ((i * j) % 3)) % 2 === 0,
];

export function readQr(rows: readonly (readonly boolean[])[]): string {
  const dark = (row: number, column: number): number => (rows[row]?.[column] ? 1 : 0);
  const number = (bits: readonly number[]): number => bits.reduce((value, bit) => value * 2 + bit, 0);
  // The format stands around the upper left corner, its highest bit first, and is masked itself.
  const along = [0, 1, 2, 3, 4, 5, 7, 8].map((column) => dark(8, column));
  const up = [7, 5, 4, 3, 2, 1, 0].map((row) => dark(row, 8));
  const format = number([...along, ...up]) ^ 0b101010000010010;
  if (format >> 13 !== 0b11) throw new Error('Not of correction level Q.');
  const mask = masks[(format >> 10) & 7] as (typeof masks)[number];
  const taken = (row: number, column: number): boolean =>
    (row < 9 && column < 9) ||
    (row < 9 && column > 12) ||
    (row > 12 && column < 9) ||
    row === 6 ||
    column === 6;
  const bits: number[] = [];
  let upwards = true;
  for (const right of [20, 18, 16, 14, 12, 10, 8, 5, 3, 1]) {
    for (let i = 0; i < 21; i++) {
      const row = upwards ? 20 - i : i;
      for (const column of [right, right - 1])
        if (!taken(row, column)) bits.push(dark(row, column) ^ (mask(row, column) ? 1 : 0));
    }
    upwards = !upwards;
  }
  let at = 0;
  const take = (count: number): number => {
    at += count;
    return number(bits.slice(at - count, at));
  };
  if (take(4) !== 0b0010) throw new Error('Not alphanumeric.');
  const length = take(9);
  let words = '';
  while (words.length + 1 < length) {
    const pair = take(11);
    words += `${alphanumeric[Math.floor(pair / 45)]}${alphanumeric[pair % 45]}`;
  }
  return words.length < length ? words + alphanumeric[take(6)] : words;
}
