import type { OfferedChoice, Outbound } from '../../shared/outbound.ts';
import type { View } from './next.ts';
import { say } from './turn.ts';
import { wantsReading } from './words/interpret.ts';

/**
 * What is said to words that are no answer. It ends with something to do, and who writes twice is not told the same
 * sentence twice: the words kept so far are counted, because nothing else changes in between.
 */
export function notUnderstood(view: View, words: string, choices: readonly OfferedChoice[]): Outbound {
  const { kase, tables } = view;
  const { question } = kase;
  const second = kase.words.length % 2 === 0;
  if (question?.kind === 'flag') {
    const elsewhere = fromElsewhere.has(question.step)
      ? ' If it surely came from something else, such as a toaster, and is over, answer no.'
      : '';
    return listed(`To be safe I take only one of these answers here.${elsewhere}`, choices);
  }
  if (isQuestion(words) && fears.test(words)) return say(inFear);
  if (isQuestion(words)) {
    return say(
      second
        ? 'That is a question for people: say “ask a person”, and they take over. “Why?” tells what this step is good for.'
        : 'I cannot answer that; I only know the next step. “Why?” explains it, “where are we?” sums up, and “ask a person” hands over to people.',
    );
  }
  const kept = second
    ? 'That is no answer I know here, but it stays with the case.'
    : 'I did not understand that as an answer. I keep it for whoever looks at this.';
  if (question?.kind === 'complaint') {
    return say(
      second
        ? 'I cannot place that yet. If no answer comes close, say “none of these”.'
        : 'I do not know what to make of that yet. Which of the answers comes closest?',
    );
  }
  if (!question) return say(second ? 'Noted. Nothing is asked just now.' : 'I keep that with the case.');
  if (wantsReading(question, tables.flow))
    return say(
      `${kept} Please type the number that the meter shows${choices.length > 0 ? ', take one of the answers' : ''}, or say “can’t do this”.`,
    );
  if (choices.length === 1) return say(`${kept} Say “yes” when it is done, or “can’t do this”.`);
  return listed(`${kept} ${second ? 'These are the answers:' : 'Please choose one of these:'}`, choices);
}

/** Signs that another thing in the room may have given. Gas or flames are a danger wherever they come from. */
const fromElsewhere: ReadonlySet<string> = new Set(['smoke', 'burning-smell']);

/** Numbered as the answers are, so that a number can be typed back. */
const listed = (words: string, choices: readonly OfferedChoice[]): Outbound => ({
  kind: 'say',
  words,
  list: choices.map((choice) => choice.label),
  numbered: true,
});

const fears = /\b(?:danger(?:ous)?|safe(?:ly)?|risk(?:y|s)?|kills?|electrocuted?|explode)\b/i;
const inFear =
  'What can hurt you stands at the top of each step, before you do it. Where you are not sure, leave it switched off, and say “can’t do this” or “ask a person”. Smoke, a burning smell or a shock: say “danger”.';

const asks =
  /^(?:(?:and|but|so|ok|sorry|hm+|please)[ ,]+)*(?:what|how|is|are|am|can|could|should|do|does|did|will|would|who|when|which|where|may|have)\b/i;

/** By how it begins: "a kind of box?" may well be meant as an answer. */
const isQuestion = (words: string): boolean => asks.test(words.trim());
