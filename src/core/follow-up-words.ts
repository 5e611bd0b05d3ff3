import type { Case } from '../../shared/case.ts';
import type { Flow } from '../../shared/flow.ts';
import type { Ask, OfferedChoice } from '../../shared/outbound.ts';
import type { Aftermath } from '../../shared/outcome.ts';
import { mostTimes, orderOf, timesAsked } from './follow-up.ts';
import { minutesWords } from './wording.ts';

/** What the desk says when it asks by itself, and what can be answered. */

type Body = Pick<Ask, 'phase' | 'title' | 'hazards' | 'how' | 'question' | 'choices' | 'controls'>;

/** Not to be asked again: on everything that the desk asks by itself. */
export const quietChoice: OfferedChoice = { id: 'quiet', label: 'Do not ask me again' };

const fixedChoices: readonly OfferedChoice[] = [
  { id: 'works', label: 'Yes, it still works' },
  { id: 'back', label: 'No, the same fault is back' },
  { id: 'other', label: 'No, something else is wrong now' },
];
const repairableChoices: readonly OfferedChoice[] = [
  { id: 'repaired', label: 'It is repaired and works' },
  { id: 'not-yet', label: 'It is not repaired yet' },
  { id: 'given-up', label: 'It was given up, or recycled' },
];

/** After the end: of what was fixed, whether it still works; else what became of it. Nothing is to be done for it. */
export function afterBody(kase: Case, flow: Flow): Body {
  const fixed = kase.outcome?.outcome !== 'Repairable';
  return {
    phase: 'follow-up',
    title: fixed ? 'How it went on' : 'What became of it',
    hazards: [],
    how: [],
    question: fixed
      ? `Does your ${flow.noun} still work?`
      : `Your ${flow.noun} could be repaired when we spoke last. What became of it?`,
    choices: [...(fixed ? fixedChoices : repairableChoices), quietChoice],
    controls: ['unsure', 'why', 'where', 'stop'],
  };
}

/**
 * After a day, what was prepared for a step inside is over: this asks whether it was done, and leads nobody back inside.
 */
export function overBody(name: string, choices: readonly OfferedChoice[]): Omit<Body, 'controls'> {
  return {
    phase: 'follow-up',
    title: 'Left for another day',
    hazards: [],
    how: [],
    question: `Did you get to it? “${name}”: is it done? If not, keep your hands out: what was measured holds for a day, so we prepare it again first.`,
    choices: [...choices, { id: 'anew', label: 'Not yet: prepare it again with me' }],
  };
}

export const aftermathWords: Readonly<Record<Aftermath, string>> = {
  works: 'still works',
  back: 'the same fault is back',
  other: 'something else is wrong',
  repaired: 'repaired, it works',
  'not-yet': 'not repaired yet',
  'given-up': 'given up',
};

/** The label that was tapped, for the message that loses its buttons. */
export const answerLabel = (result: Aftermath): string =>
  [...fixedChoices, ...repairableChoices].find(({ id }) => id === result)?.label ?? result;

/** So late, and the desk says so, milliseconds; nobody waited by the minute for being asked. */
const lateAfter = 60 * 60_000;

/** Said before the question. `late` in milliseconds. */
export function prefaceWords(kase: Case, of: string, late: number): string {
  const { question } = kase;
  return [
    ...(late > lateAfter ? [`I meant to ask ${minutesWords(late / 60_000)} ago; I am sorry.`] : []),
    question?.kind === 'do' || question?.kind === 'test'
      ? question.inside
        ? 'There is no hurry.'
        : 'Did you get to it? There is no hurry. This is where we were:'
      : question?.kind === 'arrival'
        ? 'How is it with the part?'
        : 'How did it go on? One tap is enough.',
    ...(timesAsked(kase, of) >= mostTimes
      ? ['This is the last time I ask by myself; after it I wait for your word.']
      : []),
  ].join(' ');
}

/** Where the open question would have to be prepared anew, and is no step inside. */
export const stillOpenWords = (title: string): string =>
  `Did you get to it? It is still this one: ${title}. Much has changed since I asked, so “undo” takes the last answer back, and we prepare it again. “Do not ask me again” stops my asking.`;

/** The part, once nobody is going to ask after it. */
export const waitsForWord = (kase: Case, step: string): string =>
  kase.quiet || timesAsked(kase, orderOf(kase, step)) > 0
    ? 'Good. I ask no more by myself: I wait for your word. Answer above when the part is here.'
    : 'Good. Answer above when the part is here.';

export const quietWords =
  'Good, I do not ask again in this case. What is open stays open: come back whenever you like.';

export const hourWords = (hour: number, zone: string): string =>
  `Good. When I ask by myself, I ask around ${String(hour).padStart(2, '0')}:00 (${zone}).`;

export const unclearHour = 'Morning or evening? Write it so, please: “ask me at 7 am”, or “ask me at 7 pm”.';

/** What is said to an answer about how it went on. `days`: after how many it is asked once more, null for never. */
export function thanks(result: Aftermath, days: number | null): string {
  switch (result) {
    case 'works':
      return 'Good to hear. Thank you: it tells us that this mend lasts, and that helps the next person.';
    case 'back':
      return 'Thank you for telling me. It counts as not mended for good, and we take the case up again.';
    case 'other':
      return 'Thank you for telling me. What is wrong now is a case of its own: begin a new thread, as you did for this one, and tell me what it does. If you think that it is the old fault after all, say “again” here.';
    case 'repaired':
      return 'Good to hear. Thank you: I note it as fixed.';
    case 'not-yet':
      return days === null
        ? 'Thank you. I ask no more by myself; say “again” if you want to go on here.'
        : `Thank you. I ask once more in ${days} days.`;
    case 'given-up':
      return 'Thank you for telling me; I note it. A collection point for electrical things takes it.';
    default:
      return result satisfies never;
  }
}
