import type { Answer, Case } from '../../shared/case.ts';
import type { Level } from '../../shared/flow.ts';
import { compile, stopPeople, stopReplace } from '../core/compile.ts';
import { flowProblem } from '../core/flow-problem.ts';
import { solve } from '../core/plan/plan.ts';
import { type Cost, money } from '../core/plan/problem.ts';
import { emptyCase } from '../core/reduce.ts';
import { ratesOf, type Settings } from '../core/settings.ts';
import { spentOf } from '../core/spent.ts';
import type { Tables } from '../core/tables.ts';
import type { SettledCase } from '../outcomes/settled.ts';

/** What the plan expected a case to cost when it began, and what it did; in the community's currency. */

/** By the very plan that leads a case. `answers`: what was stated before anything was looked at. */
export function expectedCost(
  answers: readonly Answer[],
  level: Level,
  tables: Tables,
  settings: Settings,
): number {
  const kase: Case = {
    ...emptyCase('forecast'),
    flow: tables.flow.flow,
    asker: 'owner',
    hands: 'owner',
    people: { owner: { id: 'owner', name: '', level, roles: [] } },
    answers: [...answers],
  };
  const { problem, state } = compile(kase, tables, settings, 0, false);
  return solve(problem, state, settings.budget).cost;
}

/**
 * By the flow's own figures for what was done, as the plan counts them: minutes, waiting and parts, a test for each remedy,
 * covers and the proof of discharge; and for what was not fixed, what stopping costs under the true fault. A settled case does
 * not say how often it was opened: once is counted, so it may have cost more. Null where nobody knows how it ended.
 */
export function wasCost(settled: SettledCase, tables: Tables, settings: Settings): number | null {
  const { flow } = tables;
  const { community } = settings;
  const fault = tables.faults.indexOf(settled.fault ?? '');
  if (settled.outcome === 'Unknown' || fault < 0) return null;
  const parts = flowProblem(tables, settings, community.reliability.new);
  const { problem } = parts.of('1'.repeat(parts.steps.length));
  const done = new Set([
    ...settled.seen.map(({ check }) => check),
    ...settled.tried.map(({ remedy }) => remedy),
  ]);
  const stages = new Set<number>();
  for (const { step } of parts.steps) {
    if (!done.has(step.id)) continue;
    let stage = parts.stageIndex.get(step.access) ?? -1;
    for (; stage >= 0; stage = problem.stages[stage]?.behind ?? -1) stages.add(stage);
  }
  const spent = spentOf(settled, flow, community);
  const costs: Cost[] = [
    { minutes: spent.minutes, wait: spent.waited, money: spent.money },
    ...[...stages].flatMap((stage) => problem.stages[stage]?.open ?? []),
    ...(stages.size > 0 ? [problem.discharge] : []),
    ...settled.tried.map(() => problem.test),
  ];
  const rates = ratesOf(community);
  const stop = settled.outcome === 'Repairable' ? stopPeople : stopReplace;
  const stopped = settled.outcome === 'Fixed' ? 0 : (problem.stops[stop]?.cost[fault] as number);
  return costs.reduce((sum, cost) => sum + money(cost, rates), stopped);
}
