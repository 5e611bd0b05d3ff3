import { denialBefore } from './denial.ts';
import { type Found, findPhrases, makePhraseBook, type PhraseBook } from './phrases.ts';
import { isBreak, type Token } from './words.ts';

/**
 * Reads which ideas of a vocabulary a text speaks of, and whether it says that they are there ("the sound is fine"),
 * are missing ("no sound", "sound has gone") or neither ("a problem with the sound"). It knows English, and nothing
 * of what the ideas are about.
 */
export interface Mention {
  readonly idea: string;
  readonly sign: 'present' | 'absent' | 'unclear';
  /** Tokens [start, end). */
  readonly start: number;
  readonly end: number;
  readonly slips: number;
}

/** Ideas made ready for reading. */
export interface IdeaBook {
  readonly book: PhraseBook;
  /** By phrase: its idea, and whether the phrase itself says that the idea is missing ("no: black screen"). */
  readonly meanings: readonly { readonly idea: string; readonly missing: boolean }[];
}

const set = (words: string): ReadonlySet<string> => new Set(words.split(' '));
const MISSING_MARK = /^no:\s*/i;

// Roots, as in `rootOf`.
const ALSO_DENY = set('lose los loss lack miss absenc absent stop fail refus unabl ceas zero minus quit');
const ALSO_THROUGH = set(
  'it to on out up in from for me us back again able longer more come comes coming came will would can could single hint ' +
    'glimpse whatsoever properly anymore provide provides providing deliver play plays playing display displays displaying',
);
const LINKING = set(
  'be is are was were been being am do does did has have had having will would can could may might should go goes went going get gets got ' +
    'also just now all completely totally fully entirely both still suddenly simply only always sometimes ' +
    'again even really very so seems seem appears looks look remains stays there it that which',
);
const GONE = set(
  'gone away lost missing absent disappeared disappears disappear vanished vanishes died dies failed fails stopped stops stop ceased quit off ' +
    'out none nil zero nowhere dropped drops cut cuts lacking nonexistent',
);
const HERE = set(
  'ok okay okey fine works work working worked good perfect perfectly great normal normally present there clear clearly loud comes come coming came plays playing ' +
    'play on exists yes runs running alright right well available remains continues audible visible nice intact',
);
const SHAKY = set(
  'problem problems issue issues fault faults faulty trouble bad badly poor weak low quiet distorted crackles crackling crackly weird ' +
    'strange funny wrong damaged defective defect broken broke intermittent setting settings quality fuzzy unclear bar card button',
);
const WORKING = set(
  'work works working worked come comes coming came show shows showing shown appear appears appearing there on play plays playing visible audible hear ' +
    'heard see seen present function functions functioning functional exist respond responding turn start starts starting light lit get getting any ' +
    'available found detected load loads loading happen do doing display displayed displaying emit emitting produce output return back active illuminate illuminated up run running',
);
const NEGATION = set('not never no cannot');
const UNSETTLED = set('problem problems issue issues trouble fault faults wrong');
const CONDITION = set(
  'when if once after before whenever while until every each time try tried trying attempt attempting to',
);
const OBLIGATION = set('have has had need needs');
const SUBJECT = set('i you we he she they it one time tv to the turning switching pressing');

const MOST_LINKING = 6;

/** Prepares a vocabulary's ideas: idea -> phrases (see `phrases.ts`), "no: " before a phrase that says it is missing. */
export function makeIdeaBook(ideas: Readonly<Record<string, readonly string[]>>): IdeaBook {
  const lines = Object.entries(ideas).flatMap(([idea, phrases]) =>
    phrases.map((text) => ({ idea, missing: MISSING_MARK.test(text), text: text.replace(MISSING_MARK, '') })),
  );
  return {
    book: makePhraseBook(lines.map(({ text }) => text)),
    meanings: lines.map(({ idea, missing }) => ({ idea, missing })),
  };
}

interface Named extends Found {
  readonly idea: string;
  readonly missing: boolean;
}

/** A longer phrase hides the shorter ones that it covers or crosses: "power light" is no "power". */
function longest(named: readonly Named[]): Named[] {
  const order = [...named].sort(
    (a, b) => b.end - b.start - (a.end - a.start) || a.slips - b.slips || a.start - b.start,
  );
  const lengths = new Map<number, number>();
  const kept = order.filter(({ start, end }) => {
    for (let i = start; i < end; i += 1) if ((lengths.get(i) ?? 0) > end - start) return false;
    for (let i = start; i < end; i += 1) lengths.set(i, Math.max(lengths.get(i) ?? 0, end - start));
    return true;
  });
  return kept.sort((a, b) => a.start - b.start);
}

type After = 'present' | 'absent' | 'unclear' | 'yes' | 'nothing';

