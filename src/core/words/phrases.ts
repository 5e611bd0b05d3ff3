import type { Choice, Phrase, PhraseBook, Spelling } from './phrase-book.ts';
import { isCommon, isSlip } from './spelling.ts';
import { isBreak, type Token, wordSet } from './words.ts';

/** A phrase found in tokens [start, end). */
export interface Found {
  readonly phrase: number;
  readonly start: number;
  readonly end: number;
  /** How many of its words were one letter wrong. */
  readonly slips: number;
  /** A "not" stands inside it. */
  readonly turned: boolean;
}

const MOST_SMALL_WORDS = 4;
const MOST_IN_GAP = 3;
const SMALL_WORDS = wordSet(
  'a an the my our your his her its this that these those some any be is are was were been being am has have had ' +
    'having will would can could do does did go goes going went stay stays stayed staying remain remains remained ' +
    'get gets got getting become becomes became look looks looked looking seem seems seemed appears very really ' +
    'quite just now also all completely totally fully entirely absolutely so too bit little slightly kind sort of ' +
    'only then suddenly always sometimes still again already almost nearly like too more ever me us',
);
const NUMBER_WORDS = wordSet(
  'a an one two three four five six seven eight nine ten fifteen twenty thirty few couple some several or to of ' +
    'half about split brief short mere single fraction maybe only around just another',
);
const TURNING = wordSet('not never no');

type Meant = ReadonlyMap<string, ReadonlySet<string>>;

/** What each unknown word may be a slip for: words and roots of the book. */
function readSlips(tokens: readonly Token[], book: PhraseBook): Meant {
  const meant = new Map<string, ReadonlySet<string>>();
  for (const { kind, word, root } of tokens) {
    if (kind !== 'word' || meant.has(word) || book.known.has(word) || book.known.has(root)) continue;
    if (isCommon(word)) continue;
    const found = new Set<string>();
    for (const meaning of book.spelt.get(word[0] ?? '') ?? []) {
      if (isSlip(word, meaning.word) || isSlip(root, meaning.root)) found.add(meaning.word).add(meaning.root);
    }
    meant.set(word, found);
  }
  return meant;
}

function isNumber(token: Token | undefined): boolean {
  return token?.kind === 'number' || NUMBER_WORDS.has(token?.word ?? '');
}

/** Adverbs are small words too: "the screen stays permanently black". */
function isSmall({ word }: Token): boolean {
  return SMALL_WORDS.has(word) || /...ly$/.test(word);
}

interface Trail {
  readonly slips: number;
  readonly turned: number;
}

interface Fit {
  readonly length: number;
  readonly slips: number;
}

function fitWord(
  token: Token | undefined,
  { by, word, root }: Spelling,
  meant: Meant,
): 'exact' | 'slip' | 'no' {
  if (!token || isBreak(token)) return 'no';
  if (by === 'start') return token.word.startsWith(word) ? 'exact' : 'no';
  if (by === 'root' ? token.root === root : token.word === word) return 'exact';
  return meant.get(token.word)?.has(by === 'root' ? root : word) ? 'slip' : 'no';
}

/** The best of the choices that stands at this place: spelt right, then longest. */
function bestFit(tokens: readonly Token[], at: number, choices: readonly Choice[], meant: Meant): Fit | null {
  let best: Fit | null = null;
  for (const choice of choices) {
    let slips = 0;
    const all = choice.every((spelling, k) => {
      const one = fitWord(tokens[at + k], spelling, meant);
      if (one === 'slip') slips += 1;
      return one !== 'no';
    });
    if (!all) continue;
    if (!best || slips < best.slips || (slips === best.slips && choice.length > best.length)) {
      best = { length: choice.length, slips };
    }
  }
  return best;
}

/** Follows a phrase from one token on; the shortest way wins. */
function follow(
  tokens: readonly Token[],
  at: number,
  phrase: Phrase,
  next: number,
  meant: Meant,
  trail: Trail,
): (Trail & { end: number }) | null {
  const part = phrase[next];
  if (!part) return { ...trail, end: at };
  const go = (to: number, then: number, more: Partial<Trail> = {}) =>
    follow(tokens, to, phrase, then, meant, { ...trail, ...more });
  if (part.kind === 'number') {
    let end = at;
    while (end < at + 4 && isNumber(tokens[end])) end += 1;
    return end > at ? go(end, next + 1) : null;
  }
  const most = part.kind === 'gap' ? MOST_IN_GAP : next === 0 ? 0 : MOST_SMALL_WORDS;
  let turned = trail.turned;
  for (let skipped = 0; skipped <= most; skipped += 1) {
    const token = tokens[at + skipped];
    if (part.kind === 'gap') {
      const found = go(at + skipped, next + 1, { turned });
      if (found) return found;
      if (isBreak(token)) return null;
    } else {
      const fitting = bestFit(tokens, at + skipped, part.choices, meant);
      if (fitting) {
        const slips = trail.slips + fitting.slips;
        const found = go(at + skipped + fitting.length, next + 1, { turned, slips });
        if (found) return found;
      }
      if (part.optional && skipped === 0) {
        const found = go(at, next + 1);
        if (found) return found;
      }
      if (!token || isBreak(token) || !(isSmall(token) || TURNING.has(token.word))) return null;
    }
    if (token && TURNING.has(token.word)) turned += 1;
  }
  return null;
}

/** All phrases of the book that stand in the text, in the text's order; they may overlap. */
export function findPhrases(tokens: readonly Token[], book: PhraseBook): Found[] {
  const meant = readSlips(tokens, book);
  const found: Found[] = [];
  tokens.forEach((token, start) => {
    if (isBreak(token)) return;
    const keys = new Set([token.word, token.root, ...(meant.get(token.word) ?? [])]);
    const candidates = new Set([...book.open, ...[...keys].flatMap((key) => book.starts.get(key) ?? [])]);
    for (const phrase of candidates) {
      const way = follow(tokens, start, book.phrases[phrase] ?? [], 0, meant, { slips: 0, turned: 0 });
      if (!way || way.end === start) continue;
      found.push({ phrase, start, end: way.end, slips: way.slips, turned: way.turned % 2 === 1 });
    }
  });
  return found;
}
