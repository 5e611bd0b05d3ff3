import type { Tables } from '../../src/core/tables.ts';
import type { SettledCase } from '../../src/outcomes/settled.ts';
import { random } from '../../src/rehearsal/random.ts';
import { drawTruth } from '../../src/rehearsal/truth.ts';

/** Invented communities whose true numbers differ from the file's by `blur` (see `drawTruth`), and their settled cases. */
export interface Place {
  readonly seed: number;
  readonly blur: number;
  /** How often what is reported is not a guess. */
  readonly trust: number;
}

export const day0 = Date.UTC(2026, 0, 1);

/**
 * Case number `index`: a complaint, details, about four checks chosen by chance, up to three remedies among those that may cure it.
 * A person names the fault at the end, but for "something else", which nobody confirms.
 */
export function simulated(tables: Tables, { seed, blur, trust }: Place, index: number): SettledCase {
  const { flow, faults } = tables;
  const truth = drawTruth(tables, seed, index, blur, trust);
  const chance = random('course', seed, index);
  const fault = faults[truth.fault] as string;
  const seen: SettledCase['seen'] = [];
  for (const [check, table] of tables.checks) {
    if (chance.next() > 4 / tables.checks.size) continue;
    const really = truth.outcome(check);
    const value = table.reading ? truth.value(check, really) : null;
    const told = truth.reported(check, really, table.outcomes.length, trust, 1);
    const outcome = value === null ? (table.outcomes[told] as string) : null;
    seen.push({ check, outcome, value, level: 'handy' });
  }
  const tried: SettledCase['tried'] = [];
  const may = flow.remedies.filter(({ id }) => (tables.cures.get(id)?.[truth.fault] ?? 0) > 0);
  for (const { id } of may.slice(0, 3)) {
    const worked = truth.cures(id, 1);
    tried.push({ remedy: id, worked });
    if (worked) break;
  }
  const ids = (choices: readonly { readonly id: string }[]): string[] => choices.map(({ id }) => id);
  return {
    id: `case-${seed}-${index}`,
    flow: flow.flow,
    version: flow.version,
    opened: day0,
    settled: day0,
    complaint: truth.complaint,
    details: Object.fromEntries(flow.details.map(({ id, choices }) => [id, truth.detail(id, ids(choices))])),
    seen,
    tried,
    outcome: tried.at(-1)?.worked === true ? 'Fixed' : 'Repairable',
    barrier: null,
    safety: null,
    fault,
    confirmed: fault === 'something-else' ? null : 'person',
    said_by: 'mender',
    minutes: 10,
    waited: 0,
    parts: [],
    wrong_parts: [],
    follow_up: null,
    demonstration: false,
  };
}
