import { denialBefore } from './denial.ts';
import { makePhraseBook, type PhraseBook } from './phrase-book.ts';
import { type Found, findPhrases } from './phrases.ts';
import { isConditional, isExcepted, isUnsettled, readAfter } from './predicates.ts';
import { type Token, wordSet } from './words.ts';

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

const MISSING_MARK = /^no:\s*/i;

// Roots, as in `rootOf`.
const ALSO_DENY = wordSet('lose los loss lack miss absenc absent stop fail refus unabl ceas zero minus quit');
const ALSO_THROUGH = wordSet(
  'it to want wants wanted on out up in from for me us back again able longer more come comes coming came will would can could single hint ' +
    'glimpse whatsoever properly anymore provide provides providing deliver play plays playing display displays displaying',
);
/** Prepares a vocabulary's ideas: idea -> phrases (see `phrase-book.ts`), "no: " before a phrase that says it is missing. */
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
    const mention = (sign: Mention['sign']): Mention => ({ idea, sign, start, end, slips });
    const once = reaches && denial.times === 1;
    // "not a black screen" turns it round, "no picture, just black" does not.
    if (missing) return mention(turned !== (once && !denial.noun) ? 'present' : 'absent');
    const after = readAfter(tokens, end, isNamed);
    // "no picture and sound" is a list of things; "no picture and the light blinks" is not.
    const thing = end - start === 1 && !/(?:s|ing|ed)$/.test(tokens[start]?.word ?? '');
    const listed = denial?.over === 'list' || (thing && tokens[start - 1]?.word === 'and');
    const particle = /^(?:on|off|up|out|down)$/.test(tokens[end - 1]?.word ?? '');
    // What is said of the thing itself outweighs a "no" that comes over a list: "no picture and sound works".
    const carries = after === 'nothing' && listed && !(particle && denial?.noun);
    if (reaches && after !== 'yes' && (denial.over === 'nothing' || carries)) {
      return mention(turned !== once ? 'absent' : 'present');
    }
    if (turned || isExcepted(tokens, start)) return mention('absent');
    if (after === 'absent' || after === 'unclear') return mention(after);
    const open = isUnsettled(tokens, start) || isConditional(tokens, start, isNamed);
    return mention(open ? 'unclear' : 'present');
  });
}
