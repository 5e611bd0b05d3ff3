import { isBreak, type Token, wordSet } from './words.ts';

/**
 * What a sentence says of a thing that it names: that it is there, gone, or in some trouble. Told from English alone;
 * what the thing is does not matter. Word lists from memory, no source.
 */
const LINKING = wordSet(
  'be is are was were been being am do does did has have had having will would can could may might should go goes went going get gets got ' +
    'also just now all completely totally fully entirely both still suddenly simply only always sometimes ' +
    'again even really very so seems seem appears looks look remains stays as well too there it that which',
);
const GONE = wordSet(
  'gone away lost missing absent disappeared disappears disappear vanished vanishes died dies failed fails stopped stops stop ceased quit off ' +
    'out none nil zero nowhere dropped drops cut cuts lacking nonexistent',
);
const HERE = wordSet(
  'ok okay okey fine works work working worked good perfect perfectly great normal normally present there clear clearly loud comes come coming came plays playing ' +
    'play on exists yes runs running alright right available remains continues audible visible nice intact',
);
const SHAKY = wordSet(
  'problem problems issue issues fault faults faulty trouble bad badly poor weak low quiet distorted crackles crackling crackly weird ' +
    'strange funny wrong damaged defective defect broken broke intermittent setting settings quality fuzzy unclear bar card button',
);
const WORKING = wordSet(
  'work works working worked come comes coming came show shows showing shown appear appears appearing there on play plays playing visible audible hear ' +
    'heard see seen present function functions functioning functional exist respond responding turn start starts starting light lit get getting any ' +
    'available found detected load loads loading happen do doing display displayed displaying emit emitting produce output return back active illuminate illuminated up run running',
);
const NEGATION = wordSet('not never no cannot');
const UNSETTLED = wordSet('problem problems issue issues trouble fault faults wrong');
const CONDITION = wordSet(
  'when if once after before whenever while until every each time try tried trying attempt attempting to',
);
const OBLIGATION = wordSet('have has had need needs');
const SUBJECT = wordSet('i you we he she they it one time to the turning switching pressing');

const MOST_LINKING = 6;
const FAR = 20;

/** `yes`: a one-word answer; it stands even after a "no". `nothing`: nothing is said. */
export type After = 'present' | 'absent' | 'unclear' | 'yes' | 'nothing';

/** What is said about a thing after it was named: "... is gone", "... does not come", "... is fine". */
export function readAfter(tokens: readonly Token[], end: number, isNamed: (i: number) => boolean): After {
  let i = end;
  // "picture and sound gone": what follows is said of both.
  while (['and', 'or', 'nor'].includes(tokens[i]?.word ?? '') && isNamed(i + 1) && i < end + FAR) {
    i += 1;
    while (isNamed(i) && i < end + FAR) i += 1;
  }
  // "sound: no", "picture yes, sound no"
  const answer = isBreak(tokens[i]) && ':=-–?'.includes(tokens[i]?.word ?? ' ') ? i + 1 : i;
  if (isBreak(tokens[answer + 1])) {
    const word = tokens[answer]?.word ?? '';
    if (/^(?:no|none|nope|nil|not)$/.test(word)) return 'absent';
    if (word === 'nothing' && answer > i) return 'absent';
    if (/^(?:yes|yep|ok|okay)$/.test(word)) return 'yes';
  }
  let denied = false;
  let went = false;
  for (let steps = 0; steps <= MOST_LINKING; steps += 1, i += 1) {
    const token = tokens[i];
    if (!token || isBreak(token)) break;
    const { word } = token;
    if (NEGATION.has(word)) {
      if (isNamed(i + 1) || word === 'no') {
        if (/^(?:longer|more)$/.test(tokens[i + 1]?.word ?? '')) {
          denied = true;
          i += 1;
          continue;
        }
        return 'nothing';
      }
      denied = !denied;
    } else if (denied && WORKING.has(word)) return 'absent';
    else if (GONE.has(word) && (!isNamed(i) || word === 'off')) return denied ? 'present' : 'absent';
    else if (HERE.has(word) && !isNamed(i)) return denied ? 'unclear' : 'present';
    else if (SHAKY.has(word)) return 'unclear';
    else if (LINKING.has(word) || /...ly$/.test(word)) went ||= /^(?:went|goes|go)$/.test(word);
    else return denied ? 'unclear' : 'nothing';
  }
  if (denied) return 'absent';
  return went ? 'absent' : 'nothing';
}

/** "problem with the sound", but not "no problem with the sound" */
export function isUnsettled(tokens: readonly Token[], start: number): boolean {
  let i = start - 1;
  while (i >= 0 && /^(?:the|my|its|a|any|no)$/.test(tokens[i]?.word ?? '')) i -= 1;
  if (!/^(?:with|of|in)$/.test(tokens[i]?.word ?? '')) return false;
  if (!UNSETTLED.has(tokens[i - 1]?.word ?? '')) return false;
  return !/^(?:no|nothing|without|not|any)$/.test(tokens[i - 2]?.word ?? '');
}

/** "when I turn it on", "I tried to start it": what somebody does says nothing about whether it works. */
export function isConditional(
  tokens: readonly Token[],
  start: number,
  isNamed: (i: number) => boolean,
): boolean {
  for (let i = start - 1; i >= Math.max(0, start - 4); i -= 1) {
    const token = tokens[i];
    if (!token || isBreak(token) || isNamed(i)) return false;
    const next = tokens[i + 1]?.word ?? '';
    if (OBLIGATION.has(token.word)) return next === 'to';
    if (CONDITION.has(token.word)) return i + 1 === start || SUBJECT.has(next) || token.word === 'to';
  }
  return false;
}

/** "everything works except the sound" */
export function isExcepted(tokens: readonly Token[], start: number): boolean {
  let i = start - 1;
  while (i >= 0 && /^(?:the|for|from|my|any|of|its)$/.test(tokens[i]?.word ?? '')) i -= 1;
  if (!/^(?:except|apart|minus|besides|excluding)$/.test(tokens[i]?.word ?? '')) return false;
  const before = tokens.slice(Math.max(0, i - 5), i).map(({ word }) => word);
  return (
    before.some((word) => HERE.has(word) || word === 'everything') &&
    !before.some((word) => NEGATION.has(word))
  );
}
