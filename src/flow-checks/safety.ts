import { type Finding, type Path, unknownName } from '../files/finding.ts';
import { type Draft, entries } from './draft.ts';

/**
 * What a flow has to say so that the safety gate and the person can do their part. Nothing here is advice: a step
 * inside about which nobody wrote down a hazard is not offered to anybody.
 */
export function safetyFindings(draft: Draft): Finding[] {
  const { flow } = draft;
  const findings: Finding[] = [
    ...unprotected(draft),
    ...openedAllTheSame(draft),
    ...madeSafeBy(draft),
    ...notKnownOnce(draft),
  ];
  for (const list of ['checks', 'remedies'] as const) {
    for (const [i, step] of entries(flow[list])) {
      const path: Path = [list, i];
      const inside = step.access !== undefined && step.access !== 'outside';
      if (inside && (step.hazards ?? []).length === 0 && draft.sound([...path, 'hazards'])) {
        findings.push({
          path,
          on: 'value',
          problem: 'a step inside without hazards',
          instead: 'add "hazards:" with what can hurt here, or break',
        });
      }
    }
  }
  for (const [i, check] of entries(flow.checks)) {
    const path: Path = ['checks', i];
    const { access, power } = check;
    if (power === 'on' && access !== undefined && access !== 'outside') {
      if (check.bites === undefined && draft.sound([...path, 'bites'])) {
        findings.push({
          path: [...path, 'power'],
          on: 'value',
          problem: 'live work that does not say what can bite',
          instead: 'add "bites:" with what can bite and where it lies',
        });
      }
    }
    if (power === 'look') {
      if (access === 'outside') {
        findings.push({
          path: [...path, 'access'],
          on: 'value',
          problem: 'a look is prepared inside, and this one is outside',
          instead: 'name the stage, or write "power: on"',
        });
      }
      if (check.restore === undefined && draft.sound([...path, 'restore'])) {
        findings.push({
          path: [...path, 'power'],
          on: 'value',
          problem: 'a look that does not say how to put it back',
          instead: 'add "restore:" with what to do the next time it is open',
        });
      }
    }
  }
  return findings;
}

/** An opened mains appliance does not go home without anybody knowing what to measure. */
function unprotected(draft: Draft): Finding[] {
  const { flow } = draft;
  if (flow.mains !== true || entries(flow.access).length === 0) return [];
  if (flow.protection !== undefined || !draft.sound(['protection'])) return [];
  return [
    {
      path: ['mains'],
      on: 'name',
      problem: 'a mains appliance that is opened, and nothing says how it is tested afterwards',
      instead: 'add "protection:" with its classes and what is seen when its function is tested',
    },
  ];
}

/** What makes it safe again has to be a remedy. */
function madeSafeBy(draft: Draft): Finding[] {
  const { known, complete } = draft.ids(['remedies']);
  if (!complete) return [];
  return entries(draft.flow.checks).flatMap(([i, check]) =>
    [
      ...entries(check.outcomes).map(([j, one]) => [one, ['outcomes', j]] as const),
      ...entries(check.reading?.bands).map(([j, one]) => [one, ['reading', 'bands', j]] as const),
    ].flatMap(([one, place]) =>
      entries(one.unsafe?.until).flatMap(([k, remedy]) =>
        known.includes(remedy)
          ? []
          : [unknownName(['checks', i, ...place, 'unsafe', 'until', k], 'value', 'remedy', remedy, known)],
      ),
    ),
  );
}

/** "Not sure" is taken for one answer, so only one can be meant. */
function notKnownOnce(draft: Draft): Finding[] {
  return entries(draft.flow.details).flatMap(([i, detail]) =>
    entries(detail.choices)
      .filter(([, choice]) => choice.not_known)
      .slice(1)
      .map(([j]) => ({
        path: ['details', i, 'choices', j, 'not_known'],
        on: 'name' as const,
        problem: 'a second answer for "not sure"',
        instead: 'keep it on one of them, the one that promises least',
      })),
  );
}

function openedAllTheSame(draft: Draft): Finding[] {
  const { flow } = draft;
  if (flow.never_open === undefined) return [];
  return entries(flow.access).map(([i]) => ({
    path: ['access', i],
    on: 'value',
    problem: 'a stage to be opened, in a flow that says "never_open"',
    instead: 'take the stage and its steps out; only what is done from outside may stay',
  }));
}
