import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { clean } from '../../../adapters/terminal/clean.ts';
import { wrapMarkdown } from '../../../adapters/terminal/markdown.ts';
import { columns } from '../../../adapters/terminal/wrap.ts';

const lines = (text: string, width = 40) => wrapMarkdown(text, width);

describe('a job card', () => {
  it('stays as it is where it fits', () => {
    const card = '# Job card\n\n- one\n  - two\n\n| a | b |\n|---|---|\n| 1 | 2 |\n\n```\n  x  =  1\n```';
    expect(lines(card)).toEqual(card.split('\n'));
  });

  it('hangs long items under their text and repeats the mark of a quotation', () => {
    expect(
      lines(
        '10. Out of the wall, and keep the plug where you see it\n> She said that it went dark after a storm',
      ),
    ).toEqual([
      '10. Out of the wall, and keep the plug',
      '    where you see it',
      '> She said that it went dark after a',
      '> storm',
    ]);
  });

  it('wraps the cells of a wide table and keeps its columns', () => {
    expect(
      lines(
        '| Check | Answer |\n| --- | --- |\n| Torch | a faint picture that moves with the sound |\n| Rail | 4.97 V |',
      ),
    ).toEqual([
      '| Check | Answer                       |',
      '| ----- | ---------------------------- |',
      '| Torch | a faint picture that moves   |',
      '|       | with the sound               |',
      '| Rail  | 4.97 V                       |',
    ]);
  });

  it('turns a table with too many columns into short lists', () => {
    const head = '| One | Two | Three | Four | Five |\n|---|---|---|---|---|\n';
    expect(lines(`${head}| first value | second | third value | fourth | fifth |`)).toEqual([
      '- One: first value',
      '  Two: second',
      '  Three: third value',
      '  Four: fourth',
      '  Five: fifth',
    ]);
  });

  it('breaks what stands between fences without touching its spaces', () => {
    expect(lines('```\nab   cd\n```', 5)).toEqual(['```', 'ab   ', 'cd', '```']);
  });

  it('fits the width whatever it holds', () => {
    const piece = fc.oneof(
      fc.string({ unit: 'binary', maxLength: 60 }),
      fc.constantFrom(
        '|',
        '\n|',
        '| --- |',
        '\n',
        '\n- ',
        '\n> ',
        '```',
        '\n```\n',
        '## ',
        '   ',
        '\n1. ',
        '\\|',
      ),
    );
    fc.assert(
      fc.property(fc.array(piece, { maxLength: 40 }), (parts) => {
        for (const line of lines(clean(parts.join('')), 80)) expect(columns(line)).toBeLessThanOrEqual(80);
      }),
      { seed: 103, numRuns: 1000 },
    );
  });
});
