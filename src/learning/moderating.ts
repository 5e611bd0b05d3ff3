import type { Reply } from '../../shared/adapter.ts';
import { Advice } from '../advice.ts';
import { tablesOf } from '../core/step.ts';
import { type Deciding, decide, flowOf, tallied } from './decide.ts';
import { decided } from './decided.ts';
import { figuresOf, learnSettings } from './figures.ts';
import { accept, type Proposal } from './propose.ts';
import { allTold, clearly, flowTold } from './told.ts';

/** Learnt numbers in the chat: a moderator sees them beside the file's and has the desk use what they have seen. */
export interface Moderating {
  /** All flows, or one by its id. */
  show(flow: string | null, by: string): Promise<Reply>;
  /** Only what this person was shown last, and nothing that came up since. */
  accept(flow: string, by: string): Promise<Reply>;
}

/** What somebody was shown last; as cases come and go, the same place may have other numbers. */
interface Shown {
  readonly flow: string;
  readonly at: number;
  /** By id of the proposal. */
  readonly numbers: ReadonlyMap<string, string>;
}

const numbersOf = ({ distribution }: Proposal): string => JSON.stringify(distribution);

/** People whose last look is remembered; whoever is forgotten looks again. */
const remembered = 200;

const plain = (words: string): Reply => ({ words, cases: [] });

export function createModerating(desk: Deciding, changed: () => Promise<void>): Moderating {
  const seen = new Map<string, Shown>();

  async function figures(flows: Deciding['flows'], at: number) {
    const known = decided(await desk.book.read(0));
    const tally = await tallied(known, desk);
    return flows.map((flow) => figuresOf(flow, tally, known, desk.settings, at));
  }

  async function show(flow: string | null, by: string): Promise<Reply> {
    const at = desk.now();
    if (flow === null) return allTold(await figures(desk.flows, at));
    const [one] = await figures([flowOf(flow, desk)], at);
    if (!one) return allTold([]);
    const told = flowTold(one);
    seen.delete(by);
    seen.set(by, { flow, at, numbers: new Map(clearly(one).map((shown) => [shown.id, numbersOf(shown)])) });
    const [oldest] = seen.keys();
    if (seen.size > remembered && oldest !== undefined) seen.delete(oldest);
    return told;
  }

  async function use(id: string, by: string): Promise<Reply> {
    const flow = flowOf(id, desk);
    const shown = seen.get(by);
    if (shown?.flow !== id)
      return plain('Please look at the numbers first; what was shown before is too long ago.');
    let taken = 0;
    const at = desk.now();
    await decide(desk, async (known) => {
      const tally = await tallied(known, desk);
      const { proposals, accepted } = figuresOf(flow, tally, known, desk.settings, shown.at);
      const left = proposals.filter(({ id }) => shown.numbers.has(id));
      if (left.length === 0)
        throw new Advice('The cases behind these numbers are gone, so there is nothing to use.');
      const chosen = left.filter((one) => shown.numbers.get(one.id) === numbersOf(one));
      if (chosen.length === 0)
        throw new Advice('These numbers are other ones by now. Please look at the numbers again.');
      taken = chosen.length;
      const learnt = accept(
        chosen,
        tablesOf(flow, desk.settings),
        learnSettings(desk.settings),
        { at, by },
        accepted?.learnt,
      );
      return { kind: 'accepted', at, by, flow: id, learnt };
    });
    seen.delete(by);
    await changed();
    return plain(
      `From now on the desk goes by ${taken === 1 ? 'this number' : `these ${taken}`} for ${flow.title}, cases under way too. “npm run learnt -- withdraw ${id}” takes it back.`,
    );
  }

  const advised = async (reply: Promise<Reply>): Promise<Reply> => {
    try {
      return await reply;
    } catch (error) {
      if (error instanceof Advice) return plain(error.message);
      throw error;
    }
  };

  return {
    show: (flow, by) => advised(show(flow, by)),
    accept: (flow, by) => advised(use(flow, by)),
  };
}
