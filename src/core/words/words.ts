import { rootOf } from './word-roots.ts';

/**
 * Cuts free text into words and breaks. Every token keeps its place in the text as it was typed, so that the words
 * that decided something can be quoted back. Contractions become two words ("doesn't", "doesnt" -> "do not"), since
 * a lost "not" turns a sentence round.
 */
export interface Token {
  /** `stop`: a sentence or a dash ends here. `question`: it ends with "?". `comma`: also brackets. */
  readonly kind: 'word' | 'number' | 'comma' | 'stop' | 'question';
  /** Small letters, no accents, no apostrophes; for a break, the sign itself. */
  readonly word: string;
  /** The word without its endings; see `rootOf`. */
  readonly root: string;
  /** Where it stands in the text: [start, end). */
  readonly start: number;
  readonly end: number;
}

// Single letters with points are one word ("t.v."); figures may hold a point or comma; hyphens inside words join nothing.
const TOKEN =
  /(?<![\p{L}\p{N}])\p{L}(?:\.\p{L})+(?![\p{L}\p{N}])\.?|\p{N}+(?:[.,]\p{N}+)*[\p{L}\p{M}\p{N}]*|[\p{L}\p{M}][\p{L}\p{M}\p{N}]*(?:['’‘`´ʼ][\p{L}\p{M}]+)*|\p{Extended_Pictographic}|[.,;:!?…()[\]/&+=\r\n–—-]/gu;

// "dont" and its like, with the misspellings that people type. From memory; no source.
const NOT_FORMS: ReadonlyMap<string, string> = new Map(
  Object.entries({
    do: 'dont doesnt didnt dosnt dosent doesent doenst doent dident dint didint dosen',
    can: 'cant cannot cannt cnt',
    will: 'wont wount',
    be: 'isnt arent wasnt werent aint isint wasent',
    have: 'hasnt havent hadnt hasent havnt havent',
    would: 'wouldnt woudnt wouldent',
    could: 'couldnt coudnt couldent',
    should: 'shouldnt',
  }).flatMap(([verb, forms]) => forms.split(' ').map((form) => [form, verb] as const)),
);
const VERB_BEFORE_NOT: ReadonlyMap<string, string> = new Map(
  Object.entries({ wo: 'will', ca: 'can', ai: 'be', is: 'be', are: 'be', was: 'be', were: 'be' }),
);
const ENDINGS: ReadonlyMap<string, string> = new Map(
  Object.entries({ re: 'be', m: 'be', ve: 'have', ll: 'will', d: 'would' }),
);
const BREAKS: ReadonlyMap<string, Token['kind']> = new Map(
  [...',()[]'].map((sign) => [sign, 'comma'] as const),
);

function wordsIn(raw: string): readonly string[] {
  const plain = raw
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .toLowerCase()
    .replace(/[’‘`´ʼ]/g, "'");
  const joined = plain.replaceAll("'", '').replaceAll('.', '');
  const verb = NOT_FORMS.get(joined);
  if (verb) return [verb, 'not'];
  if (plain.endsWith("n't")) {
    const stem = plain.slice(0, -3);
    return [VERB_BEFORE_NOT.get(stem) ?? stem, 'not'];
  }
  const cut = plain.indexOf("'");
  if (cut < 0) return [joined];
  const head = plain.slice(0, cut);
  const ending = plain.slice(cut + 1);
  if (ending === 's') return /^(?:it|that|he|she|there|what)$/.test(head) ? [head, 'be'] : [head];
  const spelt = ENDINGS.get(ending);
  return spelt ? [head, spelt] : [joined];
}

function breakKind(sign: string, before: string, after: string): Token['kind'] | 'joint' {
  if (sign === '?') return 'question';
  if (sign === '-' && /[\p{L}\p{N}]/u.test(before) && /[\p{L}\p{N}]/u.test(after)) return 'joint';
  return BREAKS.get(sign) ?? 'stop';
}

/** Words and breaks in order. Any text is fine, also an empty one; time grows with its length. */
export function tokenise(text: string): Token[] {
  const tokens: Token[] = [];
  for (const match of text.matchAll(TOKEN)) {
    const raw = match[0];
    const start = match.index;
    const end = start + raw.length;
    if (raw === '/' || raw === '&' || raw === '+') {
      const word = raw === '/' ? 'or' : 'and';
      tokens.push({ kind: 'word', word, root: word, start, end });
    } else if (/^\p{N}/u.test(raw)) {
      const word = raw.normalize('NFKD').toLowerCase();
      tokens.push({ kind: 'number', word, root: word, start, end });
    } else if (/^[\p{L}\p{M}]|^\p{Extended_Pictographic}/u.test(raw)) {
      for (const word of wordsIn(raw)) {
        if (word) tokens.push({ kind: 'word', word, root: rootOf(word), start, end });
      }
    } else {
      const kind = breakKind(raw, text[start - 1] ?? ' ', text[end] ?? ' ');
      if (kind !== 'joint') tokens.push({ kind, word: raw, root: raw, start, end });
    }
  }
  return tokens;
}

/** No word can be read across a break. */
export function isBreak(token: Token | undefined): boolean {
  return token === undefined || (token.kind !== 'word' && token.kind !== 'number');
}

/** Words written in one line, as a set. */
export function wordSet(words: string): ReadonlySet<string> {
  return new Set(words.split(' '));
}
