/** Words as the typeface can show them. */

/** Stands for whatever the typeface has not: one for an emoji or a letter with its marks, however many characters that is. */
export const unknown = '□';

const graphemes = new Intl.Segmenter('en', { granularity: 'grapheme' });
export const signsOf = (words: string): string[] => [...graphemes.segment(words)].map((one) => one.segment);

/**
 * One line without what directs, hides or piles up: control characters, direction marks, what has no width, lone surrogates,
 * more than two marks on a letter. A non-joiner stays between Arabic letters, where it is part of spelling.
 */
export function printable(words: string, has: (codePoint: number) => boolean): string {
  const line = words
    .toWellFormed()
    .normalize('NFC')
    .replace(/[\p{White_Space}\p{Cc}]+/gu, ' ')
    .replace(/(?<!\p{Script=Arabic})\u200c|\u200c(?!\p{Script=Arabic})/gu, '')
    .replace(/(?!\u200c)(?![\u200d\ufe0f])[\p{Cf}\p{Default_Ignorable_Code_Point}]/gu, '')
    .replace(/(\p{M}{2})\p{M}+/gu, '$1')
    .trim();
  return signsOf(line)
    .map((sign) => shown(sign, has))
    .join('');
}

function shown(sign: string, has: (codePoint: number) => boolean): string {
  const [base = '', ...marks] = [...sign].filter((one) => one !== '\u200d' && one !== '\ufe0f');
  if (base === '') return '';
  if (!has(base.codePointAt(0) as number)) return unknown;
  return base + marks.filter((mark) => has(mark.codePointAt(0) as number)).join('');
}
