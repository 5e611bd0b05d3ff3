import type { Case } from '../../shared/case.ts';
import type { Check, Flow, Remedy } from '../../shared/flow.ts';
import { stepDemand } from './demand.ts';
import { answerTo, complaintOf, partState, pendingOf, setAside, timesDone } from './history.ts';
import { evidence, mix } from './infer.ts';
import type { Cost, Problem, ProblemState, ProblemStep } from './plan/problem.ts';
import { detailOf, forbidden, levelOf, proofHolds, type Refusal } from './safety.ts';
import { priceIn, ratesOf, type Settings } from './settings.ts';
import { bandOf, type Tables } from './tables.ts';

/** A case as a decision problem for the plan, and the way back from the plan's numbers to the flow's ids. */
export interface Compiled {
  readonly problem: Problem;
  readonly state: ProblemState;
  /** Ids of the flow by step index. */
  readonly steps: readonly string[];
}

/** Indices of the stop options. */
export const stopPeople = 0;
export const stopReplace = 1;

/** Minutes to switch on and see whether it works, and to pull the plug and lay things out. */
const testMinutes = 2;
const unplugMinutes = 1;

/**
 * Which steps the plan may count on. `possible` are those that nothing forbids, or only something that asking may
 * settle; `everything` is what somebody with every skill and tool could do, for telling whom a case should go to.
 */
export type Reach = 'possible' | 'everything';

export function compile(
  kase: Case,
  tables: Tables,
  settings: Settings,
  at: number,
  demonstration: boolean,
  reach: Reach = 'possible',
): Compiled {
  const { flow } = tables;
  const { community } = settings;
  const faults = tables.faults.length;
  const trust = community.reliability[levelOf(kase)];
  const stageIndex = new Map(flow.access.map((access, i) => [access.id, i]));

  const applicable = (step: Check | Remedy): boolean =>
    applies(step, kase) && reachable(step.id, kase, flow, reach);
  const checks = flow.checks.filter(applicable);
  const remedies = flow.remedies.filter(applicable);
  const ids = [...checks.map((step) => step.id), ...remedies.map((step) => step.id)];
  const common = (step: Check | Remedy, cost: Cost) => ({
    id: step.id,
    cost,
    stage: stageIndex.get(step.access) ?? -1,
    needs: (step.needs ?? []).map((need) => ({
      step: ids.indexOf(need.check),
      outcome: tables.checks.get(need.check)?.outcomes.indexOf(need.outcome) ?? -1,
    })),
  });

  const steps: ProblemStep[] = [
    ...checks.map((check): ProblemStep => {
      const table = tables.checks.get(check.id);
      const rows = table?.rows ?? [];
      return {
        ...common(check, { minutes: check.minutes, wait: check.wait_minutes, money: 0 }),
        kind: 'check',
        power: check.power,
        times: 1,
        outcomes: rows.map((row) => mix(row, trust, 1 / rows.length)),
      };
    }),
    ...remedies.map((remedy): ProblemStep => {
      const bought = partState(kase, remedy.id) !== 'none';
      const money = remedy.part && !bought ? priceIn(community, remedy.part.price) : 0;
      return {
        ...common(remedy, { minutes: remedy.minutes, wait: remedy.wait_minutes, money }),
        kind: 'remedy',
        power: 'off',
        times: remedy.times,
        cures: tables.cures.get(remedy.id) ?? new Float64Array(faults),
        alone: remedy.alone,
      };
    }),
  ];

  const discharge: Cost = {
    minutes: (flow.energy.stores === 'none' ? 0 : flow.energy.minutes) + (flow.mains ? unplugMinutes : 0),
    wait: flow.energy.stores === 'none' ? 0 : flow.energy.wait_minutes,
    money: 0,
  };
  const problem: Problem = {
    faults,
    steps,
    stages: flow.access.map((access) => ({
      behind: access.behind === undefined ? -1 : (stageIndex.get(access.behind) ?? -1),
      open: { minutes: access.open.minutes + access.close.minutes, wait: 0, money: 0 },
    })),
    stops: stops(tables, settings),
    discharge,
    test: { minutes: testMinutes, wait: 0, money: 0 },
    testShut: true,
    rates: ratesOf(community),
  };

  const weights = Float64Array.from(tables.prior);
  for (const { row } of evidence(tables, kase.answers, community.reliability)) {
    for (let f = 0; f < faults; f++) weights[f] = (weights[f] as number) * (row[f] as number);
  }
  const state: ProblemState = {
    weights: normalised(weights),
    done: Uint8Array.from(ids, (id, i) => {
      const times = steps[i]?.times ?? 1;
      if (setAside(kase, id) !== null) return times;
      return i < checks.length ? (answerTo(kase, id) ? 1 : 0) : Math.min(times, timesDone(kase, id));
    }),
    found: Int8Array.from(ids, (id) => outcomeIndex(kase, tables, id)),
    open: kase.world.open.reduce((bits, stage) => bits | (1 << (stageIndex.get(stage) ?? 0)), 0),
    charged:
      flow.energy.stores === 'none'
        ? kase.world.unplugged === null
        : !proofHolds(kase, flow, at, demonstration),
    altered: kase.world.altered !== null,
    pending: pendingOf(kase)
      .map((id) => ids.indexOf(id))
      .filter((i) => i >= 0),
  };
  return { problem, state, steps: ids };
}

