import type { Check, Flow, Outcome, Remedy, Sparse } from '../../shared/flow.ts';
import { Flow as FlowSchema } from '../../shared/flow.ts';

/**
 * A flow made larger for measuring: every fault, check and remedy `times` over, under names of their own. Each copy of
 * a check tells apart the faults of its own copy and says little about the others, as in a larger appliance.
 */
export function scaled(flow: Flow, times: number): Flow {
  if (times === 1) return flow;
  const copies = Array.from({ length: times }, (_, i) => i);
  const name = (id: string, copy: number): string => (copy === 0 ? id : `${id}-${copy + 1}`);
  const faultIds = new Set(flow.faults.map((fault) => fault.id));
  const renamed = (sparse: Sparse, copy: number): Sparse =>
    Object.fromEntries(
      Object.entries(sparse).map(([key, p]) => [
        faultIds.has(key) || flow.groups[key] ? name(key, copy) : key,
        p,
      ]),
    );
  const label = (text: string, copy: number): string =>
    copy === 0 ? text : `${text.slice(0, 66)} ${copy + 1}`;
  const needs = <S extends Check | Remedy>(step: S, copy: number): S =>
    step.needs
      ? { ...step, needs: step.needs.map((need) => ({ ...need, check: name(need.check, copy) })) }
      : step;

  const outcome = (one: Outcome, copy: number): Outcome =>
    one.likely ? { ...one, likely: renamed(one.likely, copy) } : one;
  const check = (one: Check, copy: number): Check => ({
    ...needs(one, copy),
    id: name(one.id, copy),
    name: label(one.name, copy),
    ...(one.outcomes ? { outcomes: one.outcomes.map((o) => outcome(o, copy)) } : {}),
    ...(one.reading
      ? {
          reading: {
            ...one.reading,
            expect: Object.fromEntries(
              Object.entries(one.reading.expect).map(([key, value]) => [
                faultIds.has(key) || flow.groups[key] ? name(key, copy) : key,
                value,
              ]),
            ),
          },
        }
      : {}),
  });

  return FlowSchema.parse({
    ...flow,
    groups: Object.fromEntries(
      copies.flatMap((copy) =>
        Object.entries(flow.groups).map(([group, members]) => [
          name(group, copy),
          members.map((id) => name(id, copy)),
        ]),
      ),
    ),
    faults: copies.flatMap((copy) =>
      flow.faults.map((fault) => ({ ...fault, id: name(fault.id, copy), name: label(fault.name, copy) })),
    ),
    // What one copy's faults do, the same faults of the others do as well.
    complaints: flow.complaints.map((complaint) => ({
      ...complaint,
      likely: Object.assign({}, ...copies.map((copy) => renamed(complaint.likely, copy))),
    })),
    details: flow.details.map((detail) => ({
      ...detail,
      choices: detail.choices.map((choice) =>
        choice.likely
          ? {
              ...choice,
              likely: Object.assign({}, ...copies.map((copy) => renamed(choice.likely as Sparse, copy))),
            }
          : choice,
      ),
    })),
    checks: copies.flatMap((copy) => flow.checks.map((one) => check(one, copy))),
    remedies: copies.flatMap((copy) =>
      flow.remedies.map((remedy) => ({
        ...needs(remedy, copy),
        id: name(remedy.id, copy),
        name: label(remedy.name, copy),
        cures: renamed(remedy.cures, copy),
      })),
    ),
  });
}
