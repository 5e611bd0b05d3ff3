/** What all chat platforms need of words. */

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

/** No half signs, no control characters, and none that turn the direction of writing, so that words look like others. */
export const clean = (text: string): string =>
  text.toWellFormed().replace(/(?![\n\t])\p{Cc}|[\u202a-\u202e\u2066-\u2069]/gu, '');

/** 75 → '1 h 15 min'; under a minute counts as one. */
export function minutesText(minutes: number): string {
  const whole = Math.max(1, Math.round(minutes));
  if (whole < 60) return `${whole} min`;
  const hours = Math.floor(whole / 60);
  if (hours >= 48) return `${Math.round(hours / 24)} days`;
  return whole % 60 === 0 ? `${hours} h` : `${hours} h ${whole % 60} min`;
}

/** "Again" and the like: what a settled case hears in a thread in which people go on talking. */
export const wakes = (words: string): boolean => /^(again|take it up again)[.!]?$/i.test(words);

/** Keeps what is remembered from growing for ever. */
export function forgetOldest(known: Map<string, unknown> | Set<string>, most = 5000): void {
  if (known.size > most) known.delete(known.keys().next().value as string);
}
