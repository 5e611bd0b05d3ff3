import fc from 'fast-check';
import type { Flow } from '../../shared/flow.ts';

/** A flow as somebody may have corrected it: things gone, under another name, doing something else, somewhere else. */

type Fate = 'stays' | 'goes' | 'renamed';
const fate = fc.oneof(
  { weight: 5, arbitrary: fc.constant<Fate>('stays') },
  { weight: 2, arbitrary: fc.constant<Fate>('goes') },
  { weight: 1, arbitrary: fc.constant<Fate>('renamed') },
);
const fates = <T>(list: readonly T[]): fc.Arbitrary<Fate[]> =>
  fc.array(fate, { minLength: list.length, maxLength: list.length });

/** At least `least` of them stay, so that it is still a flow. */
function apply<T extends { id: string }>(list: readonly T[], what: readonly Fate[], least: number): T[] {
  const kept = list.flatMap((one, i) =>
    what[i] === 'goes' ? [] : [what[i] === 'renamed' ? { ...one, id: `${one.id}-new` } : one],
  );
  return kept.length < least ? list.slice(0, least) : kept;
}

export function correctionsOf(flow: Flow): fc.Arbitrary<Flow> {
  const { energy } = flow;
  const points = energy.stores === 'capacitors' ? energy.points : [];
  return fc
    .record({
      raise: fc.nat({ max: 2 }),
      complaints: fates(flow.complaints),
      details: fates(flow.details),
      choices: fates(flow.details.flatMap(({ choices }) => choices)),
      access: fates(flow.access),
      checks: fates(flow.checks),
      outcomes: fates(
        flow.checks.flatMap(({ outcomes = [], reading }) => [...outcomes, ...(reading?.bands ?? [])]),
      ),
      powers: fc.array(fc.constantFrom(null, null, null, null, 'off', 'on', 'look'), {
        minLength: flow.checks.length,
        maxLength: flow.checks.length,
      }),
      moved: fc.array(fc.nat({ max: 9 }), { minLength: flow.checks.length, maxLength: flow.checks.length }),
      remedies: fates(flow.remedies),
      parts: fc.array(fc.nat({ max: 3 }), {
        minLength: flow.remedies.length,
        maxLength: flow.remedies.length,
      }),
      points: fates(points),
    })
    .map((drawn): Flow => {
      const choiceFates = [...drawn.choices];
      const outcomeFates = [...drawn.outcomes];
      const stages = new Map(
        flow.access.map(({ id }, i) => [id, drawn.access[i] === 'renamed' ? `${id}-new` : id] as const),
      );
      const gone = new Set(flow.access.flatMap(({ id }, i) => (drawn.access[i] === 'goes' ? [id] : [])));
      const left = flow.access.filter(({ id }) => !gone.has(id));
      /** The nearest stage outside it that is left. */
      const outer = (id: string | undefined): string | undefined => {
        for (let at = id; at !== undefined; at = flow.access.find((stage) => stage.id === at)?.behind)
          if (!gone.has(at)) return stages.get(at);
        return undefined;
      };
      const access = left.map(({ behind: _, ...stage }) => {
        const behind = outer(flow.access.find(({ id }) => id === stage.id)?.behind);
        return { ...stage, id: stages.get(stage.id) as string, ...(behind === undefined ? {} : { behind }) };
      });
      const reachable = <T extends { access: string }>(steps: readonly T[]): T[] =>
        steps
          .filter((step) => !gone.has(step.access))
          .map((step) => ({ ...step, access: stages.get(step.access) ?? step.access }));
      const changed = flow.checks.map((check, i) => {
        const power = drawn.powers[i] ?? check.power;
        const to = left[drawn.moved[i] ?? 9]?.id ?? check.access;
        const outcomes = check.outcomes;
        const reading = check.reading;
        return {
          ...check,
          // A look is made inside.
          power: power === 'look' && to === 'outside' ? check.power : power,
          access: check.power === 'look' || power === 'look' ? check.access : to,
          ...(outcomes ? { outcomes: apply(outcomes, outcomeFates.splice(0, outcomes.length), 2) } : {}),
          ...(reading
            ? {
                reading: {
                  ...reading,
                  bands: apply(reading.bands, outcomeFates.splice(0, reading.bands.length), 2),
                },
              }
            : {}),
        };
      });
      const checks = reachable(apply(changed, drawn.checks, 1));
      const remedies = reachable(apply(flow.remedies, drawn.remedies, 1)).map((remedy, i) => {
        const { part: _, ...bare } = remedy;
        return drawn.parts[i] === 0 ? bare : remedy;
      });
      return {
        ...flow,
        version: flow.version + drawn.raise,
        complaints: apply(flow.complaints, drawn.complaints, 1),
        details: apply(
          flow.details.map((detail) => ({
            ...detail,
            choices: apply(detail.choices, choiceFates.splice(0, detail.choices.length), 2),
          })),
          drawn.details,
          0,
        ),
        access,
        checks:
          checks.length > 0 ? checks : changed.filter((check) => check.access === 'outside').slice(0, 1),
        remedies:
          remedies.length > 0
            ? remedies
            : flow.remedies.filter((one) => one.access === 'outside').slice(0, 1),
        energy:
          energy.stores === 'capacitors' ? { ...energy, points: apply(points, drawn.points, 1) } : energy,
      };
    });
}
