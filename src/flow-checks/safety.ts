import type { Finding, Path } from '../files/finding.ts';
import { type Draft, entries } from './draft.ts';

/**
 * What a flow has to say so that the safety gate and the person can do their part. Nothing here is advice: a step
 * inside about which nobody wrote down a hazard is not offered to anybody.
 */
export function safetyFindings(draft: Draft): Finding[] {
  const { flow } = draft;
  const findings: Finding[] = [];
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
