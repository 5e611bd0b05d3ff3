import type { Case, Question } from '../../../shared/case.ts';
import type { Flow } from '../../../shared/flow.ts';
import type { Control } from '../../../shared/inbound.ts';
import type { OfferedChoice } from '../../../shared/outbound.ts';
import { readAftermath, readUnchanged } from './aftermath.ts';
import { parseReading } from './reading.ts';
import { readRedFlags } from './red-flags.ts';

/** Free words in a thread as something we can act on, or "not understood". Never a guess between two. */
export type Meaning =
  | { readonly kind: 'control'; readonly control: Control }
  /** One of the offered answers; `sure` when it was named by its own words. */
  | { readonly kind: 'choice'; readonly id: string; readonly sure: boolean }
  | { readonly kind: 'reading' }
  /** An earlier answer is to be changed: its place in the list that "where are we?" shows, from 1. */
  | { readonly kind: 'change'; readonly place: number }
  | { readonly kind: 'confirm'; readonly yes: boolean }
  | { readonly kind: 'alarm' }
  | { readonly kind: 'nothing' };

const controlWords: Readonly<Record<string, Control>> = {
  'not sure': 'unsure',
  unsure: 'unsure',
  "don't know": 'unsure',
  'dont know': 'unsure',
  "i don't know": 'unsure',
  'i dont know': 'unsure',
  'i do not know': 'unsure',
  'no idea': 'unsure',
  'no clue': 'unsure',
  dunno: 'unsure',
  "can't tell": 'unsure',
  'cannot tell': 'unsure',
  "can't say": 'unsure',
  'i cannot tell': 'unsure',
  "i can't tell": 'unsure',
  'hard to say': 'unsure',
  'not sure which': 'unsure',
  "can't": 'cannot',
  cannot: 'cannot',
  "can't do this": 'cannot',
  "i can't": 'cannot',
  'i cannot do this': 'cannot',
  skip: 'cannot',
  why: 'why',
  'why this': 'why',
  where: 'where',
  'where are we': 'where',
  'where were we': 'where',
  'what now': 'where',
  'what do you know': 'where',
  undo: 'undo',
  'take that back': 'undo',
  person: 'person',
  'ask a person': 'person',
  human: 'person',
  stop: 'stop',
  'stop now': 'stop',
  card: 'card',
  again: 'again',
  'job card': 'card',
};

const yesWords = new Set([
  'yes',
  'y',
  'yep',
  'yeah',
  'ok',
  'okay',
  'done',
  'sure',
  'right',
  'correct',
  'ja',
  'si',
  'oui',
]);
const noWords = new Set(['no', 'n', 'nope', 'nothing', 'nein', 'wrong']);

