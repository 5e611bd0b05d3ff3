import type { Answer } from '../../shared/case.ts';
import type { Flow } from '../../shared/flow.ts';
import { believe, evidence } from '../core/infer.ts';
import type { Settings } from '../core/settings.ts';
import { tablesOf } from '../core/step.ts';
import type { SettledCase } from '../outcomes/settled.ts';
import type { Many } from './rules.ts';

/** What the desk believed of a settled case before it was known, beside plainer guesses. */
export interface Forecast extends Many {
  readonly flow: string;
  /** When it was settled, milliseconds. */
  readonly at: number;
  /** What the plain guess would have said: the flow's own weights, whatever was answered. */
  readonly commonest: ReadonlyMap<string, number>;
}

/**
 * Null where the fault is not confirmed: nobody knows whether the belief was right. The remedy that worked is not counted, since
 * it is what confirmed it.
 */
export function forecastOf(settled: SettledCase, flow: Flow, settings: Settings): Forecast | null {
  if (settled.confirmed === null || settled.fault === null || settled.demonstration) return null;
  const tables = tablesOf(flow, settings);
  if (!tables.faults.includes(settled.fault)) return null;
  const stamp = { seq: 1, at: settled.settled, by: 'owner', level: 'handy' as const };
  const failed = settled.tried.filter(({ worked }) => !worked).map(({ remedy }) => remedy);
  const answers: Answer[] = [
    ...(settled.complaint === null
      ? []
      : [{ ...stamp, kind: 'complaint-stated' as const, complaint: settled.complaint }]),
    ...Object.entries(settled.details).map(
      ([detail, choice]): Answer => ({ ...stamp, kind: 'detail-stated', detail, choice }),
    ),
    ...settled.seen.flatMap(({ check, outcome, value, level }): Answer[] => {
      if (value !== null) return [{ ...stamp, level, kind: 'read', step: check, value, typed: '' }];
      return outcome === null ? [] : [{ ...stamp, level, kind: 'answered', step: check, outcome }];
    }),
    ...failed.map((remedy): Answer => ({ ...stamp, kind: 'tested', result: 'no', remedies: [remedy] })),
  ];
  const { faults } = believe(tables.prior, evidence(tables, answers, settings.community.reliability));
  const named = (row: Float64Array): Map<string, number> =>
    new Map(tables.faults.map((fault, f) => [fault, row[f] as number]));
  return {
    flow: settled.flow,
    at: settled.settled,
    truth: settled.fault,
    belief: named(faults),
    commonest: named(tables.prior),
  };
}
