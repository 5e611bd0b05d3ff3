import type { Flow } from '../../shared/flow.ts';
import { type TableSettings, type Tables, tabulate } from '../core/tables.ts';
import type { Distribution, Learnt } from './learnt.ts';
import { complaintsOf, normalised, statedJoint } from './posterior.ts';
import { taughtReading } from './taught-reading.ts';

type Of<K extends Distribution['kind']> = Extract<Distribution, { kind: K }>;

/**
 * The flow with its learnt numbers, so that everything that reads flows reads them: weights of faults, complaints, choices,
 * cures, outcomes, readings. Words, order, hazards and limits are the file's. The flow itself where nothing applies: what was
 * accepted beside another version waits until somebody accepts it again. Names that the flow does not have are passed over.
 */
export function taught(flow: Flow, learnt: Learnt | null, settings: TableSettings): Flow {
  if (learnt?.flow !== flow.flow || learnt.version !== flow.version || learnt.distributions.length === 0)
    return flow;
  const tables = tabulate(flow, settings);
  const of = <K extends Distribution['kind']>(kind: K): Of<K>[] =>
    learnt.distributions.filter((one): one is Of<K> => one.kind === kind);
  const source = `learnt from settled cases, accepted ${new Date(learnt.at).toISOString().slice(0, 10)}`;
  const joint = jointOf(tables, learnt.trust, of('complaints')[0], of('faults'));
  return {
    ...flow,
    ...(joint ? weighed(flow, tables, joint, learnt.trust, source) : {}),
    details: leaning(tables, joint ?? statedBy(tables, learnt.trust), of('choice'), source),
    checks: flow.checks.map((check) => {
      const learntOf = of('outcomes').filter(
        (one) => one.check === check.id && tables.faults.includes(one.fault),
      );
      if (learntOf.length === 0) return check;
      if (check.reading)
        return { ...check, source, reading: taughtReading(tables, check.id, check.reading, learntOf) };
      return {
        ...check,
        source,
        outcomes: (check.outcomes ?? []).map(({ rest: _, ...outcome }, o) => ({
          ...outcome,
          // Every fault by itself: the one outcome that took what was left could not say so for some faults only.
          likely: byFault(tables, (fault, f) => {
            const own = learntOf.find((one) => one.fault === fault)?.shares[outcome.id]?.mean;
            return own ?? (tables.checks.get(check.id)?.rows[o]?.[f] as number);
          }),
        })),
      };
    }),
    remedies: flow.remedies.map((remedy) => {
      const rates = of('cure').filter((one) => one.remedy === remedy.id && tables.faults.includes(one.fault));
      if (rates.length === 0) return remedy;
      const own = rates.flatMap(({ fault, shares }) =>
        shares.worked ? [[fault, shares.worked.mean] as const] : [],
      );
      return { ...remedy, source, cures: { ...remedy.cures, ...Object.fromEntries(own) } };
    }),
  };
}

/** The learnt numbers in full, as the desk reasons with them. */
export const taughtTables = (flow: Flow, learnt: Learnt | null, settings: TableSettings): Tables =>
  tabulate(taught(flow, learnt, settings), settings);

const statedBy = (tables: Tables, trust: number): Float64Array[] =>
  statedJoint(tables, { new: trust, handy: trust, trained: trust });

/** P(complaint stated and fault) with what was accepted of it; null: nothing was. */
function jointOf(
  tables: Tables,
  trust: number,
  shares: Of<'complaints'> | undefined,
  faults: readonly Of<'faults'>[],
): Float64Array[] | null {
  if (!shares && faults.length === 0) return null;
  const joint = statedBy(tables, trust).map((row, c) => {
    const complaint = complaintsOf(tables)[c] as string;
    const total = row.reduce((a, b) => a + b, 0);
    const own = faults.find((one) => one.complaint === complaint);
    const given = row.map((p, f) => own?.shares[tables.faults[f] as string]?.mean ?? p / total);
    const share = shares?.shares[complaint]?.mean ?? total;
    return normalised(given).map((p) => p * share);
  });
  const all = joint.reduce((sum, row) => sum + row.reduce((a, b) => a + b, 0), 0);
  return joint.map((row) => row.map((p) => p / all));
}

/** Weights of faults, and P(complaint | fault) without the share that is stated by mistake. */
function weighed(
  flow: Flow,
  tables: Tables,
  joint: readonly Float64Array[],
  trust: number,
  source: string,
): Pick<Flow, 'faults' | 'complaints'> {
  const total = flow.faults.reduce((sum, { weight }) => sum + weight, 0);
  const prior = marginal(joint);
  const mistaken = (1 - trust) / joint.length;
  const stated = joint.map((row) =>
    row.map((p, f) => Math.max(tables.floor, (p / (prior[f] as number) - mistaken) / trust)),
  );
  const sums = marginal(stated);
  return {
    faults: flow.faults.map((fault, f) => ({ ...fault, weight: (prior[f] as number) * total, source })),
    complaints: flow.complaints.map((complaint, c) => ({
      ...complaint,
      source,
      likely: byFault(tables, (_, f) => (stated[c]?.[f] as number) / (sums[f] as number)),
    })),
  };
}

/** How the choices of a detail lean, with what was learnt of it: the file's row times what the faults of that choice have changed. */
function leaning(
  tables: Tables,
  joint: readonly Float64Array[],
  learnt: readonly Of<'choice'>[],
  source: string,
): Flow['details'] {
  return tables.flow.details.map((detail) => ({
    ...detail,
    choices: detail.choices.map((choice) => {
      const own = learnt.filter((one) => one.detail === detail.id && one.choice === choice.id);
      if (own.length === 0) return choice;
      const row =
        tables.details.get(detail.id)?.get(choice.id) ??
        new Float64Array(tables.faults.length).fill(1 / detail.choices.length);
      const before = joint.map((given) => given.map((p, f) => p * (row[f] as number)));
      const after = before.map((given, c) => {
        const total = given.reduce((a, b) => a + b, 0);
        const of = own.find(({ complaint }) => complaint === (complaintsOf(tables)[c] as string));
        return of
          ? given.map((p, f) => total * (of.shares[tables.faults[f] as string]?.mean ?? p / total))
          : given;
      });
      const [was, is] = [marginal(before), marginal(after)];
      return {
        ...choice,
        source,
        likely: byFault(tables, (_, f) =>
          Math.min(1, ((row[f] as number) * (is[f] as number)) / (was[f] as number)),
        ),
      };
    }),
  }));
}

const marginal = (rows: readonly Float64Array[]): Float64Array =>
  Float64Array.from(rows[0] ?? [], (_, f) => rows.reduce((sum, row) => sum + (row[f] as number), 0));

const byFault = (tables: Tables, of: (fault: string, f: number) => number): Record<string, number> =>
  Object.fromEntries(tables.faults.map((fault, f) => [fault, Math.min(1, Math.max(0, of(fault, f)))]));
