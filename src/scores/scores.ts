import type { Forecast, Forecasts, Source } from './forecast.ts';
import { type Comparison, compare, type Summary, summarise } from './summary.ts';

/** How good the odds were of one flow, or of all. */
export interface Scores {
  readonly flow: string;
  readonly cases: number;
  readonly sources: BySource<Summary>;
  /** The desk at its start and at its end, against everybody else. */
  readonly skill: Readonly<Partial<Record<Desk, BySource<Comparison>>>>;
  /** By month of settling, YYYY-MM, the oldest first. */
  readonly months: readonly { readonly month: string; readonly sources: BySource<Summary> }[];
}

export type BySource<T> = Readonly<Partial<Record<Source, T>>>;
export type Desk = 'start' | 'end';
export const sources: readonly Source[] = ['start', 'end', 'file', 'weights', 'commonest'];
const desks: readonly Desk[] = ['start', 'end'];
const others: readonly Source[] = ['file', 'weights', 'commonest'];

/** All of them as `all`, then each flow by name; none where there is nothing to score. */
export function scores(all: readonly Forecasts[], timeZone: string): Scores[] {
  if (all.length === 0) return [];
  const flows = [...Map.groupBy(all, ({ end }) => end.flow)].toSorted(([a], [b]) => (a < b ? -1 : 1));
  const monthOf = months(timeZone);
  return [['all', all] as const, ...flows].map(([flow, list]) => ({
    flow,
    cases: list.length,
    sources: summaries(list),
    skill: Object.fromEntries(desks.map((desk) => [desk, comparisons(list, desk)])),
    months: [...Map.groupBy(list, ({ end }) => monthOf(end.at))]
      .toSorted(([a], [b]) => (a < b ? -1 : 1))
      .map(([month, members]) => ({ month, sources: summaries(members) })),
  }));
}

const of = (list: readonly Forecasts[], source: Source): Forecast[] =>
  list.flatMap((one) => one[source] ?? []);

const summaries = (list: readonly Forecasts[]): BySource<Summary> =>
  Object.fromEntries(
    sources.flatMap((source) => {
      const summary = summarise(of(list, source));
      return summary ? [[source, summary]] : [];
    }),
  );

/** Case by case, so only over those that both forecast. */
const comparisons = (list: readonly Forecasts[], desk: Desk): BySource<Comparison> =>
  Object.fromEntries(
    others.flatMap((source) => {
      const both = list.filter((one) => one[source] !== undefined);
      return both.length === 0 ? [] : [[source, compare(of(both, desk), of(both, source))]];
    }),
  );

/** In the community's own days: what is settled on the first before dawn belongs to its month. */
function months(timeZone: string): (at: number) => string {
  const format = new Intl.DateTimeFormat('en', { timeZone, year: 'numeric', month: '2-digit' });
  return (at) => {
    const parts = Object.fromEntries(format.formatToParts(at).map(({ type, value }) => [type, value]));
    return `${parts.year}-${parts.month}`;
  };
}
