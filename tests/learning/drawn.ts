import type { Tables } from '../../src/core/tables.ts';
import {
  complaintsOf,
  type LearnSettings,
  normalised,
  statedJoint,
  unnamed,
} from '../../src/learning/posterior.ts';
import type { SettledCase } from '../../src/outcomes/settled.ts';
import { random } from '../../src/rehearsal/random.ts';
import { day0 } from './communities.ts';

/** True numbers of a community, drawn around the file's with the stated strengths. */
export interface DrawnTruth {
  /** P(complaint stated), by `complaintsOf`. */
  readonly complaints: readonly number[];
  /** P(fault | complaint stated), by complaint and fault. */
  readonly faults: readonly (readonly number[])[];
  /** P(outcome | fault) by check, then fault and outcome. */
  readonly outcomes: ReadonlyMap<string, readonly (readonly number[])[]>;
  /** P(it works afterwards | fault) by remedy, then fault. */
  readonly cures: ReadonlyMap<string, readonly number[]>;
}

export function drawCommunity(
  tables: Tables,
  { strength, reliability }: LearnSettings,
  seed: number,
): { readonly truth: DrawnTruth; draw(index: number): SettledCase } {
  const dirichlet = (name: string, by: number, row: ArrayLike<number>): number[] => {
    const chance = random('drawn', seed, name);
    const parts = Array.from(row, (p) => (p > 0 ? chance.gamma(by * p) : 0));
    const sum = parts.reduce((a, b) => a + b, 0);
    return parts.map((part) => part / sum);
  };
  const joint = statedJoint(tables, reliability);
  const total = (row: Float64Array): number => row.reduce((a, b) => a + b, 0);
  const other = tables.faults.indexOf(unnamed);
  const truth: DrawnTruth = {
    complaints: dirichlet('complaints', strength.complaints, joint.map(total)),
    faults: joint.map((row, c) => {
      const given = normalised(row);
      const held = given[other] ?? 0;
      const named = normalised(given.map((p, f) => (f === other ? 0 : p)));
      return dirichlet(`faults ${c}`, strength.faults, named).map((p, f) =>
        f === other ? held : p * (1 - held),
      );
    }),
    outcomes: new Map(
      Array.from(tables.checks, ([check, { rows }]) => [
        check,
        tables.faults.map((_, f) => {
          const column = rows.map((row) => row[f] as number);
          return dirichlet(`check ${check} ${f}`, strength.outcomes, column);
        }),
      ]),
    ),
    cures: new Map(
      Array.from(tables.cures, ([remedy, row]) => [
        remedy,
        Array.from(row, (p, f) =>
          p > 0 ? (dirichlet(`cure ${remedy} ${f}`, strength.cures, [p, 1 - p])[0] as number) : 0,
        ),
      ]),
    ),
  };
  return { truth, draw: (index) => drawCase(tables, truth, reliability.handy, seed, index) };
}

/** Only cases that count, whose fault has a name. */
function drawCase(
  tables: Tables,
  truth: DrawnTruth,
  trust: number,
  seed: number,
  index: number,
): SettledCase {
  const { flow } = tables;
  const chance = random('drawn case', seed, index);
  const c = chance.pick(truth.complaints);
  const named = (truth.faults[c] ?? []).map((p, i) => (tables.faults[i] === unnamed ? 0 : p));
  const f = chance.pick(named);
  const seen: SettledCase['seen'] = [];
  for (const [check, table] of tables.checks) {
    if (chance.next() < 0.5) continue;
    const really = chance.pick(truth.outcomes.get(check)?.[f] ?? []);
    const told = chance.next() < trust ? really : Math.floor(chance.next() * table.outcomes.length);
    const { reading } = table;
    // Just below the band's end, or in the last one just above the one before it.
    const end = reading?.below[told] ?? 0;
    const value = end < Infinity ? end - 1e-6 : (reading?.below[told - 1] ?? 0) + 1e-6;
    const outcome = reading ? null : (table.outcomes[told] as string);
    seen.push({ check, outcome, value: reading ? value : null, level: 'handy' });
  }
  const tried: SettledCase['tried'] = [];
  for (const { id } of flow.remedies) {
    const cures = truth.cures.get(id)?.[f] as number;
    if (cures === 0 || tried.at(-1)?.worked) continue;
    tried.push({ remedy: id, worked: chance.next() < cures });
  }
  const complaint = complaintsOf(tables)[c] as string;
  return {
    id: `case-${seed}-${index}`,
    flow: flow.flow,
    version: flow.version,
    opened: day0,
    settled: day0,
    complaint: tables.complaints.has(complaint) ? complaint : null,
    details: {},
    seen,
    tried,
    outcome: 'Fixed',
    barrier: null,
    safety: null,
    fault: tables.faults[f] as string,
    confirmed: 'person',
    said_by: 'mender',
    minutes: 10,
    waited: 0,
    parts: [],
    wrong_parts: [],
    follow_up: null,
    demonstration: false,
  };
}
