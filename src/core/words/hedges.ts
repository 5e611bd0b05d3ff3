import { type Token, wordSet } from './words.ts';

/**
 * Was it told, or only asked, supposed or feared? And is a denial taken back in the same breath? Read around one
 * word of a sentence. Word lists from memory, no source.
 */
// Not knowing, supposing, fearing: what is said after these may not have happened.
const SUPPOSING = wordSet(
  'maybe perhaps possibly possible might may unsure wonder wondering worry worried afraid scared fear fears feared risk ' +
    'risks danger hope hoping avoid prevent suspect guess imagine uncertain unclear could would suppose whether',
);
const NOT_KNOWING = wordSet(
  'sure certain know think believe remember recall say true tell clear positive exclude rule swear',
);
const SENSING = wordSet('see smell hear feel taste notice');
const ASKING = wordSet('can could will would should may might is are do does did was were has have be any');
const AFTER_ASKING = wordSet('i you he she we they it this that these those the my our there');
const CONTRAST = wordSet('but however though although yet');
const NO_LONGER = wordSet(
  'anymore longer more now yet today since until till before except unless besides apart initially first',
);
const SO_DID = wordSet('did does do saw has have heard smelled smelt felt was is');

// No sentence is read further than this to either side, so that endless ones take no longer.
const FAR = 40;

/** The sentence that a token stands in: [from, to), without its end sign. */
function sentenceAround(tokens: readonly Token[], start: number): readonly [number, number] {
  const ends = (token: Token | undefined) => token?.kind === 'stop' || token?.kind === 'question';
  let from = start;
  while (from > Math.max(0, start - FAR) && !ends(tokens[from - 1])) from -= 1;
  let to = start;
  while (to < Math.min(tokens.length, start + FAR) && !ends(tokens[to])) to += 1;
  return [from, to];
}

/** "Is it normal that it smells?", "could it catch fire", "smoke?" */
export function isAsked(tokens: readonly Token[], start: number): boolean {
  const [from, to] = sentenceAround(tokens, start);
  const clause = clauseStart(tokens, start, from);
  const first = tokens[clause]?.word ?? '';
  const second = tokens[clause + 1]?.word ?? '';
  const marked = tokens[to]?.kind === 'question';
  if (SENSING.has(second)) return false;
  if (ASKING.has(first) && (marked || AFTER_ASKING.has(second)) && clause < start) return true;
  return (first === 'what' || first === 'and') && second === 'if' ? true : marked && to - from <= 4;
}

/** Where the part of the sentence begins that the sign belongs to: after a comma or a "but". */
function clauseStart(tokens: readonly Token[], start: number, from: number): number {
  let i = start;
  while (i > from && tokens[i - 1]?.kind !== 'comma' && !CONTRAST.has(tokens[i - 1]?.word ?? '')) i -= 1;
  return i;
}

/** "maybe it was smoke", "I do not know if it sparked", "risk of fire" */
export function isSupposed(tokens: readonly Token[], start: number): boolean {
  const [from] = sentenceAround(tokens, start);
  for (let i = clauseStart(tokens, start, from); i < start; i += 1) {
    const word = tokens[i]?.word ?? '';
    const next = tokens[i + 1]?.word ?? '';
    if (SUPPOSING.has(word) && !SENSING.has(next)) return true;
    if ((word === 'what' && next === 'if') || (word === 'in' && next === 'case')) return true;
    if (word === 'not' && (NOT_KNOWING.has(next) || NOT_KNOWING.has(tokens[i + 2]?.word ?? ''))) return true;
  }
  return false;
}

/** "no smoke any more", "no smoke until today", "I saw no smoke but my wife did" */
export function isTakenBack(tokens: readonly Token[], end: number): boolean {
  const rest = tokens.slice(end, end + 7).map(({ word }) => word);
  if (NO_LONGER.has(rest[0] ?? '') || (rest[0] === 'at' && rest[1] === 'first')) return true;
  if (rest[0] === 'any' && rest[1] === 'more') return true;
  const but = rest.findIndex((word) => CONTRAST.has(word));
  return but >= 0 && rest.slice(but + 2).some((word) => SO_DID.has(word));
}
