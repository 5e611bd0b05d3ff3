import type { Outbound } from '../../../shared/outbound.ts';
import { say } from '../turn.ts';
import { reckon } from './reckon.ts';
import type { Place } from './sum.ts';

/** `reckon element 2200 W`, typed into a conversation. */
const asked = /^\s*\/?reckon\b\s*/i;

/** The sum that the words ask for; null where they ask for none. */
export const sumIn = (words: string): string | null => (asked.test(words) ? words.replace(asked, '') : null);

/** The answer, its formula with the numbers in it, the caution, and where it comes from. */
export function sumLines(typed: string, place: Place): readonly string[] {
  const worked = reckon(typed, place);
  if ('why' in worked) return [worked.why];
  const { answer, steps, caution, source } = worked;
  return [answer, ...steps, `${caution.word}: ${caution.text}`, `Source: ${source}.`];
}

export function sumMessage(typed: string, place: Place): Outbound {
  const [answer = '', ...rest] = sumLines(typed, place);
  return say(answer, rest);
}
