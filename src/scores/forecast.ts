import type { Answer } from '../../shared/case.ts';
import type { Flow, Level } from '../../shared/flow.ts';
import { believe, evidence } from '../core/infer.ts';
import type { Settings } from '../core/settings.ts';
import { tablesOf } from '../core/step.ts';
import type { Tables } from '../core/tables.ts';
import type { SettledCase } from '../outcomes/settled.ts';
import { expectedCost, wasCost } from './cost.ts';
import { type Many, ranked } from './rules.ts';

/** Odds over the faults of a flow, and what it was. Plain data, whoever gave the odds. */
export interface Forecast extends Many {
  readonly flow: string;
  /** When it was settled, milliseconds. */
  readonly at: number;
  /** What the whole was expected to cost, and did; in the community's currency. */
  readonly cost: { readonly expected: number; readonly was: number } | null;
}

/**
 * Several who forecast the same truth. `end`: the desk just before it was known, that is by everything but the remedy that
 * worked. `start`: the desk by the complaint and the first details. `file`: like `end` by the flow file's own numbers, where
 * the desk goes by others. `weights`: the file's weights, whatever was answered. `commonest`: always the fault of most weight.
 *
 * `end` is a moment picked by how it ended: of all tests, the one that worked is left out. So even perfect numbers look wrong
 * by it, and whether "80 %" means 80 % is to be read from `start`, a moment that nobody picked.
 */
export type Source = 'end' | 'start' | 'file' | 'weights' | 'commonest';
export type Forecasts = Readonly<Record<Exclude<Source, 'file'>, Forecast>> & { readonly file?: Forecast };

/**
 * Null where nobody knows whether the odds were right: the fault is not confirmed, or the flow no longer has it; and for
 * demonstrations. `learnt`: the tables that the desk goes by, where they are not the file's.
 */
export function forecastsOf(
  settled: SettledCase,
  flow: Flow,
  settings: Settings,
  learnt?: Tables,
): Forecasts | null {
  const end = forecastOf(settled, flow, settings, learnt);
  const file = tablesOf(flow, settings);
  const own = learnt ?? file;
  if (!end || !file.faults.includes(end.truth)) return null;
  const first = firstOf(settled, flow);
  const forecast = (belief: Forecast['belief'], cost: Forecast['cost'] = null): Forecast => ({
    ...end,
    belief,
    cost,
  });
  const was = wasCost(settled, file, settings);
  return {
    end,
    start: forecast(
      beliefOf(own, first, settings),
      was === null ? null : { expected: expectedCost(first, levelIn(settled), own, settings), was },
    ),
    ...(learnt ? { file: forecast(beliefOf(file, answersOf(settled), settings)) } : {}),
    weights: forecast(named(file, file.prior)),
    commonest: forecast(commonest(file)),
  };
}

/** `end` alone, which needs no plan; null as above. */
export function forecastOf(
  settled: SettledCase,
  flow: Flow,
  settings: Settings,
  learnt?: Tables,
): Forecast | null {
  const { fault: truth, confirmed, demonstration } = settled;
  const own = learnt ?? tablesOf(flow, settings);
  if (confirmed === null || truth === null || demonstration || !own.faults.includes(truth)) return null;
  return {
    flow: settled.flow,
    at: settled.settled,
    belief: beliefOf(own, answersOf(settled), settings),
    truth,
    cost: null,
  };
}

/** The belief of these tables after these answers; where they rule every fault out, all alike, as the desk takes it. */
function beliefOf(tables: Tables, answers: readonly Answer[], settings: Settings): Forecast['belief'] {
  const { faults, probability } = believe(
    tables.prior,
    evidence(tables, answers, settings.community.reliability),
  );
  return named(tables, probability > 0 ? faults : faults.fill(1 / faults.length));
}

const named = (tables: Tables, row: Float64Array): Forecast['belief'] =>
  Object.fromEntries(tables.faults.map((fault, f) => [fault, row[f] as number]));

/** The floor for all others: nothing is ever quite ruled out, and a log score stays finite. */
function commonest(tables: Tables): Forecast['belief'] {
  const [top] = ranked({ belief: named(tables, tables.prior) })[0] ?? [];
  const others = tables.faults.length - 1;
  const floor = Math.min(tables.floor, 1 / tables.faults.length);
  const row = tables.faults.map((fault) => (fault === top ? 1 - others * floor : floor));
  return named(tables, Float64Array.from(row));
}

/** A settled case does not say at which level its complaint was stated: the level of whoever saw the first thing. */
const levelIn = (settled: SettledCase): Level => settled.seen[0]?.level ?? 'new';

/** What was known before the remedy that worked. */
function answersOf(settled: SettledCase): Answer[] {
  const stamp = stampOf(settled);
  return [
    ...stated(settled, settled.details),
    ...settled.seen.flatMap(({ check, outcome, value, level }): Answer[] => {
      if (value !== null) return [{ ...stamp, level, kind: 'read', step: check, value, typed: '' }];
      return outcome === null ? [] : [{ ...stamp, level, kind: 'answered', step: check, outcome }];
    }),
    ...settled.tried
      .filter(({ worked }) => !worked)
      .map(({ remedy }): Answer => ({ ...stamp, kind: 'tested', result: 'no', remedies: [remedy] })),
  ];
}

/** What was known before anything was looked at. */
function firstOf(settled: SettledCase, flow: Flow): Answer[] {
  const first = new Set(flow.details.filter(({ before }) => before === 'first').map(({ id }) => id));
  return stated(
    settled,
    Object.fromEntries(Object.entries(settled.details).filter(([detail]) => first.has(detail))),
  );
}

const stampOf = (settled: SettledCase) => ({
  seq: 1,
  at: settled.settled,
  by: 'owner',
  level: levelIn(settled),
});

function stated(settled: SettledCase, details: SettledCase['details']): Answer[] {
  const stamp = stampOf(settled);
  return [
    ...(settled.complaint === null
      ? []
      : [{ ...stamp, kind: 'complaint-stated' as const, complaint: settled.complaint }]),
    ...Object.entries(details).map(
      ([detail, choice]): Answer => ({ ...stamp, kind: 'detail-stated', detail, choice }),
    ),
  ];
}
