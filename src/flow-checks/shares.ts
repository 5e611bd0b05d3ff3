import { type Finding, type Path, quote } from '../files/finding.ts';
import { type Draft, entries } from './draft.ts';
import { figure, tolerance } from './figures.ts';
import { type FaultNames, faultNames, isClear, type SparseValues, valueFor } from './sparse.ts';

/** Likelihoods that are shares of one whole: complaints, choices and outcomes under each fault. */
export function shareFindings(draft: Draft): Finding[] {
  const names = faultNames(draft);
  return [
    ...complaintFindings(draft, names),
    ...choiceFindings(draft, names),
    ...entries(draft.flow.checks).flatMap(([i]) => outcomeFindings(draft, names, i)),
  ];
}

type Sums = readonly { readonly fault: string; readonly sum: number }[];

function sums(rows: readonly SparseValues<number>[], names: FaultNames): Sums {
  return names.faults.map((fault) => ({
    fault,
    sum: rows.reduce((sum, row) => sum + (valueFor(row, fault, names) ?? 0), 0),
  }));
}

/** "1.15 for the fault "strip" and 3 others": the furthest away, and how many more. */
function furthest(wrong: Sums): string {
  const worst = wrong.reduce((a, b) => (Math.abs(b.sum - 1) > Math.abs(a.sum - 1) ? b : a));
  const others = wrong.length - 1;
  const more = others === 0 ? '' : others === 1 ? ' (and one more fault)' : ` (and ${others} more faults)`;
  return `${figure(worst.sum)} for the fault ${quote(worst.fault)}${more}`;
}

const above = (all: Sums): Sums => all.filter(({ sum }) => sum > 1 + tolerance);

function complaintFindings(draft: Draft, names: FaultNames): Finding[] {
  const rows = entries(draft.flow.complaints).map(([, complaint]) => complaint.likely ?? {});
  const clear = rows.every((row) => isClear(row, names));
  if (!clear || !names.complete || rows.length === 0 || !allSound(draft, 'complaints', 'likely')) return [];
  const all = sums(rows, names);
  const findings: Finding[] = [];
  const over = above(all);
  if (over.length > 0) {
    findings.push({
      path: ['complaints'],
      on: 'value',
      problem: `the likelihoods of all complaints sum to ${furthest(over)}`,
      instead: 'lower them to 1 or less: somebody states one complaint',
    });
  }
  for (const [i, fault] of entries(draft.flow.faults)) {
    if (fault.id === undefined || all.find((one) => one.fault === fault.id)?.sum !== 0) continue;
    findings.push({
      path: ['faults', i],
      on: 'value',
      problem: `no complaint is likely with the fault ${quote(fault.id)}, so it can never come in`,
      instead: 'name it, its group or "otherwise" under "likely" of a complaint',
    });
  }
  return findings;
}

/** The same part of every entry of a list could be read. */
function allSound(draft: Draft, list: 'complaints', part: string): boolean {
  const count = draft.flow[list]?.length ?? 0;
  for (let i = 0; i < count; i++) if (!draft.sound([list, i, part])) return false;
  return true;
}

function choiceFindings(draft: Draft, names: FaultNames): Finding[] {
  return entries(draft.flow.details).flatMap(([i, detail]): Finding[] => {
    const path: Path = ['details', i, 'choices'];
    const rows = entries(detail.choices).map(([, choice]) => choice.likely ?? {});
    if (!draft.sound(path) || !names.complete || !rows.every((row) => isClear(row, names))) return [];
    const over = above(sums(rows, names));
    if (over.length === 0) return [];
    return [
      {
        path,
        on: 'value',
        problem: `the likelihoods of the choices sum to ${furthest(over)}`,
        instead: 'lower them to 1 or less',
      },
    ];
  });
}

function outcomeFindings(draft: Draft, names: FaultNames, i: number): Finding[] {
  const check = draft.flow.checks?.[i];
  const path: Path = ['checks', i];
  if (!check || !draft.sound([...path, 'outcomes']) || !draft.sound([...path, 'reading'])) return [];
  if (check.outcomes && check.reading) {
    return [
      {
        path: [...path, 'reading'],
        on: 'value',
        problem: 'this check has both "outcomes" and "reading"',
        instead: 'keep one: outcomes for what is seen, a reading for what is measured',
      },
    ];
  }
  if (!check.outcomes) {
    if (check.reading) return [];
    return [
      {
        path,
        on: 'value',
        problem: 'this check has neither "outcomes" nor "reading"',
        instead: 'add what may be seen, or what the meter may show',
      },
    ];
  }
  const findings: Finding[] = [];
  const outcomes = entries(check.outcomes);
  const rests = outcomes.filter(([, outcome]) => outcome.rest);
  const [firstRest] = rests;
  for (const [j] of rests.slice(1)) {
    findings.push({
      path: [...path, 'outcomes', j, 'rest'],
      on: 'value',
      problem: 'a second outcome with "rest"',
      instead: 'give this one "likely"',
      ...(firstRest && { first: [...path, 'outcomes', firstRest[0], 'rest'] }),
    });
  }
  for (const [j, outcome] of outcomes) {
    if (outcome.rest && outcome.likely) {
      findings.push({
        path: [...path, 'outcomes', j, 'likely'],
        on: 'name',
        problem: 'this outcome has both "likely" and "rest"',
        instead: 'keep one',
      });
    } else if (!outcome.rest && !outcome.likely) {
      findings.push({
        path: [...path, 'outcomes', j],
        on: 'value',
        problem: 'this outcome has neither "likely" nor "rest"',
        instead: 'add one of them',
      });
    }
  }
  if (findings.length > 0) return findings;

  const rows = outcomes.flatMap(([, { likely, rest }]) => (rest || !likely ? [] : [likely]));
  if (!names.complete || !rows.every((row) => isClear(row, names))) return findings;
  const all = sums(rows, names);
  const over = above(all);
  const under = rests.length > 0 ? [] : all.filter(({ sum }) => sum < 1 - tolerance);
  if (over.length > 0) {
    findings.push({
      path: [...path, 'outcomes'],
      on: 'value',
      problem: `the outcomes sum to ${furthest(over)}`,
      instead: 'lower them to 1',
    });
  }
  if (under.length > 0) {
    findings.push({
      path: [...path, 'outcomes'],
      on: 'value',
      problem: `the outcomes sum to ${furthest(under)} and none takes the rest`,
      instead: 'raise them to 1, or write "rest: true" in place of one "likely"',
    });
  }
  return findings;
}
