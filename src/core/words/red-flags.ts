import { RedFlag } from '../../../shared/red-flag.ts';
import { type Denial, type DenialRules, denialBefore } from './denial.ts';
import { isAsked, isSupposed, isTakenBack } from './hedges.ts';
import { makePhraseBook, type PhraseBook } from './phrase-book.ts';
import { type Found, findPhrases } from './phrases.ts';
import { FLAG_WORDS, type FlagWords } from './red-flag-words.ts';
import { isCommon } from './spelling.ts';
import { isBreak, type Token, tokenise, wordSet } from './words.ts';

export const redFlags = RedFlag.options;
export type { RedFlag };

/** A sign of danger in what somebody wrote. `sure` false: ask, and stay stopped until answered. */
export interface FlagReading {
  readonly flag: RedFlag;
  readonly sure: boolean;
  /** The words that say so, as they were typed. */
  readonly words: string;
}

type Weight = 'sure' | 'doubt' | 'harmless';
type Verdict = 'sure' | 'doubt' | 'denied';

interface Entry {
  readonly flag: RedFlag;
  readonly weight: Weight;
}
interface Sign extends Found, Entry {}

const WEIGHTS: readonly Weight[] = ['sure', 'doubt', 'harmless'];
const LISTED = redFlags.flatMap((flag) =>
  WEIGHTS.flatMap((weight) =>
    (FLAG_WORDS[flag] satisfies FlagWords)[weight].map((text) => ({ flag, weight, text })),
  ),
);
const ENTRIES: readonly Entry[] = LISTED;
const BOOK: PhraseBook = makePhraseBook(LISTED.map(({ text }) => text));

const NO = wordSet('no none nope never');
const AUXILIARY = wordSet('be is are was were has have had do does did will would can could been');
const HAPPENING = wordSet(
  'come came appear appeared happen happened occur occurred show see seen notice noticed hear heard smell there ' +
    'present visible exist find found detect detected observed any',
);
// A list is followed no further than this.
const FAR = 40;

/** "smoke? no", "sparks: none", "smoke or sparks? never", "smoke did not come out" */
function verdictAfter(tokens: readonly Token[], sign: Sign, rules: DenialRules): Verdict {
  let i = sign.end;
  const listed = (token: Token | undefined) =>
    token !== undefined && (token.kind === 'comma' || token.word === 'or' || token.word === 'and');
  while (listed(tokens[i]) && rules.isNamed(i + 1) && i < sign.end + FAR) {
    i += 1;
    while (rules.isNamed(i) && i < sign.end + FAR) i += 1;
  }
  const mark = isBreak(tokens[i]) ? (tokens[i]?.word ?? '') : '';
  const answer = mark !== '' && '?:=-–,'.includes(mark) ? i + 1 : i;
  const word = tokens[answer]?.word ?? '';
  // "smoke: nothing" answers, "bang, nothing" tells what came next.
  const no = NO.has(word) || (word === 'nothing' && mark !== '' && '?:='.includes(mark));
  if (no && isBreak(tokens[answer + 1])) return 'denied';
  while (AUXILIARY.has(tokens[i]?.word ?? '')) i += 1;
  if (tokens[i]?.word === 'not' || tokens[i]?.word === 'never') {
    i += 1;
    while (AUXILIARY.has(tokens[i]?.word ?? '')) i += 1;
    if (!HAPPENING.has(tokens[i]?.word ?? '')) return 'sure';
    // "did not come from inside": then from where?
    const rest = tokens.slice(i + 1, i + 5).map(({ word }) => word);
    return rest.includes('from') || rest.includes('but') ? 'doubt' : 'denied';
  }
  return 'sure';
}

function hasOwnVerb(tokens: readonly Token[], end: number): boolean {
  const word = tokens[end]?.word ?? '';
  return AUXILIARY.has(word) || /^(?:come|comes|came|coming|fly|flew|flying|everywhere|started)$/.test(word);
}