export function interpret(
  words: string,
  question: Question | null,
  choices: readonly OfferedChoice[],
  kase: Case,
  flow: Flow,
): Meaning {
  const plain = words
    .normalize('NFKC')
    .toLowerCase()
    .replaceAll('’', "'")
    .replace(/[.!?"“”]+/g, ' ')
    .replace(/\s+/g, ' ')
    .trim();
  if (plain === '') return { kind: 'nothing' };
  if (plain === 'danger') return { kind: 'alarm' };
  const control = controlIn(plain);
  if (control === 'unsure') {
    // The question's own "I do not know" may say more than a plain "not sure".
    const own = choices.find((choice) => controlIn(plainLabel(choice.label)) === 'unsure');
    if (own) return { kind: 'choice', id: own.id, sure: true };
  }
  if (control) return { kind: 'control', control };
  // What is wrong may be told as a question: "why is there no picture?"
  if (/^why\b/.test(plain) && (question ? question.kind !== 'complaint' : kase.rest !== null))
    return { kind: 'control', control: 'why' };
  const change = /^change (?:number |answer )?(\d{1,3})$/.exec(plain);
  if (change) return { kind: 'change', place: Number(change[1]) };
  if (kase.guess) {
    if (yesWords.has(plain)) return { kind: 'confirm', yes: true };
    if (noWords.has(plain)) return { kind: 'confirm', yes: false };
  }
  if (!question) return { kind: 'nothing' };

  const label = plainLabel(plain);
  const exact = choices.find((choice) => choice.id === plain || plainLabel(choice.label) === label);
  if (exact) return { kind: 'choice', id: exact.id, sure: true };
  if (wantsReading(question, flow) && (parseReading(words).kind !== 'unclear' || /\d/.test(plain))) {
    return { kind: 'reading' };
  }
  // "Do I understand you right?"
  const [only, ...others] = question.kind === 'complaint' ? (question.offered ?? []) : [];
  if (only !== undefined && others.length === 0 && yesWords.has(plain))
    return { kind: 'choice', id: only, sure: true };
  // "No smoke" answers "did smoke come out of it?"; signs that it does not deny were read before this.
  if (question.kind === 'flag' && plain.startsWith('no ')) {
    const named = readRedFlags(plain.slice('no '.length)).some(({ flag }) => flag === question.step);
    if (named) return { kind: 'choice', id: 'no', sure: true };
  }
  const yes = yesOrNo(plain, choices);
  // Live work is agreed to in so many words; an "ok" is asked back.
  if (yes) {
    const loose = question.kind === 'live' && yesWords.has(plain) && plain !== 'yes';
    return { kind: 'choice', id: yes, sure: !loose };
  }
  const aftermath = question.kind === 'follow-up' ? readAftermath(plain, choices) : null;
  if (aftermath) return { kind: 'choice', id: aftermath, sure: false };
  if (isTrial(choices) && readUnchanged(plain)) return { kind: 'choice', id: 'no', sure: false };
  const opening = mayHide.has(question.kind) ? opens(plain, choices) : null;
  if (opening) return { kind: 'choice', id: opening, sure: false };
  const place = placed(plain, choices);
  if (place) return { kind: 'choice', id: place, sure: false };
  const near = nearest(plain, choices);
  return near ? { kind: 'choice', id: near, sure: false } : { kind: 'nothing' };
}

export const wantsReading = (question: Question, flow: Flow): boolean =>
  question.kind === 'closing'
    ? question.step === 'earth' || question.step === 'insulation'
    : question.kind === 'prove'
      ? flow.energy.stores === 'capacitors'
      : question.kind === 'check' && flow.checks.some((check) => check.id === question.step && check.reading);

const plainLabel = (label: string): string =>
  label
    .toLowerCase()
    .replaceAll('’', "'")
    .replace(/[.,;:!?"“”]+/g, ' ')
    .replace(/\s+/g, ' ')
    .trim();

/** A bare yes or no, where exactly one of the answers begins with that word, or only one answer is offered. */
function yesOrNo(plain: string, choices: readonly OfferedChoice[]): string | null {
  const yes = yesWords.has(plain);
  if (!yes && !noWords.has(plain)) return null;
  if (choices.length === 1) return yes ? (choices[0]?.id ?? null) : null;
  const begins = choices.filter((choice) => plainLabel(choice.label).split(' ')[0] === (yes ? 'yes' : 'no'));
  return begins.length === 1 ? (begins[0]?.id ?? null) : null;
}

/** "Does it work now?", as `worksChoices` offers it. */
const isTrial = (choices: readonly OfferedChoice[]): boolean =>
  ['works', 'no', 'different'].every((id) => choices.some((choice) => choice.id === id));

/** Questions whose answers may hide in a sentence. What somebody has to have done for their safety is said plainly. */
const mayHide: ReadonlySet<Question['kind']> = new Set([
  'detail',
  'level',
  'meter',
  'check',
  'part',
  'arrival',
  'do',
  'test',
  'follow-up',
]);

/**
 * A sentence that begins with yes or no, for the one answer that begins so; "no, still dark" where two begin with no and
 * one of them says that nothing changed. Only to be asked back, since what follows may say something else.
 */
function opens(plain: string, choices: readonly OfferedChoice[]): string | null {
  const [first = '', ...others] = plain.split(/[ ,;:-]+/);
  const yes = ['yes', 'yep', 'yeah', 'ja'].includes(first);
  const no = ['no', 'nope', 'nein', 'not'].includes(first);
  if (!yes && !no) return null;
  const begins = choices.filter((choice) => plainLabel(choice.label).split(' ')[0] === (yes ? 'yes' : 'no'));
  if (begins.length === 1) return begins[0]?.id ?? null;
  const same = begins.filter((choice) => /\bas before\b/.test(plainLabel(choice.label)));
  const changed = others.some((word) => /^(?:but|differ|chang|new|now)/.test(word));
  return no && same.length === 1 && !changed ? (same[0]?.id ?? null) : null;
}

/** "2" for the second answer, where answers are numbered and no answer speaks of that number. */
function placed(plain: string, choices: readonly OfferedChoice[]): string | null {
  const typed = /^(?:number |answer )?(\d{1,2})$/.exec(plain)?.[1];
  if (typed === undefined) return null;
  const named = choices.some((choice) =>
    plainLabel(choice.label)
      .split(/[^a-z0-9]+/)
      .includes(typed),
  );
  return named ? null : (choices[Number(typed) - 1]?.id ?? null);
}

const fillers =
  /^(?:(?:hm+|u[hm]+|er+m?|well|oh|sorry|ok|okay|but|so|please|honestly|really|i am|i'm|im|i have|i've)[ ,]+)+|(?:[ ,]+(?:sorry|please|really|at all|yet|now|honestly|about that))+$/g;
const unsureFirst =
  /^(?:no (?:idea|clue)|not (?:really |quite |so |at all )?sure|(?:i )?(?:really )?(?:do not|don't|dont) (?:really )?know)\b/;
const human = '(?:(?:a|an|the|some|real|actual|live) )*(?:person|human|human being|expert|mender|repairer)';
const anybody = `(?:${human}|somebody|someone|people)`;
const wish =
  "(?:(?:can|could|may) i|i (?:want|need|would like|wish)(?: to)?|i'd like(?: to)?|let me|is there)";
const wantsPerson = new RegExp(
  `^(?:${human}|${wish} ${human}|(?:${wish} )?(?:please )?(?:talk|speak|chat|write) (?:to|with) ${anybody})(?: (?:please|here|i can talk to))*$`,
);

/** A control said in a sentence, with the small words people put around it. */
function controlIn(plain: string): Control | undefined {
  if (Object.hasOwn(controlWords, plain)) return controlWords[plain];
  const bare = plain.replace(fillers, '').trim();
  if (Object.hasOwn(controlWords, bare)) return controlWords[bare];
  if (unsureFirst.test(bare)) return 'unsure';
  return wantsPerson.test(bare) ? 'person' : undefined;
}

const dull = new Set(
  'a an the is are was it its it is i my me of in on at to and or but with there this that very now only just so still some any yes no not'.split(
    ' ',
  ),
);
const negations = new Set([
  'no',
  'not',
  'none',
  'nothing',
  'without',
  "isn't",
  "doesn't",
  "didn't",
  'never',
  'neither',
]);

/** Labels share telling words with what was typed; the one that shares most, when it is alone and nothing denies it. */
function nearest(plain: string, choices: readonly OfferedChoice[]): string | null {
  const typed = plain.split(/[^a-z0-9']+/).filter((word) => word !== '');
  const denies = typed.some((word) => negations.has(word));
  const telling = typed.filter((word) => !dull.has(word) && !negations.has(word)).map(stem);
  if (telling.length === 0 || telling.length > 12) return null;
  const scored = choices
    .map((choice) => {
      const label = plainLabel(choice.label).split(/[^a-z0-9']+/);
      if (label.some((word) => negations.has(word)) !== denies) return { id: choice.id, score: 0 };
      const own = new Set(label.filter((word) => !dull.has(word) && !negations.has(word)).map(stem));
      const shared = new Set(telling.filter((word) => own.has(word)));
      return { id: choice.id, score: shared.size };
    })
    .sort((a, b) => b.score - a.score);
  const [first, second] = scored;
  return first && first.score > 0 && first.score > (second?.score ?? 0) ? first.id : null;
}

const stem = (word: string): string => word.replace(/(?:ing|ed|es|s|ly)$/, '');