function normalised(weights: Float64Array): Float64Array {
  const sum = weights.reduce((a, b) => a + b, 0);
  return sum > 0 ? weights.map((w) => w / sum) : weights.map(() => 1 / weights.length);
}

function outcomeIndex(kase: Case, tables: Tables, id: string): number {
  const table = tables.checks.get(id);
  const answer = answerTo(kase, id);
  if (!table || !answer) return -1;
  if (answer.kind === 'answered') return table.outcomes.indexOf(answer.outcome);
  return table.reading ? bandOf(table.reading, answer.value) : -1;
}

/** A step applies unless a question it depends on was answered otherwise; one not asked yet counts in its favour. */
export function applies(step: Check | Remedy, kase: Case): boolean {
  for (const [question, answers] of Object.entries(step.when ?? {})) {
    const given = question === 'complaint' ? complaintOf(kase) : detailOf(kase, question);
    if (given !== null && !answers.includes(given)) return false;
  }
  return true;
}

function reachable(step: string, kase: Case, flow: Flow, reach: Reach): boolean {
  const demand = stepDemand(flow, step);
  if (reach === 'everything') {
    // What is never done on this appliance is not for anybody.
    return forbidden(demand, kase, flow).every((refusal) => refusal.why !== 'limit');
  }
  // A cover that this person could not open stays shut for the rest of the case.
  if (demand.path.some((stage) => setAside(kase, stage) !== null)) return false;
  return forbidden(demand, kase, flow).every((refusal) => mayBeSettled(refusal, kase));
}

/** Whether asking the person may lift this refusal: their level, their meter, or a detail not asked yet. */
export function mayBeSettled(refusal: Refusal, kase: Case): boolean {
  switch (refusal.why) {
    case 'tier':
      return refusal.needs === 'cold' && mayStateLevel(kase);
    case 'skill':
      return refusal.needs === 'handy' && mayStateLevel(kase);
    case 'no-meter':
      return (
        !kase.answers.some((a) => a.kind === 'meter-stated' && a.person === kase.hands) &&
        setAside(kase, 'meter') === null
      );
    case 'unknown-limit':
      return setAside(kase, refusal.detail) === null;
    default:
      return false;
  }
}

/** Nobody vouches for the person's level and they have not been asked. */
export const mayStateLevel = (kase: Case): boolean =>
  (kase.people[kase.hands]?.level ?? null) === null &&
  !kase.answers.some((a) => a.kind === 'level-stated' && a.person === kase.hands) &&
  setAside(kase, 'level') === null;

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
