import { clean, cut } from '../words.ts';

/** Text as Slack takes it: cut to its limits, and with nothing in it that would ping, link or lay out. */

const gap = '\u200b';
/** Slack has no way to write a sign of its markup as such, so each is replaced by one that looks like it. */
const likeness: Readonly<Record<string, string>> = { '*': '∗', _: 'ˍ', '~': '∼', '`': 'ˋ' };

/** Words that stand as they were written, in a text of Slack's markup. */
export const plain = (text: string): string =>
  bare(text)
    .replace(/^(\s*)>/gm, '$1›')
    .replace(/[*_~`]/g, (sign) => likeness[sign] as string)
    .replace(/:(?=[\w+-]+:)/g, `:${gap}`)
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;');

/** Words in a text without markup: no link, no mention, no sign that turns the direction of writing. */
export const bare = (text: string): string =>
  clean(text)
    .replace(/:\/\//g, `:${gap}//`)
    .replace(/<(?=[!@#])/g, `<${gap}`)
    .replace(/@(?=\S)/g, `@${gap}`)
    .replace(/\b(mailto|tel):/gi, `$1${gap}:`);

/** Escaped, and cut so that no escape is cut in two. */
export function fitted(text: string, most: number): string {
  const whole = plain(text);
  if (whole.length <= most) return whole;
  let room = most;
  for (;;) {
    const shorter = plain(cut(text, room));
    if (shorter.length <= most) return shorter;
    room = Math.max(1, room - Math.max(1, shorter.length - most));
  }
}

/** The job card's own headings, lists and stress; everything else stands as it was written. One string a line. */
export const cardLines = (card: string): string[] =>
  card
    .split('\n')
    .filter((line) => line.trim() !== '')
    .map((line) => {
      const [, mark = '', rest = ''] = /^(#{1,3} |- )?(.*)$/.exec(line) ?? [];
      if (mark.startsWith('#')) return `\n*${fitted(rest, 2000)}*`;
      const stressed = rest
        .split('**')
        .map((part, i) => (i % 2 === 1 ? `*${fitted(part, 1400)}*` : fitted(part, 1400)));
      return `${mark === '- ' ? '• ' : ''}${stressed.join('')}`;
    });

/** Lines put together into texts of at most `most` units. A longer line is cut. */
export function packed(lines: readonly string[], most: number): string[] {
  const texts: string[] = [];
  let now = '';
  for (const line of lines) {
    const one = line.length > most ? line.slice(0, most) : line;
    if (now !== '' && now.length + 1 + one.length > most) {
      texts.push(now);
      now = one;
    } else now = now === '' ? one : `${now}\n${one}`;
  }
  if (now.trim() !== '') texts.push(now);
  return texts.filter((text) => text.trim() !== '');
}

/** What a person wrote, out of Slack's markup: mentions as words, links as they look, signs as typed. */
export const written = (text: string, me: string): string =>
  text
    .replaceAll(new RegExp(`<@${me}(?:\\|[^>]*)?>`, 'g'), ' ')
    .replace(/<@[UW][^>|]*(?:\|([^>]*))?>/g, (_, name: string | undefined) => `@${name ?? 'somebody'}`)
    .replace(/<#[^>|]*\|([^>]*)>/g, '#$1')
    .replace(/<!(?:subteam\^[^>|]*|[^>|]*)(?:\|([^>]*))?>/g, (_, name: string | undefined) => name ?? '')
    .replace(/<([^>|]+)\|([^>]*)>/g, '$2')
    .replace(/<([^>]+)>/g, '$1')
    .replaceAll('&lt;', '<')
    .replaceAll('&gt;', '>')
    .replaceAll('&amp;', '&')
    .trim()
    .slice(0, 20_000);
