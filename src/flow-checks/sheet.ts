import { type Finding, noneOf, type Path, quote, unknownName } from '../files/finding.ts';
import { type Draft, entries } from './draft.ts';
import { outcomesOf } from './reach.ts';

/** The printed order: steps that exist, and jumps that only go on. */
export function sheetFindings(draft: Draft): Finding[] {
  const checks = draft.ids(['checks']);
  const remedies = draft.ids(['remedies']);
  const known = [...checks.known, ...remedies.known];
  const complete = checks.complete && remedies.complete;
  const sheet = (draft.flow.sheet ?? []).map((entry) =>
    typeof entry === 'string' ? { step: entry } : entry,
  );
  const findings: Finding[] = [];

  for (const [i, entry] of entries(sheet)) {
    const place: Path = typeof draft.flow.sheet?.[i] === 'string' ? ['sheet', i] : ['sheet', i, 'step'];
    const { step } = entry;
    if (step === undefined) continue;
    if (!known.includes(step)) {
      if (complete) findings.push(unknownName(place, 'value', 'step', step, known));
      continue;
    }
    const jumps = 'jumps' in entry ? entry.jumps : undefined;
    if (jumps && !checks.known.includes(step)) {
      findings.push({
        path: ['sheet', i, 'jumps'],
        on: 'value',
        problem: `${quote(step)} is a remedy and has no outcomes to jump from`,
        instead: 'take the jumps out: after a remedy that works the sheet ends',
      });
      continue;
    }
    const outcomes = outcomesOf(draft, step);
    const later = new Set(sheet.slice(i + 1).map((other) => other?.step));
    const firsts = new Map<string, Path>();
    for (const [k, { outcome, to }] of entries(jumps)) {
      const path: Path = ['sheet', i, 'jumps', k];
      if (outcome !== undefined) {
        const first = firsts.get(outcome);
        if (outcomes.complete && !outcomes.known.includes(outcome)) {
          findings.push(noneOf([...path, 'outcome'], `outcome of ${quote(step)}`, outcome, outcomes.known));
        } else if (first) {
          findings.push({
            path: [...path, 'outcome'],
            on: 'value',
            problem: `a second jump from ${quote(outcome)}`,
            instead: 'keep one of the two',
            first,
          });
        }
        firsts.set(outcome, [...path, 'outcome']);
      }
      if (to === undefined || later.has(to)) continue;
      if (!known.includes(to)) {
        if (complete) findings.push(unknownName([...path, 'to'], 'value', 'step', to, known));
      } else if (draft.sound(['sheet'])) {
        findings.push({
          path: [...path, 'to'],
          on: 'value',
          problem: `the step ${quote(to)} does not come later in the sheet`,
          instead: 'jump forwards only, to a step further down',
        });
      }
    }
  }
  return findings;
}
