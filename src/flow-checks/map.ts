import { type Finding, type Path, quote, unknownName } from '../files/finding.ts';
import { type Draft, entries } from './draft.ts';

/** The map of the appliance, and everything that points into it. */
export function mapFindings(draft: Draft): Finding[] {
  const parts = draft.ids(['map', 'parts']);
  const leads = draft.ids(['map', 'leads']);
  const { flow } = draft;
  const { map } = flow;
  const findings: Finding[] = [];

  for (const [i, part] of entries(map?.parts)) {
    const place: Path = ['map', 'parts', i];
    const { x, y, width, height } = part;
    if (!map || !draft.sound(place)) continue;
    for (const [key, from, size, whole] of [
      ['x', x, width, map.width],
      ['y', y, height, map.height],
    ] as const) {
      if (from === undefined || size === undefined || whole === undefined) continue;
      if (from >= 0 && from + size <= whole) continue;
      findings.push({
        path: [...place, key],
        on: 'value',
        problem: `the part ${quote(part.id ?? '')} lies outside the map (${from} to ${from + size} of ${whole})`,
        instead: 'move it, make it smaller, or make the map larger',
      });
    }
  }
  for (const [i, lead] of entries(map?.leads)) {
    for (const end of ['from', 'to'] as const) {
      const part = lead[end];
      if (part === undefined || !parts.complete || parts.known.includes(part)) continue;
      findings.push(unknownName(['map', 'leads', i, end], 'value', 'part', part, parts.known));
    }
  }

  const known = [...parts.known, ...leads.known];
  const point = (path: Path, marks: readonly (string | undefined)[] | undefined): void => {
    if (!parts.complete || !leads.complete) return;
    for (const [i, mark] of entries(marks)) {
      if (known.includes(mark)) continue;
      findings.push(unknownName([...path, 'marks', i], 'value', 'part or lead of the map', mark, known));
    }
  };
  for (const [i, fault] of entries(flow.faults)) point(['faults', i], fault.marks);
  for (const [i, check] of entries(flow.checks)) point(['checks', i], check.marks);
  for (const [i, remedy] of entries(flow.remedies)) point(['remedies', i], remedy.marks);
  if (flow.energy && 'points' in flow.energy) {
    for (const [i, one] of entries(flow.energy.points)) point(['energy', 'points', i], one.marks);
  }
  return findings;
}
