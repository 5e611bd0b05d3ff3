import MiniSearch from 'minisearch';
import type { Flow } from '../../shared/flow.ts';
import type { Library } from '../core/settings.ts';
import { recognise } from '../core/words/recognise.ts';
import { isCommon } from '../core/words/spelling.ts';

/** The flows with a search over what people call their appliances. */

interface Name {
  readonly id: number;
  readonly flow: string;
  readonly name: string;
  /** Words of it that have to be found. */
  readonly words: readonly string[];
  /** Written without its gaps: then it has to be spelt right, or "electrical" would be an electric fan. */
  readonly joined: boolean;
}

const most = 3;
/** Words in a row that may be one name. */
const longest = 4;

export function createLibrary(flows: readonly Flow[]): Library {
  const known = flows.filter(({ general }) => general === undefined);
  const own = searchOver(known);
  const wide = searchOver(flows.filter(({ general }) => general !== undefined));
  return {
    flows,
    find(words) {
      const named = inText(words, own);
      if (named.length > 0) return ordered(words, named, known);
      // "A machine" is named, and nobody knows more: the general way, and what few appliances can have.
      const general = inText(words, wide).map(({ flow }) => flow);
      return [...new Set([...general, ...complained(words, known)])].slice(0, most);
    },
  };
}

function searchOver(flows: readonly Flow[]): MiniSearch<Name> {
  const names = flows.flatMap(({ flow, names }) =>
    [...new Set(names.map((name) => tokens(name).join(' ')))].map((name) => ({ flow, name })),
  );
  const search = new MiniSearch<Name>({
    fields: ['name'],
    storeFields: ['flow', 'words', 'joined'],
    tokenize: tokens,
    processTerm: (term) => term,
  });
  search.addAll(
    names.map(({ flow, name }, id) => ({ id, flow, name, words: name.split(' '), joined: false })),
  );
  // "Vacuumcleaner" and "tele vision" are found as well: every name is also one word without its gaps.
  const squashed = names.filter(({ name }) => name.includes(' '));
  search.addAll(
    squashed.map(({ flow, name }, i) => ({
      id: names.length + i,
      flow,
      name: name.replaceAll(' ', ''),
      words: [name.replaceAll(' ', '')],
      joined: true,
    })),
  );
  return search;
}

interface Found {
  readonly flow: string;
  /** Words of the name: "coffee machine" says more than "machine". */
  readonly words: number;
  readonly exact: boolean;
  readonly at: number;
}

/** Flows of which a whole name stands in the text: longer names first, then as written before misspelt, then in order. */
function inText(words: string, search: MiniSearch<Name>): Found[] {
  const all = tokens(words);
  const found: Found[] = [];
  for (let at = 0; at < all.length; at++) {
    for (let length = 1; length <= Math.min(longest, all.length - at); length++) {
      const part = all.slice(at, at + length);
      for (const query of length === 1 ? [part] : [part, [part.join('')]]) {
        for (const hit of search.search(query.join(' '), { combineWith: 'AND', fuzzy: slips })) {
          const terms = Object.keys(hit.match);
          if (terms.length !== hit.words.length || query.length !== hit.words.length) continue;
          const exact = terms.every((term) => query.includes(term));
          if (!exact && (hit.joined || query.length < length)) continue;
          // Few people miss the first letter.
          if (!exact && !terms.every((term) => query.some((word) => word[0] === term[0]))) continue;
          found.push({ flow: hit.flow, words: length, exact, at });
        }
      }
    }
  }
  // A name inside a longer one is not meant: "coffee machine" in "the coffee machine".
  const whole = found.filter(
    (one) =>
      !found.some(
        (other) =>
          other.words > one.words &&
          (other.exact || !one.exact) &&
          other.at <= one.at &&
          one.at + one.words <= other.at + other.words,
      ),
  );
  const some = whole.some(({ exact }) => exact) ? whole.filter(({ exact }) => exact) : whole;
  return some.toSorted((a, b) => b.words - a.words || a.at - b.at);
}

/** Where two appliances have the same name, what is wrong may tell: a drill with a cable, and one with a pack. */
function ordered(words: string, found: readonly Found[], flows: readonly Flow[]): string[] {
  const scores = new Map(
    flows
      .filter(({ flow }) => found.some((one) => one.flow === flow))
      .map((flow) => [flow.flow, recognise(words, flow)[0]?.score ?? 0]),
  );
  const score = ({ flow }: Found): number => scores.get(flow) ?? 0;
  const order = found.toSorted((a, b) => b.words - a.words || a.at - b.at || score(b) - score(a));
  return [...new Set(order.map(({ flow }) => flow))].slice(0, most);
}

/** Letters that may be wrong in a word of a name; none in everyday words, which are spelt as meant. */
const slips = (term: string): number | false =>
  term.length < 5 || isCommon(term) ? false : term.length < 6 ? 1 : 2;

/** Without a name, what is wrong may tell: only where few appliances can have it. */
function complained(words: string, flows: readonly Flow[]): string[] {
  const scored = flows.flatMap((flow) => {
    const [best] = recognise(words, flow);
    return best ? [{ flow: flow.flow, score: best.score }] : [];
  });
  const top = Math.max(0, ...scored.map(({ score }) => score));
  const near = scored.filter(({ score }) => score > 0.8 * top).toSorted((a, b) => b.score - a.score);
  return near.length <= most ? near.map(({ flow }) => flow) : [];
}

/** Words in small letters, in the singular; "hi-fi" and "hifi" are one. */
function tokens(text: string): string[] {
  return text
    .normalize('NFKC')
    .toLowerCase()
    .replaceAll(/['’]s?\b/g, '')
    .replaceAll(/(\p{L})-(?=\p{L})/gu, '$1')
    .split(/[^\p{L}\p{N}]+/u)
    .filter((word) => word !== '')
    .map(singular);
}

const singular = (word: string): string =>
  word.length > 3 && word.endsWith('s') && !/(?:ss|us|is)$/.test(word) ? word.slice(0, -1) : word;
