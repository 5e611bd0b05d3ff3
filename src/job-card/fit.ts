import type { Line } from './wrap.ts';

/** A section as lines, and how much of it is left when a page has no room for all. */
export interface Block {
  readonly title: string;
  readonly lines: readonly BlockLine[];
}

export interface BlockLine {
  /** How it begins: with a bullet, below the words of one, or at the margin. */
  readonly start: 'bullet' | 'below' | 'margin';
  readonly line: Line;
}

export interface Fitted {
  readonly blocks: readonly Block[];
  /** Lines that were left out, of how many. */
  readonly left: number;
  readonly of: number;
}

/** What gets its room before the rest, in this order. '' is what stands before the first section. */
const nextStep = 'What comes next';
/** In the order in which it was done: the latest tells where it stands. */
const inOrder = 'Seen, measured and tried';
const before: readonly (readonly string[])[] = [
  ['', 'Danger'],
  ['Electrical test', 'How it stands', nextStep, 'Outcome'],
  // What was found is the work of hours; all that people said is in the thread.
  ['About the appliance', 'Seen, measured and tried', 'Likely causes now'],
];
const rank = ({ title }: Block): number => {
  const found = before.findIndex((titles) => titles.includes(title));
  return found < 0 ? before.length : found;
};

/**
 * All of it, if `fits` allows; else each section has a line at least, what hurts when it is missing gets its lines first, and the
 * rest share what is left evenly. Each shortened section says how many of its lines are missing. The next step is there as a
 * whole, with what can hurt in it, or not at all. Only when that is too much, too, sections go.
 */
export function shorten(
  blocks: readonly Block[],
  fits: (blocks: readonly Block[], cut: boolean) => boolean,
): Fitted {
  const of = blocks.reduce((sum, { lines }) => sum + lines.length, 0);
  if (fits(blocks, false)) return { blocks, left: 0, of };
  const caps = blocks.map(({ title, lines }) => Math.min(lines.length, title === nextStep ? 0 : 1));
  const gone = new Set<number>();
  const shown = (): Block[] =>
    blocks.flatMap((block, i) => (gone.has(i) ? [] : [capped(block, caps[i] ?? 0)]));
  const byRank = blocks.map((block, i) => ({ i, rank: rank(block) })).sort((a, b) => a.rank - b.rank);
  for (const { i } of byRank.toReversed()) {
    if (fits(shown(), true)) break;
    gone.add(i);
  }
  for (let tier = 0; tier <= before.length; tier++) {
    const open = new Set(byRank.filter((one) => one.rank === tier && !gone.has(one.i)).map(({ i }) => i));
    while (open.size > 0) {
      for (const i of open) {
        const { title, lines } = blocks[i] as Block;
        const was = caps[i] ?? 0;
        caps[i] = title === nextStep ? lines.length : was + 1;
        const full = was >= lines.length;
        if (full || !fits(shown(), true)) {
          caps[i] = was;
          open.delete(i);
        }
      }
    }
  }
  const kept = caps.reduce((sum, cap, i) => sum + (gone.has(i) ? 0 : cap), 0);
  return { blocks: shown(), left: of - kept, of };
}

const atMargin = (words: string): BlockLine => ({ start: 'margin', line: [{ words, bold: true }] });

/** `cap` lines, and one that counts the rest. */
function capped(block: Block, cap: number): Block {
  const { title, lines } = block;
  const left = lines.length - cap;
  if (left <= 0) return block;
  if (title === nextStep)
    return {
      title,
      lines: [atMargin('Too long for this page. Read it in the thread before anybody does it.')],
    };
  const more = left === 1 ? '1 more line' : `${left} more lines`;
  return title === inOrder
    ? { title, lines: [atMargin(`… ${more} before`), ...lines.slice(left)] }
    : { title, lines: [...lines.slice(0, cap), atMargin(`… and ${more}`)] };
}
