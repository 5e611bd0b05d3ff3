import { isBreak, tokenise } from './words.ts';

/**
 * Phrases are what people may say, written by people who repair:
 *
 *   turn on             the words in this order and in any form: turns on, turned on
 *   turn|switch on      one of these words; several words as one: back-light|backlight
 *   turn (it) on        a word that may be missing
 *   turn ... on         up to three words between
 *   for 2 second        a figure stands for any number: 10, three, a few, a couple of
 *   =lines              this form only, not its other forms
 *   flicker*            any word that begins so
 *
 * Small words (the, my, is, was, goes, very, of) between the words of a phrase do not matter. A "not" between them
 * turns the phrase round. One letter of a word of five letters or more may be wrong.
 */
export interface Spelling {
  readonly by: 'root' | 'word' | 'start';
  readonly word: string;
  readonly root: string;
}
/** Words that follow each other at once; mostly one. */
export type Choice = readonly Spelling[];
type Part =
  | { readonly kind: 'word'; readonly choices: readonly Choice[]; readonly optional: boolean }
  | { readonly kind: 'gap' }
  | { readonly kind: 'number' };
export type Phrase = readonly Part[];

/** Phrases made ready to be looked for. A phrase is known by its place in the list it was made from. */
export interface PhraseBook {
  readonly phrases: readonly Phrase[];
  /** Roots and exact words that a phrase may begin with -> phrases. */
  readonly starts: ReadonlyMap<string, readonly number[]>;
  /** Phrases that may begin with anything. */
  readonly open: readonly number[];
  /** Words of the phrases by first letter, for finding slips. */
  readonly spelt: ReadonlyMap<string, readonly Spelling[]>;
  readonly known: ReadonlySet<string>;
}

function readChoice(text: string): Choice {
  const by = text.startsWith('=') ? 'word' : text.endsWith('*') ? 'start' : 'root';
  return tokenise(text.replace(/^=|\*$/g, ''))
    .filter((token) => !isBreak(token))
    .map(({ word, root }) => ({ by, word, root }));
}

function readPhrase(text: string): Phrase {
  return text
    .trim()
    .split(/\s+/)
    .flatMap((piece): readonly Part[] => {
      if (/^(?:\.{3}|…)$/.test(piece)) return [{ kind: 'gap' }];
      if (/^\d+$/.test(piece)) return [{ kind: 'number' }];
      const optional = /^\(.+\)$/.test(piece);
      const choices = (optional ? piece.slice(1, -1) : piece).split('|').map(readChoice);
      const real = choices.filter((choice) => choice.length > 0);
      return real.length > 0 ? [{ kind: 'word', choices: real, optional }] : [];
    });
}

/** Prepares phrases for `findPhrases`. Any text is a phrase; an empty one is never found. */
export function makePhraseBook(texts: readonly string[]): PhraseBook {
  const phrases = texts.map(readPhrase);
  const starts = new Map<string, number[]>();
  const open: number[] = [];
  const spelt = new Map<string, Spelling[]>();
  const known = new Set<string>();
  const seen = new Set<string>();
  phrases.forEach((phrase, index) => {
    for (const part of phrase) {
      if (part.kind !== 'word') continue;
      for (const spelling of part.choices.flat()) {
        if (spelling.by === 'start') continue;
        known.add(spelling.word).add(spelling.root);
        if (seen.has(spelling.word)) continue;
        seen.add(spelling.word);
        for (const letter of new Set([spelling.word[0] ?? '', spelling.word[1] ?? ''])) {
          spelt.set(letter, [...(spelt.get(letter) ?? []), spelling]);
        }
      }
    }
    const needed = phrase.findIndex((part) => part.kind !== 'word' || !part.optional);
    if (needed < 0) return;
    const first = phrase.slice(0, needed + 1);
    const spellings = first.flatMap((part) =>
      part.kind === 'word' ? part.choices.flatMap(([s]) => s ?? []) : [],
    );
    if (first.some((part) => part.kind !== 'word') || spellings.some(({ by }) => by === 'start')) {
      open.push(index);
      return;
    }
    for (const key of new Set(spellings.map(({ by, word, root }) => (by === 'word' ? word : root)))) {
      starts.set(key, [...(starts.get(key) ?? []), index]);
    }
  });
  return { phrases, starts, open, spelt, known };
}
