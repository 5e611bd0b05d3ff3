import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { clean, cleanLine } from '../../../adapters/terminal/clean.ts';

describe('text that is shown', () => {
  it('loses colours, cursor moves, titles and links, and keeps its words', () => {
    expect(clean('\u001b[31mred\u001b[0m \u001b[2Jgone \u001b]0;title\u0007left')).toBe('red gone left');
    expect(clean('\u001b]8;;https://example.org\u001b\\here\u001b]8;;\u001b\\')).toBe('here');
    expect(clean('\u009b31mred')).toBe('red');
  });

  it('loses what rings, overwrites or hides', () => {
    expect(clean('bell\u0007 back\b\b null\0 delete\u007f next\u0085')).toBe('bell back null delete next');
    expect(clean('50\u202eV 03\u202c \u2066x\u2069 so\u00adft\ufeff')).toBe('50V 03 x soft');
  });

  it('never carries the cursor back to the start of a line', () => {
    expect(clean('safe\rDANGER\r\nnext\u2028last')).toBe('safe\nDANGER\nnext\nlast');
  });

  it('keeps accents but no pile of them', () => {
    expect(clean('Zoë e\u0301')).toBe('Zoë e\u0301');
    expect(clean(`a${'\u0301'.repeat(50)}b`)).toBe(`a${'\u0301'.repeat(6)}b`);
  });

  it('keeps the joiners that some scripts need and the space that holds a value and its unit together', () => {
    expect(clean('می\u200cخواهم 4.97\u00a0V')).toBe('می\u200cخواهم 4.97\u00a0V');
  });

  it('stands on one line where one line is wanted', () => {
    expect(cleanLine('  a \n\n b\r\nc ')).toBe('a b c');
  });

  it('holds no control character whatever came in', () => {
    fc.assert(
      fc.property(
        fc.array(hostile).map((parts) => parts.join('')),
        (text) => {
          expect(clean(text)).not.toMatch(/(?!\n)[\p{Cc}\p{Cs}]|[\u202a-\u202e\u2066-\u2069]/u);
          expect(cleanLine(text)).not.toContain('\n');
        },
      ),
      { seed: 101, numRuns: 500 },
    );
  });

  it('is cleaned in time that grows with its length, not with its square', () => {
    const before = performance.now();
    for (const part of [
      '\u001b]',
      '\u001b[1;',
      '\u009b',
      '\u009d',
      '\u001b]8;;',
      'a\u0301',
      '\u0301',
      ' \n',
      ' ',
      '\r',
    ])
      cleanLine(`${part.repeat(200_000)}x`);
    // A tenth of a second or two; the square of any of them is minutes.
    expect(performance.now() - before).toBeLessThan(3000);
  });
});

const hostile = fc.oneof(
  fc.string({ unit: 'binary' }),
  fc.constantFrom(
    '\u001b[',
    '\u001b]0;',
    '\u0007',
    '\u009d',
    '\u009c',
    '31m',
    '\r',
    '\n',
    '\ud800',
    '\u202e',
    '\u001bP',
  ),
);
