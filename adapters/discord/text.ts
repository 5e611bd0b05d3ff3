/** Text as Discord takes it: cut to its limits, and with nothing in it that would ping, link or lay out. */

const graphemes = new Intl.Segmenter('en', { granularity: 'grapheme' });

/** At most `most` UTF-16 units, never half a sign, with an ellipsis where something is missing. */
export function cut(text: string, most: number): string {
  if (text.length <= most) return text;
  let kept = '';
  for (const { segment } of graphemes.segment(text.slice(0, most))) {
    if (kept.length + segment.length > most - 1) break;
    kept += segment;
  }
  return `${kept}…`;
}

/** One line that shows something, at most `most` units: for names of buttons, answers and fields, which may not be blank. */
export const line = (text: string, most: number): string =>
  cut(clean(text).replace(/\s+/g, ' ').trim(), most) || '…';

/** No half signs, no control characters, and none that turn the direction of writing, so that words look like others. */
const clean = (text: string): string =>
  text.toWellFormed().replace(/(?![\n\t])\p{Cc}|[\u202a-\u202e\u2066-\u2069]/gu, '');

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

/** 75 → '1 h 15 min'; under a minute counts as one. */
export function minutesText(minutes: number): string {
  const whole = Math.max(1, Math.round(minutes));
  if (whole < 60) return `${whole} min`;
  const hours = Math.floor(whole / 60);
  if (hours >= 48) return `${Math.round(hours / 24)} days`;
  return whole % 60 === 0 ? `${hours} h` : `${hours} h ${whole % 60} min`;
}
