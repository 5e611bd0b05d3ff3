import type { Tables } from '../core/tables.ts';

/** A flow's likelihoods written out: what stands in the file in few words, fault by fault, as the belief uses it. */

const percent = (p: number): string => {
  const hundred = 100 * p;
  return hundred >= 99.5 || hundred < 0.5 ? hundred.toFixed(1) : hundred.toFixed(0);
};

export function likelihoodTable(tables: Tables): string {
  const { flow, faults, prior } = tables;
  const lines: string[] = [`${flow.title}: how likely each answer is with each fault, per cent`, ''];
  lines.push(
    ...matrix('Faults, and complaints', ['weight', ...flow.complaints.map(({ id }) => id)], faults, [
      prior,
      ...flow.complaints.map(({ id }) => tables.complaints.get(id) as Float64Array),
    ]),
  );
  for (const detail of flow.details) {
    const rows = tables.details.get(detail.id);
    if (!rows) continue;
    const known = detail.choices.filter(({ id }) => rows.has(id));
    lines.push(
      ...matrix(
        `Detail ${detail.id}`,
        known.map(({ id }) => id),
        faults,
        known.map(({ id }) => rows.get(id) as Float64Array),
      ),
    );
  }
  for (const check of flow.checks) {
    const table = tables.checks.get(check.id);
    if (table) lines.push(...matrix(`${check.id}: ${check.name}`, table.outcomes, faults, table.rows));
  }
  lines.push(
    ...matrix(
      'Remedies: it works afterwards',
      flow.remedies.map(({ id }) => id),
      faults,
      flow.remedies.map(({ id }) => tables.cures.get(id) as Float64Array),
    ),
  );
  return lines.join('\n').trimEnd();
}

/** Faults that answer alike share a line. Wide tables go on below. */
function matrix(
  title: string,
  columns: readonly string[],
  faults: readonly string[],
  rows: readonly Float64Array[],
): string[] {
  const alike = new Map<string, string[]>();
  faults.forEach((fault, f) => {
    const key = rows.map((row) => percent(row[f] as number)).join(' ');
    alike.set(key, [...(alike.get(key) ?? []), fault]);
  });
  const named = [...alike].map(([key, members]) => ({
    cells: key.split(' '),
    name: namesOf(members, faults),
  }));
  const first = Math.min(44, Math.max(...named.map(({ name }) => name.length)));
  const lines = [title];
  for (let from = 0; from < columns.length; from += wide) {
    const shown = columns.slice(from, from + wide);
    const width = (i: number): number => Math.max(5, (shown[i] as string).length);
    lines.push(`  ${''.padEnd(first)}  ${shown.map((name, i) => name.padStart(width(i))).join('  ')}`);
    for (const { cells, name } of named) {
      const values = shown.map((_, i) => (cells[from + i] as string).padStart(width(i))).join('  ');
      lines.push(`  ${name.padEnd(first)}  ${values}`);
    }
  }
  return [...lines, ''];
}

/** Columns side by side. */
const wide = 6;

function namesOf(members: readonly string[], faults: readonly string[]): string {
  if (members.length === faults.length) return 'all';
  if (members.length > 4) return `${members.length} others, such as ${members[0]}`;
  return members.join(', ');
}
