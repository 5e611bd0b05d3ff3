import type { Answer, Case } from '../../shared/case.ts';
import type { Flow } from '../../shared/flow.ts';
import type { Demand } from './demand.ts';
import { type FlowProblem, type FlowStep, flowProblem, type Marks } from './flow-problem.ts';
import { complaintOf, setAside, toldIn } from './history.ts';
import { believe, evidence, type Reliability } from './infer.ts';
import type { Problem, ProblemState } from './plan/problem.ts';
import { detailOf, forbidden, levelOf, proofHolds, type Refusal, unsafeFor } from './safety.ts';
import type { Settings } from './settings.ts';
import { bandOf, type Tables } from './tables.ts';

/** A case as a decision problem for the plan, and the way back from the plan's numbers to the flow's ids. */
export interface Compiled {
  readonly problem: Problem;
  readonly state: ProblemState;
  /** Ids of the flow by step index. */
  readonly steps: readonly string[];
  /** Which of the flow's steps are in it, and bought: within a flow, a community and a level, problems differ in nothing else. */
  readonly marks: Marks;
}

/** Indices of the stop options. */
export const stopPeople = 0;
export const stopReplace = 1;

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
  const parts = flowProblem(tables, settings, community.reliability[levelOf(kase)]);
  const marks = marksOf(kase, flow, parts, reach);
  const { problem, steps, places, checks } = parts.of(marks);
  const { aside, done, seen, pending } = toldIn(kase);

  const state: ProblemState = {
    weights: weightsOf(kase, tables, community.reliability),
    done: new Uint8Array(steps.length),
    found: new Int8Array(steps.length).fill(-1),
    open: kase.world.open.reduce((bits, stage) => bits | (1 << (parts.stageIndex.get(stage) ?? 0)), 0),
    charged:
      flow.energy.stores === 'none'
        ? kase.world.unplugged === null
        : !proofHolds(kase, flow, at, demonstration),
    altered: kase.world.altered !== null,
    pending: pending.flatMap((id) => places.get(id) ?? []),
  };
  const timesOf = (place: number): number => problem.steps[place]?.times ?? 1;
  for (const [id, answer] of seen) {
    const place = places.get(id);
    if (place === undefined) continue;
    if (place < checks) state.done[place] = 1;
    state.found[place] = outcomeIndex(answer, tables);
  }
  for (const [id, times] of done) {
    const place = places.get(id);
    if (place !== undefined && place >= checks) state.done[place] = Math.min(timesOf(place), times);
  }
  for (const id of aside.keys()) {
    const place = places.get(id);
    if (place !== undefined) state.done[place] = timesOf(place);
  }
  return { problem, state, steps, marks };
}

function marksOf(kase: Case, flow: Flow, { steps }: FlowProblem, reach: Reach): Marks {
  const parts = toldIn(kase).parts;
  // Many steps ask for the same.
  const within = new Map<Demand, boolean>();
  let marks = '';
  for (const { step, demand, when } of steps) {
    let may = within.get(demand);
    if (may === undefined) {
      may = reachable(demand, kase, flow, reach);
      within.set(demand, may);
    }
    const held = unsafeFor(step.id, demand, kase, flow) !== null;
    marks += !may || held || !applies(when, kase) ? '0' : parts.has(step.id) ? '2' : '1';
  }
  return marks;
}

/** The belief; where the model rules every fault out, all of them alike. */
function weightsOf({ answers }: Case, tables: Tables, reliability: Reliability): Float64Array {
  const { faults, probability } = believe(tables.prior, evidence(tables, answers, reliability));
  return probability > 0 ? faults : faults.fill(1 / faults.length);
}

function outcomeIndex(answer: Extract<Answer, { kind: 'answered' | 'read' }>, tables: Tables): number {
  const table = tables.checks.get(answer.step);
  if (!table) return -1;
  if (answer.kind === 'answered') return table.outcomes.indexOf(answer.outcome);
  return table.reading ? bandOf(table.reading, answer.value) : -1;
}

/** A step applies unless a question it depends on was answered otherwise; one not asked yet counts in its favour. */
function applies(when: FlowStep['when'], kase: Case): boolean {
  for (const [question, answers] of when) {
    const given = question === 'complaint' ? complaintOf(kase) : detailOf(kase, question);
    if (given !== null && !answers.includes(given)) return false;
  }
  return true;
}

function reachable(demand: Demand, kase: Case, flow: Flow, reach: Reach): boolean {
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
