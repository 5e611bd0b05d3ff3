import type { Flow, Level } from '../../shared/flow.ts';
import type { Decide, Settings } from '../core/settings.ts';
import { tablesOf } from '../core/step.ts';
import { chancePolicy, rememberedPlans, sheetPolicy } from './policies.ts';
import { type CaseResult, runCase } from './run.ts';
import { type Estimate, estimate, share } from './statistics.ts';
import { drawTruth } from './truth.ts';

/** Simulated cases through a flow under the plan, its printed sheet and chance: how good, how dear and how safe it is. */

export interface Report {
  readonly cases: Estimate;
  readonly solved: Estimate;
  readonly cost: Estimate;
  readonly minutes: Estimate;
  readonly questions: Estimate;
  readonly waits: Estimate;
  readonly waitMinutes: Estimate;
  readonly wastedParts: Estimate;
  readonly aboveLevel: Estimate;
}

export interface Rehearsal extends Report {
  readonly sheet: Report;
  readonly random: Report;
}

export interface RehearsalOptions {
  readonly cases: number;
  readonly seed: number;
  readonly level: Level;
  readonly blur: number;
}

/** Plans kept at once; some tens of megabytes. */
const plansKept = 200_000;

/** What cases number `from` to `to` (not included) came to, under each of the three ways to choose. */
export interface Results {
  readonly plan: CaseResult[];
  readonly sheet: CaseResult[];
  readonly random: CaseResult[];
}

export interface Range {
  readonly from: number;
  readonly to: number;
}

/** The same range of the same seed gives the same results, wherever it runs. */
export function runRange(
  flow: Flow,
  settings: Settings,
  { seed, level, blur }: Omit<RehearsalOptions, 'cases'>,
  { from, to }: Range,
  done: (index: number) => void = () => {},
): Results {
  const tables = tablesOf(flow, settings);
  const trust = settings.community.reliability[level];
  const planned = rememberedPlans(plansKept);
  const sheet = sheetPolicy(flow, tables);
  const results: Results = { plan: [], sheet: [], random: [] };
  for (let index = from; index < to; index++) {
    const run = (decide: Decide): CaseResult =>
      runCase(flow, { ...settings, decide }, drawTruth(tables, seed, index, blur, trust), level);
    results.plan.push(run(planned));
    results.sheet.push(run(sheet));
    results.random.push(run(chancePolicy(seed, index)));
    done(index);
  }
  return results;
}

export const rehearse = (flow: Flow, settings: Settings, options: RehearsalOptions): Rehearsal =>
  rehearsal(runRange(flow, settings, options, { from: 0, to: options.cases }));

export const rehearsal = (results: Results): Rehearsal => ({
  ...summary(results.plan),
  sheet: summary(results.sheet),
  random: summary(results.random),
});

function summary(results: readonly CaseResult[]): Report {
  const n = results.length;
  const of = (value: (one: CaseResult) => number): Estimate => estimate(results.map(value));
  return {
    cases: { mean: n, low: n, high: n },
    solved: share(results.filter((one) => one.solved).length, n),
    cost: of((one) => one.cost),
    minutes: of((one) => one.minutes),
    questions: of((one) => one.questions),
    waits: of((one) => one.waits),
    waitMinutes: of((one) => one.waitMinutes),
    wastedParts: of((one) => one.wastedParts),
    aboveLevel: of((one) => one.aboveLevel),
  };
}