/** What is said about a thing after it was named: "... is gone", "... does not come", "... is fine". */
function readAfter(tokens: readonly Token[], end: number, isNamed: (i: number) => boolean): After {
  let i = end;
  // "picture and sound gone": what follows is said of both.
  while (['and', 'or', 'nor'].includes(tokens[i]?.word ?? '') && isNamed(i + 1)) {
    i += 1;
    while (isNamed(i)) i += 1;
  }
  const sign = tokens[i]?.word ?? '';
  const answer = tokens[i + (isBreak(tokens[i]) && [...':=-–?'].includes(sign) ? 1 : 0)];
  const answerEnds = isBreak(tokens[tokens.indexOf(answer as Token, i) + 1]);
  if (answer && answerEnds) {
    if (/^(?:no|none|nope|nil|not)$/.test(answer.word)) return 'absent';
    if (/^(?:yes|yep|ok|okay)$/.test(answer.word)) return 'yes';
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
function isUnsettled(tokens: readonly Token[], start: number): boolean {
  let i = start - 1;
  while (i >= 0 && /^(?:the|my|its|a|any|no)$/.test(tokens[i]?.word ?? '')) i -= 1;
  if (!/^(?:with|of|in)$/.test(tokens[i]?.word ?? '')) return false;
  if (!UNSETTLED.has(tokens[i - 1]?.word ?? '')) return false;
  return !/^(?:no|nothing|without|not|any)$/.test(tokens[i - 2]?.word ?? '');
}

/** "when I turn it on", "I tried to start it": what somebody does says nothing about whether it works. */
function isConditional(tokens: readonly Token[], start: number, isNamed: (i: number) => boolean): boolean {
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
function isExcepted(tokens: readonly Token[], start: number): boolean {
  let i = start - 1;
  while (i >= 0 && /^(?:the|for|from|my|any|of|its)$/.test(tokens[i]?.word ?? '')) i -= 1;
  if (!/^(?:except|apart|minus|besides|excluding)$/.test(tokens[i]?.word ?? '')) return false;
  const before = tokens.slice(Math.max(0, i - 5), i).map(({ word }) => word);
  return (
    before.some((word) => HERE.has(word) || word === 'everything') &&
    !before.some((word) => NEGATION.has(word))
  );
}

/** Every mention of an idea, in the text's order. */
export function readIdeas(tokens: readonly Token[], { book, meanings }: IdeaBook): Mention[] {
  const named = longest(
    findPhrases(tokens, book).flatMap((found) => {
      const meaning = meanings[found.phrase];
      return meaning ? [{ ...found, ...meaning }] : [];
    }),
  );
  const places = new Map<number, Set<string>>();
  for (const { idea, start, end } of named) {
    for (let i = start; i < end; i += 1) places.set(i, (places.get(i) ?? new Set()).add(idea));
  }
  const isNamed = (i: number) => places.has(i);
  return named.map(({ idea, missing, start, end, slips, turned }) => {
    // Two words for one idea in a row are one thing: "no sound output".
    const isOther = (i: number) => places.get(i)?.has(idea) === false;
    const rules = {
      alsoDeny: ALSO_DENY,
      alsoThrough: ALSO_THROUGH,
      isNamed: missing ? isNamed : isOther,
    };
    const denial = denialBefore(tokens, start, end, rules);
    const direct = denial !== null && (denial.over === 'nothing' || !missing);
    const reaches = direct && (denial.unknown === 0 || denial.noun);
    let absent = missing !== turned;
    if (missing) {
      if (reaches && denial.times === 1) absent = !absent;
      return { idea, sign: absent ? 'absent' : 'present', start, end, slips };
    }
    const after = readAfter(tokens, end, isNamed);
    // What is said of the thing itself outweighs a "no" that comes to it over a list: "no picture and sound works".
    const carried = reaches && denial.over !== 'nothing';
    // "no picture and sound" is a list of things; "no picture and the light blinks" is not.
    const thing = end - start === 1 && !/(?:s|ing|ed)$/.test(tokens[start]?.word ?? '');
    const listed = denial?.over === 'list' || (thing && tokens[start - 1]?.word === 'and');
    const particle = /^(?:on|off|up|out|down)$/.test(tokens[end - 1]?.word ?? '');
    const counts =
      reaches &&
      after !== 'yes' &&
      !(carried && (after !== 'nothing' || !listed || (particle && denial.noun)));
    if (counts) {
      absent = denial.times === 1 ? !absent : absent;
      return { idea, sign: absent ? 'absent' : 'present', start, end, slips };
    }
    if (absent) return { idea, sign: 'absent', start, end, slips };
    if (isExcepted(tokens, start)) return { idea, sign: 'absent', start, end, slips };
    if (after === 'absent' || after === 'unclear') return { idea, sign: after, start, end, slips };
    if (isUnsettled(tokens, start) || isConditional(tokens, start, isNamed)) {
      return { idea, sign: 'unclear', start, end, slips };
    }
    return { idea, sign: 'present', start, end, slips };
  });
}
