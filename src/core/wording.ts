import type { Community } from '../../shared/community.ts';

/** Small words that many messages share: money, minutes, chances, lists. Short and plain, for readers in a hurry. */

/** '£ 12' would be nicer in some places; a currency's three letters are understood in all. */
export const moneyWords = (amount: number, community: Community): string =>
  `${Math.round(amount)} ${community.currency}`;

/** 90 → 'about 1 h 30 min'. */
export function minutesWords(minutes: number): string {
  const whole = Math.max(1, Math.round(minutes));
  if (whole < 60) return `${whole} min`;
  const hours = Math.floor(whole / 60);
  if (hours >= 48) return `${Math.round(hours / 24)} days`;
  const rest = whole % 60;
  return rest === 0 ? `${hours} h` : `${hours} h ${rest} min`;
}

/** A chance in words a reader can weigh: whole percent, never 0 or 100. */
export function chanceWords(p: number): string {
  if (p < 0.01) return 'under 1 %';
  if (p > 0.99) return 'over 99 %';
  return `${Math.round(p * 100)} %`;
}

/** ['a', 'b', 'c'] → 'a, b or c'. */
export function listWords(items: readonly string[], last: 'and' | 'or' = 'and'): string {
  if (items.length <= 1) return items[0] ?? '';
  return `${items.slice(0, -1).join(', ')} ${last} ${items[items.length - 1]}`;
}

/** A name at the start of a sentence. */
export const sentence = (words: string): string => words.charAt(0).toUpperCase() + words.slice(1);

/** An id for somebody who never saw the file it comes from: 'lead-off-look' → 'lead off look'. */
export const readable = (id: string): string => id.replaceAll('-', ' ');

/** The same, where a name is expected. */
export const quoted = (id: string): string => `“${readable(id)}”`;

/** Said whenever a case leaves somebody with an open appliance. */
export const stillOpen =
  'It is still open: pull the plug if it is in, leave it out, and let nobody reach in.';

/** A name inside a sentence: "A failed LED" → "a failed LED"; what is all capitals stays. */
export const inline = (name: string): string =>
  /^\p{Lu}(?!\p{Lu})/u.test(name) ? name.charAt(0).toLowerCase() + name.slice(1) : name;
