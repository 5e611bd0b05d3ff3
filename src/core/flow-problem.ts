import type { Community } from '../../shared/community.ts';
import type { Check, Remedy } from '../../shared/flow.ts';
import { type Demand, stepDemand } from './demand.ts';
import { mix } from './infer.ts';
import type { Cost, Problem, ProblemStep } from './plan/problem.ts';
import { priceIn, ratesOf, type Settings } from './settings.ts';
import type { Tables } from './tables.ts';

/**
 * The part of a decision problem that is the flow's and the community's, the same for every case: rows, covers, prices.
 * It is made once; `compile.ts` picks from it what applies to a case.
 */
export interface FlowProblem {
  /** Checks, then remedies, in the flow's order. */
  readonly steps: readonly FlowStep[];
  readonly stageIndex: ReadonlyMap<string, number>;
  /** The problem of the steps marked so. */
  of(marks: Marks): Picked;
}

export interface FlowStep {
  readonly step: Check | Remedy;
  readonly demand: Demand;
  /** What it depends on, by question: the answers with which it applies. */
  readonly when: readonly (readonly [question: string, answers: readonly string[]])[];
}

/** One letter for each step: `0` left out, `1` in, `2` in with its part bought already. */
export type Marks = string;

export interface Picked {
  readonly problem: Problem;
  /** Ids of the flow by step index, and back. */
  readonly steps: readonly string[];
  readonly places: ReadonlyMap<string, number>;
  readonly checks: number;
}

/** Minutes to switch on and see whether it works, and to pull the plug and lay things out. */
const testMinutes = 2;
const unplugMinutes = 1;

/** Problems kept for each flow and trust. */
const most = 200;

type Known = { readonly community: Community; readonly byTrust: Map<number, FlowProblem> };
const known = new WeakMap<Tables, Known>();

/** `trust`: the share of the flow's own row in what the person is expected to see. A cache of a pure function. */
export function flowProblem(tables: Tables, settings: Settings, trust: number): FlowProblem {
  const { community } = settings;
  let found = known.get(tables);
  if (found?.community !== community) {
    found = { community, byTrust: new Map() };
    known.set(tables, found);
  }
  const made = found.byTrust.get(trust) ?? make(tables, settings, trust);
  found.byTrust.set(trust, made);
  return made;
}

function make(tables: Tables, settings: Settings, trust: number): FlowProblem {
  const { flow } = tables;
  const { community } = settings;
  const stageIndex = new Map(flow.access.map((access, i) => [access.id, i]));
  const whole = [
    ...flow.checks.map((check) => checkStep(check, tables, stageIndex, trust)),
    ...flow.remedies.map((remedy) => remedyStep(remedy, tables, stageIndex, settings)),
  ];
  const bought = whole.map((step) => ({ ...step, cost: { ...step.cost, money: 0 } }));
  const steps = [...flow.checks, ...flow.remedies].map((step) => ({
    step,
    demand: stepDemand(flow, step.id),
    when: Object.entries(step.when ?? {}),
  }));
  const rest = {
    stages: flow.access.map((access) => ({
      behind: access.behind === undefined ? -1 : (stageIndex.get(access.behind) ?? -1),
      open: { minutes: access.open.minutes + access.close.minutes, wait: 0, money: 0 },
    })),
    stops: stops(tables, settings),
    discharge: {
      minutes: (flow.energy.stores === 'none' ? 0 : flow.energy.minutes) + (flow.mains ? unplugMinutes : 0),
      wait: flow.energy.stores === 'none' ? 0 : flow.energy.wait_minutes,
      money: 0,
    },
    test: { minutes: testMinutes, wait: 0, money: 0 },
    testShut: true,
    rates: ratesOf(community),
  };

  function pick(marks: Marks): Picked {
    const picked = steps.flatMap((_, i) => (marks[i] === '0' ? [] : [i]));
    const ids = picked.map((i) => (steps[i] as FlowStep).step.id);
    const places = new Map(ids.map((id, place) => [id, place]));
    const problemSteps = picked.map((i): ProblemStep => {
      const own = (marks[i] === '2' ? bought : whole)[i] as ProblemStep;
      const needs = (steps[i] as FlowStep).step.needs ?? [];
      if (needs.length === 0) return own;
      return {
        ...own,
        needs: needs.map((need) => ({
          step: places.get(need.check) ?? -1,
          outcome: tables.checks.get(need.check)?.outcomes.indexOf(need.outcome) ?? -1,
        })),
      };
    });
    return {
      problem: { faults: tables.faults.length, steps: problemSteps, ...rest },
      steps: ids,
      places,
      checks: picked.filter((i) => i < flow.checks.length).length,
    };
  }

  const kept = new Map<Marks, Picked>();
  return {
    steps,
    stageIndex,
    of(marks) {
      const before = kept.get(marks);
      if (before) return before;
      const made = pick(marks);
      kept.set(marks, made);
      if (kept.size > most) kept.delete(kept.keys().next().value as Marks);
      return made;
    },
  };
}

const common = (step: Check | Remedy, stageIndex: ReadonlyMap<string, number>, cost: Cost) => ({
  id: step.id,
  cost,
  stage: stageIndex.get(step.access) ?? -1,
  needs: [],
});

function checkStep(
  check: Check,
  tables: Tables,
  stageIndex: ReadonlyMap<string, number>,
  trust: number,
): ProblemStep {
  const rows = tables.checks.get(check.id)?.rows ?? [];
  return {
    ...common(check, stageIndex, { minutes: check.minutes, wait: check.wait_minutes, money: 0 }),
    kind: 'check',
    power: check.power,
    times: 1,
    outcomes: rows.map((row) => mix(row, trust, 1 / rows.length)),
  };
}

function remedyStep(
  remedy: Remedy,
  tables: Tables,
  stageIndex: ReadonlyMap<string, number>,
  { community }: Settings,
): ProblemStep {
  const money = remedy.part ? priceIn(community, remedy.part.price) : 0;
  return {
    ...common(remedy, stageIndex, { minutes: remedy.minutes, wait: remedy.wait_minutes, money }),
    kind: 'remedy',
    power: 'off',
    times: remedy.times,
    cures: tables.cures.get(remedy.id) ?? new Float64Array(tables.faults.length),
    alone: remedy.alone,
  };
}

/**
 * What stopping costs under each fault. People: the referral, and then the cheapest mend with its part and their time;
 * where nothing mends it, a replacement after all. Replacing: its price, whatever the fault was.
 */
export function stops(tables: Tables, settings: Settings): Problem['stops'] {
  const { flow } = tables;
  const { community } = settings;
  const replace = priceIn(community, flow.replace.price);
  const minute = ratesOf(community).minute;
  const open = flow.access.reduce((sum, access) => sum + access.open.minutes + access.close.minutes, 0);
  const people = Float64Array.from(flow.faults, (fault, f) => {
    let mend = Infinity;
    for (const remedy of flow.remedies) {
      const cure = tables.cures.get(remedy.id)?.[f] ?? 0;
      if (cure < 0.5) continue;
      const minutes = remedy.minutes + (remedy.access === 'outside' ? 0 : open);
      mend = Math.min(mend, minutes * minute + (remedy.part ? priceIn(community, remedy.part.price) : 0));
    }
    if (mend === Infinity) mend = fault.ends === 'replace' ? replace : community.referral;
    return community.referral + mend;
  });
  return [
    { id: 'people', cost: people },
    { id: 'replace', cost: new Float64Array(tables.faults.length).fill(replace) },
  ];
}