function verdictOfDenial(tokens: readonly Token[], sign: Sign, denial: Denial): Verdict {
  if (denial.times > 1) return 'doubt';
  if (denial.over !== 'nothing' && hasOwnVerb(tokens, sign.end)) return 'sure';
  // "no smoke and sparks", "no smoke, sparks" may mean either; "no smoke then, today sparks" may not.
  const ends = isBreak(tokens[sign.end]);
  if (denial.over === 'comma') return denial.unknown === 0 && ends ? 'doubt' : 'sure';
  if (denial.over === 'and') return denial.unknown === 0 ? 'doubt' : 'sure';
  if (denial.unknown > 0) return 'doubt';
  return denial.noun && denial.verbs > 0 ? 'doubt' : 'denied';
}

/** "bang and <a word nobody knows>" is more likely a name. */
function isName(tokens: readonly Token[], sign: Sign): boolean {
  const next = tokens[sign.end + 1];
  if (sign.flag !== 'bang' || tokens[sign.end]?.word !== 'and' || next?.kind !== 'word') return false;
  return next.word.length > 3 && !BOOK.known.has(next.root) && !isCommon(next.word);
}

function judge(tokens: readonly Token[], sign: Sign, rules: DenialRules): Verdict {
  const after = verdictAfter(tokens, sign, rules);
  if (after === 'denied') return 'denied';
  const before = denialBefore(tokens, sign.start, sign.end, rules);
  const verdict = before ? verdictOfDenial(tokens, sign, before) : after;
  const asked = isAsked(tokens, sign.start);
  if (verdict === 'denied') {
    return isTakenBack(tokens, sign.end) || asked || isSupposed(tokens, sign.start) ? 'doubt' : 'denied';
  }
  const uncertain = sign.weight === 'doubt' || sign.slips > 0 || asked || isSupposed(tokens, sign.start);
  return uncertain || isName(tokens, sign) ? 'doubt' : verdict;
}

/** Of overlapping signs of one flag the longest counts; of equally long ones the most dangerous. */
function withoutOverlap(signs: readonly Sign[]): Sign[] {
  const rank = (sign: Sign) => WEIGHTS.indexOf(sign.weight) + (sign.slips > 0 ? 0.5 : 0);
  const order = [...signs].sort(
    (a, b) => b.end - b.start - (a.end - a.start) || rank(a) - rank(b) || a.start - b.start,
  );
  const taken = new Map<RedFlag, Set<number>>();
  return order.filter(({ flag, start, end }) => {
    const mine = taken.get(flag) ?? new Set<number>();
    taken.set(flag, mine);
    for (let i = start; i < end; i += 1) if (mine.has(i)) return false;
    for (let i = start; i < end; i += 1) mine.add(i);
    return true;
  });
}

/**
 * Signs of danger in free words, at most one reading a flag, in the order of `redFlags`; what is denied ("no smoke")
 * is left out. The past counts like the present. What is asked or supposed ("could it catch fire?", "what if it
 * smokes") counts as doubt: whoever asks may have a reason. Reads English. Never throws.
 */
export function readRedFlags(text: string): FlagReading[] {
  const tokens = tokenise(text);
  const signs = withoutOverlap(
    findPhrases(tokens, BOOK).flatMap((found) => {
      const entry = ENTRIES[found.phrase];
      // With a "not" inside, the single words that remain are judged on their own.
      return entry && !found.turned ? [{ ...found, flag: entry.flag, weight: entry.weight }] : [];
    }),
  ).filter(({ weight }) => weight !== 'harmless');
  const named = new Set<number>();
  for (const { start, end } of signs) for (let i = start; i < end; i += 1) named.add(i);
  const rules: DenialRules = { alsoDeny: new Set(), alsoThrough: new Set(), isNamed: (i) => named.has(i) };
  const readings = new Map<RedFlag, FlagReading>();
  for (const sign of signs.sort((a, b) => a.start - b.start)) {
    const verdict = judge(tokens, sign, rules);
    if (verdict === 'denied') continue;
    const known = readings.get(sign.flag);
    if (known && (known.sure || verdict === 'doubt')) continue;
    const words = text.slice(tokens[sign.start]?.start ?? 0, tokens[sign.end - 1]?.end ?? 0);
    readings.set(sign.flag, { flag: sign.flag, sure: verdict === 'sure', words });
  }
  return redFlags.flatMap((flag) => readings.get(flag) ?? []);
}
