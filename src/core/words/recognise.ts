import { type IdeaBook, type Mention, makeIdeaBook, readIdeas } from './ideas.ts';
import { makePhraseBook } from './phrase-book.ts';
import { findPhrases } from './phrases.ts';
import { tokenise } from './words.ts';

/**
 * Finds the complaint in free words. A flow brings its own vocabulary: `ideas`, each with phrases that people use
 * (notation in `phrase-book.ts`), and for every complaint the patterns that make it up:
 *
 *   +sound -picture           the text says that there is sound and that there is no picture
 *   +picture then -picture    first the one, later in the text the other
 *
 * `never`: patterns of one idea or more that rule the complaint out, however much speaks for it.
 */
export interface ComplaintWords {
  readonly id: string;
  readonly label: string;
  readonly words: readonly string[];
  readonly never?: readonly string[];
}

export interface Vocabulary {
  readonly ideas: Readonly<Record<string, readonly string[]>>;
  readonly complaints: readonly ComplaintWords[];
}

/** `score` is between 0 and 1: a half for a pattern of one idea, three quarters for two; less for misspelt words. */
export interface Recognition {
  readonly id: string;
  readonly score: number;
}

interface Wanted {
  readonly idea: string;
  readonly sign: 'present' | 'absent';
}
/** Groups that follow each other in the text. */
type Pattern = readonly (readonly Wanted[])[];

interface Prepared {
  readonly ideas: IdeaBook;
  readonly complaints: readonly {
    readonly id: string;
    readonly words: readonly Pattern[];
    readonly never: readonly Pattern[];
  }[];
}

const SLIP_FACTOR = 0.9;

function readPattern(text: string): Pattern {
  return text
    .trim()
    .split(/\s+then\s+/)
    .map((group) =>
      group
        .split(/\s+/)
        .filter((item) => item !== '')
        .map((item) => ({
          idea: item.replace(/^[+-]/, ''),
          sign: item.startsWith('-') ? ('absent' as const) : ('present' as const),
        })),
    );
}

// A vocabulary is prepared once; the same object gives the same result, so nobody can tell.
const prepared = new WeakMap<Vocabulary, Prepared>();

function prepare(vocabulary: Vocabulary): Prepared {
  const known = prepared.get(vocabulary);
  if (known) return known;
  const made: Prepared = {
    ideas: makeIdeaBook(vocabulary.ideas),
    complaints: vocabulary.complaints.map(({ id, words, never }) => ({
      id,
      words: words.map(readPattern),
      never: (never ?? []).map(readPattern),
    })),
  };
  prepared.set(vocabulary, made);
  return made;
}

/** Mentions of an idea with the wanted sign; none when the text also says the opposite. */
function agreed(mentions: readonly Mention[], { idea, sign }: Wanted): readonly Mention[] {
  const about = mentions.filter((mention) => mention.idea === idea && mention.sign !== 'unclear');
  return about.every((mention) => mention.sign === sign) ? about : [];
}

function scoreInOrder(mentions: readonly Mention[], pattern: Pattern): number {
  let from = 0;
  let doubt = 1;
  let slips = 0;
  for (const group of pattern) {
    let last = from;
    for (const { idea, sign } of group) {
      const found = mentions.find(
        (mention) => mention.start >= from && mention.idea === idea && mention.sign === sign,
      );
      if (!found) return 0;
      last = Math.max(last, found.end);
      doubt /= 2;
      slips += found.slips;
    }
    from = last;
  }
  return (1 - doubt) * SLIP_FACTOR ** slips;
}

function scoreTogether(mentions: readonly Mention[], wanted: readonly Wanted[]): number {
  let doubt = 1;
  let slips = 0;
  for (const want of wanted) {
    const found = agreed(mentions, want);
    if (found.length === 0) return 0;
    doubt /= 2;
    slips += Math.min(...found.map((mention) => mention.slips));
  }
  return (1 - doubt) * SLIP_FACTOR ** slips;
}

function scorePattern(mentions: readonly Mention[], pattern: Pattern): number {
  const only = pattern[0];
  return pattern.length === 1 && only ? scoreTogether(mentions, only) : scoreInOrder(mentions, pattern);
}

/** Ruled out as soon as any mention says so, even where the text contradicts itself: silence is the safer answer. */
function rulesOut(mentions: readonly Mention[], pattern: Pattern): boolean {
  return pattern
    .flat()
    .every(({ idea, sign }) => mentions.some((mention) => mention.idea === idea && mention.sign === sign));
}

/**
 * The complaints that a text speaks of, best first; equal ones in the vocabulary's order. Empty when nothing is
 * recognised: "it is broken" is no complaint. Any text is fine; never throws.
 */
export function recognise(text: string, vocabulary: Vocabulary): Recognition[] {
  const { ideas, complaints } = prepare(vocabulary);
  const mentions = readIdeas(tokenise(text), ideas);
  return complaints
    .map(({ id, words, never }) => {
      const out = never.some((pattern) => rulesOut(mentions, pattern));
      return { id, score: out ? 0 : Math.max(0, ...words.map((pattern) => scorePattern(mentions, pattern))) };
    })
    .filter(({ score }) => score > 0)
    .sort((a, b) => b.score - a.score);
}

/** Does the text name the appliance? Whole words, in the plural too, one letter of a long word may be wrong. */
export function names(text: string, appliance: readonly string[]): boolean {
  return findPhrases(tokenise(text), makePhraseBook(appliance)).some(({ turned }) => !turned);
}
