import type { Case } from '../../shared/case.ts';
import type { Community } from '../../shared/community.ts';
import type { Flow, Price } from '../../shared/flow.ts';
import type { Barrier, RepairOutcome, Safety } from '../../shared/outcome.ts';
import type { Compiled } from './compile.ts';
import type { Plan, Rates } from './plan/problem.ts';
import type { Confirmed, Work } from './spent.ts';

/** What the core is told about where it works. */
export interface Settings {
  readonly community: Community;
  /** How much the plan may think in one turn, in the unit of `plan.ts`. */
  readonly budget: number;
  /** Takes the place of the plan: a printed sheet, chance, or plans remembered. Pure, like the plan itself. */
  readonly decide?: Decide;
  /** By flow: the digest of the accepted numbers that it was given in place of the file's; those that keep the file's are absent. */
  readonly numbers?: ReadonlyMap<string, string>;
  /** The appliances to choose from, where there is more than one flow. */
  readonly library?: Library;
  /** Absent in rehearsals, and where nothing is kept. Only words that are sent depend on it, no event does. */
  readonly earlier?: Earlier;
}

/** Settled cases most like this one, best first, at most `limit`. The same as long as a turn is decided. */
export type Earlier = (kase: Case, limit: number) => readonly EarlierCase[];

/** What an earlier case came to: nobody's words, names or ids. */
export interface EarlierCase extends Work {
  readonly outcome: RepairOutcome;
  readonly barrier: Barrier | null;
  readonly safety: Safety | null;
  readonly fault: string | null;
  readonly confirmed: Confirmed;
  /** When it was settled, milliseconds. */
  readonly settled: number;
}

export interface Library {
  readonly flows: readonly Flow[];
  /** At most three flows that free words may be about, by id, best first. Pure. */
  find(words: string): readonly string[];
}

/** Null where there is nothing to choose from: the one flow then leads every case. */
export const libraryOf = ({ library }: Settings): Library | null =>
  library && library.flows.length > 1 ? library : null;

export type Decide = (compiled: Compiled, kase: Case, budget: number) => Plan;

export const ratesOf = (community: Community): Rates => ({
  minute: community.hour / 60,
  wait: (community.hour / 60) * community.waiting,
});

/** The middle of a price range in the community's currency; a currency without a rate counts one to one. */
export function priceIn(community: Community, price: Price): number {
  const rate = price.currency === community.currency ? 1 : (community.rates[price.currency] ?? 1);
  return ((price.low + price.high) / 2) * rate;
}
