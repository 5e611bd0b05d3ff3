import { bandOf, type Tables } from '../core/tables.ts';
import type { SettledCase } from '../outcomes/settled.ts';

/**
 * What is counted, each under a path of the flow's own ids (which hold no slash):
 * `faults/COMPLAINT/FAULT`, `details/DETAIL/CHOICE/COMPLAINT/FAULT`, `cures/REMEDY/FAULT/worked` or `not`,
 * `seen/CHECK/FAULT/LEVEL/OUTCOME`. A complaint that was not stated, or is none of the flow's, is `(none)`.
 */
export const noComplaint = '(none)';

export const faultCell = (complaint: string, fault = ''): string => `faults/${complaint}/${fault}`;
export const detailCell = (detail: string, choice: string, complaint = '', fault = ''): string =>
  complaint === '' ? `details/${detail}/${choice}/` : `details/${detail}/${choice}/${complaint}/${fault}`;
export const cureCell = (remedy: string, fault: string, end: 'worked' | 'not' | '' = ''): string =>
  `cures/${remedy}/${fault}/${end}`;
export const seenCell = (check: string, fault: string, level = '', outcome = ''): string =>
  level === '' ? `seen/${check}/${fault}/` : `seen/${check}/${fault}/${level}/${outcome}`;

/** Every cell that a confirmed case adds to, once for each time; only names that the flow has. Empty: its fault has gone. */
export function cellsOf(one: SettledCase, tables: Tables): string[] {
  const { fault } = one;
  if (fault === null || !tables.faults.includes(fault)) return [];
  const complaint =
    one.complaint !== null && tables.complaints.has(one.complaint) ? one.complaint : noComplaint;
  const cells = [faultCell(complaint, fault)];
  for (const { id, choices } of tables.flow.details) {
    const choice = Object.hasOwn(one.details, id) ? one.details[id] : undefined;
    if (choices.some((known) => known.id === choice))
      cells.push(detailCell(id, choice as string, complaint, fault));
  }
  // Remedies tested together share one result: which of them worked is not known, and none is given the honour.
  const together = one.tried.filter(({ worked }) => worked).length > 1;
  for (const { remedy, worked } of one.tried) {
    if (!tables.cures.has(remedy) || (worked && together)) continue;
    cells.push(cureCell(remedy, fault, worked ? 'worked' : 'not'));
  }
  for (const { check, outcome, value, level } of one.seen) {
    const table = tables.checks.get(check);
    if (!table) continue;
    const seen = value !== null && table.reading ? table.outcomes[bandOf(table.reading, value)] : outcome;
    if (seen !== null && seen !== undefined && table.outcomes.includes(seen))
      cells.push(seenCell(check, fault, level, seen));
  }
  return cells;
}
