import type { Flow } from '../../shared/flow.ts';
import type { Barrier, RepairOutcome } from '../../shared/outcome.ts';
import { priceIn, type Settings } from '../core/settings.ts';
import { spentOf } from '../core/spent.ts';
import type { Tables } from '../core/tables.ts';
import type { SettledCase } from '../outcomes/settled.ts';
import { type Forecast, forecastOf } from '../scores/forecast.ts';
import { dayIn } from './day.ts';
import { kilograms } from './kilograms.ts';
import { type Category, categoryOf } from './ords.ts';

/** What a community's month came to: counts and sums over its settled cases, nobody's words, no case by itself. */
export interface Month {
  /** YYYY-MM, by the day on which a case was settled, in the community's time zone. */
  readonly month: string;
  readonly cases: number;
  /** Cases of the month whose flow is not here any more; counted nowhere else. */
  readonly gone: number;
  readonly ended: ReadonlyMap<RepairOutcome, number>;
  /** Of those at the end of their life; null where nobody said why. */
  readonly barriers: ReadonlyMap<Barrier | null, number>;
  readonly categories: ReadonlyMap<Category, { readonly cases: number; readonly fixed: number }>;
  readonly money: Money;
  readonly mass: {
    readonly kg: number;
    /** Fixed pieces of categories that have no figure. */
    readonly unweighed: number;
  };
  readonly desk: {
    /** Cases whose fault is confirmed. */
    readonly confirmed: number;
    /** The desk's likeliest fault was another; most frequent first. */
    readonly wrong: readonly Mistake[];
  };
  /** From opened to settled, minutes; null without cases. */
  readonly median: number | null;
}

/** In the community's currency. Time is hands-on minutes, and waiting at its share, as the plan counts both. */
export interface Money {
  /** What replacing everything that was fixed would have cost, at the middle of each flow's price. */
  readonly replacements: number;
  /** Parts and time of what was fixed. */
  readonly parts: number;
  readonly time: number;
  /** Parts and time of all that ended otherwise. */
  readonly otherwise: number;
}

export interface Mistake {
  readonly flow: Flow;
  /** Faults by id. */
  readonly said: string;
  readonly was: string;
  readonly times: number;
}

/** Reads all cases once and keeps sums of the month's, with one number a case for the median. Demonstrations do not count. */
export async function monthOf(
  cases: AsyncIterable<SettledCase>,
  {
    flows,
    settings,
    month,
    learnt,
  }: {
    readonly flows: readonly Flow[];
    readonly settings: Settings;
    readonly month: string;
    /** The numbers that the desk goes by, for flows where they are not the file's. */
    readonly learnt?: (flow: Flow) => Tables | undefined;
  },
): Promise<Month> {
  const { community } = settings;
  const byId = new Map(flows.map((flow) => [flow.flow, flow]));
  const ended = new Map<RepairOutcome, number>();
  const barriers = new Map<Barrier | null, number>();
  const categories = new Map<Category, { cases: number; fixed: number }>();
  const money = { replacements: 0, parts: 0, time: 0, otherwise: 0 };
  const mass = { kg: 0, unweighed: 0 };
  const mistakes = new Map<string, Mistake>();
  const lengths: number[] = [];
  let [gone, confirmed] = [0, 0];
  for await (const one of cases) {
    if (one.demonstration || dayIn(one.settled, community.time_zone).slice(0, 7) !== month) continue;
    const flow = byId.get(one.flow);
    if (!flow) {
      gone++;
      continue;
    }
    const fixed = one.outcome === 'Fixed';
    const category = categoryOf(flow);
    lengths.push((one.settled - one.opened) / 60_000);
    ended.set(one.outcome, (ended.get(one.outcome) ?? 0) + 1);
    if (one.outcome === 'End of life') barriers.set(one.barrier, (barriers.get(one.barrier) ?? 0) + 1);
    const so = categories.get(category) ?? { cases: 0, fixed: 0 };
    categories.set(category, { cases: so.cases + 1, fixed: so.fixed + (fixed ? 1 : 0) });

    const { money: parts, worth: time } = spentOf(one, flow, community);
    if (fixed) {
      money.replacements += priceIn(community, flow.replace.price);
      money.parts += parts;
      money.time += time;
      const { kg } = kilograms[category];
      mass.kg += kg ?? 0;
      mass.unweighed += kg === null ? 1 : 0;
    } else money.otherwise += parts + time;

    const forecast = forecastOf(one, flow, settings, learnt?.(flow));
    if (!forecast) continue;
    confirmed++;
    const [said, was] = [likeliest(forecast), forecast.truth];
    if (said === was) continue;
    const key = `${flow.flow} ${said} ${was}`;
    mistakes.set(key, { flow, said, was, times: (mistakes.get(key)?.times ?? 0) + 1 });
  }
  return {
    month,
    cases: lengths.length,
    gone,
    ended,
    barriers,
    categories,
    money,
    mass,
    desk: { confirmed, wrong: [...mistakes.values()].toSorted((a, b) => b.times - a.times) },
    median: medianOf(lengths),
  };
}

const likeliest = ({ belief }: Forecast): string =>
  Object.entries(belief).reduce((best, one) =>
    one[1] > best[1] || (one[1] === best[1] && one[0] < best[0]) ? one : best,
  )[0];

function medianOf(values: readonly number[]): number | null {
  const sorted = values.toSorted((a, b) => a - b);
  const [low, high] = [sorted[(sorted.length - 1) >> 1], sorted[sorted.length >> 1]];
  return low === undefined || high === undefined ? null : (low + high) / 2;
}
