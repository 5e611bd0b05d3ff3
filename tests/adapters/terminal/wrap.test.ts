import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { clean } from '../../../adapters/terminal/clean.ts';
import { chop, columns, wrap } from '../../../adapters/terminal/wrap.ts';

describe('columns', () => {
  // Widths by Unicode Standard Annex 11 (wide and fullwidth take two), from memory. The whole table was compared once
  // with Python's `unicodedata` (Unicode 14): no wide character is counted as less.
  it.each([
    ['volt', 4],
    ['Ω ü é', 5],
    ['e\u0301', 1],
    ['漢字', 4],
    ['ｖ', 2],
    ['한글', 4],
    ['\u{1f50c}', 2],
    ['क\u093f', 2],
    ['a\u200db', 2],
  ])('of %s are %i', (text, count) => {
    expect(columns(text)).toBe(count);
  });
});

describe('wrapping', () => {
  it('breaks between words and hangs the rest', () => {
    expect(wrap('one two three four', 11, '1. ', '   ')).toEqual(['1. one two', '   three', '   four']);
  });

  it('keeps line ends and drops spaces that nobody sees', () => {
    expect(wrap('one\n\n  two   three', 20)).toEqual(['one', '', 'two three']);
  });

  it('breaks a word that is too long, also when the prefixes differ', () => {
    expect(wrap('aaaaabbbbbcc dd', 7, '> ', '')).toEqual(['> aaaaa', 'bbbbbcc', 'dd']);
    expect(wrap('漢字漢字', 5)).toEqual(['漢字', '漢字']);
  });

  it('loses no visible character and never runs over', () => {
    const any = fc.string({ unit: 'binary', maxLength: 300 }).map(clean);
    fc.assert(
      fc.property(any, fc.integer({ min: 8, max: 80 }), (text, width) => {
        const lines = wrap(text, width, '  - ', '    ');
        for (const line of lines) expect(columns(line)).toBeLessThanOrEqual(width);
        const visible = (part: string) => part.replace(/[\s\p{Mn}\p{Me}\p{Cf}]/gu, '');
        expect(visible(lines.map((line) => line.slice(4)).join(''))).toBe(visible(text));
      }),
      { seed: 102, numRuns: 1000 },
    );
  });

  it('chops a text that keeps its spaces', () => {
    expect(chop('ab  cd e', 3)).toEqual(['ab ', ' cd', ' e']);
    expect(chop('', 3)).toEqual(['']);
  });
});
