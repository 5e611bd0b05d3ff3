import { clean, cut } from '../words.ts';

/** Text as Discord takes it: cut to its limits, and with nothing in it that would ping, link or lay out. */

/** One line that shows something, at most `most` units: for names of buttons, answers and fields, which may not be blank. */
export const line = (text: string, most: number): string =>
  cut(clean(text).replace(/\s+/g, ' ').trim(), most) || '…';

/** A zero-width space: what it stands in is no longer a mention or a link, and looks the same. */
const gap = '\u200b';

/** Words that stand as they were written, whatever they hold. */
export const plain = (text: string): string =>
  unlinked(text)
    .replace(/[\\*_~`|<>[\]#]/g, '\\$&')
    .replace(/^(\s*)(\d*)([-+.)])(?=\s)/gm, '$1$2\\$3');

/** No mention, no link, no invitation, no emoji by name. */
const unlinked = (text: string): string =>
  clean(text)
    .replace(/@/g, `@${gap}`)
    .replace(/:\/\//g, `:${gap}//`)
    .replace(/\b(mailto|tel|sms):/gi, `$1${gap}:`)
    .replace(/\b(discord(?:app)?)\.(?=\w)/gi, `$1${gap}.`)
    .replace(/:(?=\w+:)/g, `:${gap}`);

/** The job card's own headings, lists and stress; everything else stands as it was written. */
export function cardText(card: string): string {
  return card
    .split('\n')
    .filter((line) => line.trim() !== '')
    .map((line) => {
      const [, mark = '', rest = ''] = /^(#{1,3} |- )?(.*)$/.exec(line) ?? [];
      const heading = mark.startsWith('#') ? '### ' : mark;
      return heading + plain(rest).replaceAll('\\*\\*', '**');
    })
    .join('\n');
}

/** Parts of at most `most` units, none of them blank, broken between lines where there are any, else between words. */
export function parts(text: string, most: number): string[] {
  const found: string[] = [];
  let left = text;
  while (left.length > most) {
    const room = left.slice(0, most);
    const at = Math.max(room.lastIndexOf('\n'), 0) || Math.max(room.lastIndexOf(' '), 0);
    const end = at > most / 2 ? at : cut(left, most).length - 1;
    found.push(left.slice(0, end).trimEnd());
    left = left.slice(end).trimStart();
  }
  return [...found, left].filter((part) => part.trim() !== '');
}
