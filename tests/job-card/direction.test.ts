import fc from 'fast-check';
import { expect, test } from 'vitest';
import { inOrder } from '../../src/job-card/direction.ts';

/** The runs as they stand from left to right; the signs of a run from right to left are turned around by the typeface. */
const order = (words: string): string[] => inOrder([{ words, bold: false }]).map((one) => one.words);

test('what has nothing from right to left stays as it is', () => {
  expect(order('a (b) 12')).toEqual(['a (b) 12']);
});

test('words from right to left change places, and numbers among them keep their digits in order', () => {
  expect(order('שלום 12.5 עולם').join('')).toBe('עולם 12.5 שלום');
  expect(order('سلام 12:30 يوم').join('')).toBe('يوم 12:30 سلام');
});

test('words from left to right stand where they belong between them', () => {
  expect(order('שלום עולם Model X200 דגם').join('')).toBe('עולם שלום Model X200 דגם');
});

test('each way of writing has a run of its own, also where they touch, and no sign is lost', () => {
  expect(order('ABאבⴰⵣسلام')).toEqual(['AB', 'אב', 'ⴰⵣ', 'سلام']);
  fc.assert(
    fc.property(fc.string({ unit: 'binary' }), (some) => {
      const words = some.replace(/[()[\]{}<>«»]/g, '').toWellFormed();
      expect([...order(words).join('')].sort()).toEqual([...words].sort());
    }),
  );
});

test('brackets around words from right to left face them, as UAX 9 has it (N0, L4)', () => {
  expect(order('“אב (גד) A”').join('')).toBe('“(גד) אב A”');
  expect(order('A (אב) B').join('')).toBe('A (אב) B');
});

test('brackets by the thousand do no harm', () => {
  const many = `א${'(א'.repeat(5000)}${')'.repeat(5000)}`;
  expect([...order(many).join('')]).toHaveLength([...many].length);
});
