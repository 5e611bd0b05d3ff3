/**
 * When somebody wants to be asked, or that they do not want to be. Only what is said in so many words about asking counts,
 * and only when nothing else is said with it: a number alone is a reading, or an answer, and never an hour.
 */
export type AboutAsking =
  | { readonly kind: 'hour'; readonly hour: number }
  /** A clock of twelve hours, and neither morning nor evening said. */
  | { readonly kind: 'unclear' }
  | { readonly kind: 'quiet' };

const please = '(?:(?:please|ok|okay|yes|hey|hi|just|only|but|and|then|better|rather) )*';
const can = '(?:(?:can|could|will|would) you (?:please )?|you (?:can|may|could|should) (?:only )?)?';
const ask =
  '(?:(?:ask|remind|write|message|ping|contact|tell|text) (?:to )?(?:me|us)(?: (?:again|about (?:it|this|that)))?|come back(?: to me| to us)?)';
const day = '(?: (?:every day|each day|tomorrow|then|instead|next time))?';
const clock = `(?:at |around |about |after |from |by |past |not before |only after |only at )*`;
const time = String.raw`(\d{1,2})(?:[:.h](\d{2}))?(?: ?(am|pm|a\.m|p\.m|o'clock|h|hours))?(?: (?:in the )?(morning|afternoon|evening|at night))?`;
const part = `(?:in the |only in the |at |around |not before (?:the )?|after )?(morning|mornings|noon|midday|lunchtime|afternoon|afternoons|evening|evenings)`;
const end = '(?: (?:on|or later|onwards|please|thanks|thank you))*';

const asked = new RegExp(`^${please}${can}${ask}${day} (?:${clock}${time}|${part})${day}${end}$`);
/** "Not before six" is about asking, too, where it is all that is said. */
const bounded = new RegExp(`^${please}(?:not before|only after|never before) (?:${time}|${part})${end}$`);
const refusing = `(?:do not|don't|dont|never) (?:ask|remind|pester|bother|write|message|ping) (?:to )?(?:me|us)`;
const stopping = `stop (?:asking|reminding|pestering|bothering|writing|messaging|pinging)(?: (?:to )?(?:me|us))?`;
const quiet = new RegExp(
  `^${please}(?:${can}${refusing}|${can}${stopping}|no more reminders|stop the reminders)(?: (?:again|any more|anymore|about (?:it|this|that)|ever))*${end}$`,
);

/** A part of the day as an hour in it. */
const partHours: Readonly<Record<string, number>> = {
  morning: 9,
  noon: 12,
  midday: 12,
  lunchtime: 12,
  afternoon: 15,
  evening: 19,
};

/** Null where the words say nothing of it. */
export function aboutAsking(words: string): AboutAsking | null {
  if (words.length > 200) return null;
  const plain = words
    .normalize('NFKC')
    .toLowerCase()
    .replaceAll('’', "'")
    .replace(/[!?"“”;,]+/g, ' ')
    .replace(/\.(?=\s|$)/g, ' ')
    .replace(/\s+/g, ' ')
    .trim();
  if (quiet.test(plain)) return { kind: 'quiet' };
  const found = asked.exec(plain) ?? bounded.exec(plain);
  if (!found) return null;
  const [, digits, minutes, half, within, named] = found;
  if (digits === undefined) {
    const hour = partHours[(named ?? '').replace(/s$/, '')];
    return hour === undefined ? null : { kind: 'hour', hour };
  }
  const hour = hourOf(Number(digits), minutes, half, within);
  if (hour !== null || Number(digits) > 12) return hour;
  // "07:00" is written by who counts to 24; a bare 7 may be either.
  return digits.length === 2 && minutes !== undefined && half === undefined
    ? { kind: 'hour', hour: Number(digits) + (Number(minutes) > 0 ? 1 : 0) }
    : { kind: 'unclear' };
}

function hourOf(
  typed: number,
  minutes: string | undefined,
  half: string | undefined,
  within: string | undefined,
): AboutAsking | null {
  if (typed > 24 || Number(minutes ?? 0) > 59) return null;
  // Never earlier than was said.
  const at = (whole: number): AboutAsking => ({
    kind: 'hour',
    hour: (whole + (Number(minutes ?? 0) > 0 ? 1 : 0)) % 24,
  });
  if (typed > 12 || typed === 0) return at(typed);
  // The night begins in the evening, and goes on past twelve.
  if (within === 'at night' && half === undefined && (typed === 12 || typed < 6)) return at(typed % 12);
  if (half?.startsWith('p') || (within !== undefined && within !== 'morning')) return at((typed % 12) + 12);
  if (half?.startsWith('a') || within === 'morning') return at(typed % 12);
  return typed === 12 ? at(12) : null;
}
