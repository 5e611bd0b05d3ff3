import type { Question } from '../../shared/case.ts';
import type { Flow, Level, Tier } from '../../shared/flow.ts';

/** What a question is about: as much of it as decides whether it may be asked. */
export type Topic = Pick<Question, 'kind' | 'step'>;

/** What a question asks of the person and the appliance, read from the flow alone. */
export interface Demand {
  readonly tier: Tier;
  /** More skill than the tier says; null where the tier is enough. */
  readonly least: Level | null;
  /** Every stage that hands or eyes pass, outside first. */
  readonly path: readonly string[];
  /** Stages that must be open already. */
  readonly through: readonly string[];
  /** Hands go in with the power off: out of the wall and waited. */
  readonly handsIn: boolean;
  /** A fresh proof of discharge comes first. */
  readonly proof: boolean;
  /** Every cover has to be on, because power comes back. */
  readonly allShut: boolean;
  /** The appliance is switched on in the course of it. */
  readonly powers: boolean;
}

const nothing: Demand = {
  tier: 'outside',
  least: null,
  path: [],
  through: [],
  handsIn: false,
  proof: false,
  allShut: false,
  powers: false,
};

export function demandOf(flow: Flow, question: Topic): Demand {
  switch (question.kind) {
    case 'check':
    case 'do':
      return stepDemand(flow, question.step);
    // The old part's label is read where the part is, and nothing is switched on for it.
    case 'part':
      return { ...stepDemand(flow, question.step), allShut: false, powers: false };
    // The terms of live work are only put to somebody who may do that work, with the appliance ready for it.
    case 'live':
      return stepDemand(flow, question.step);
    case 'open': {
      const path = pathTo(flow, question.step);
      const through = path.slice(0, -1);
      // The first cover comes off before anything can be measured; anything deeper waits for the proof.
      return { ...nothing, tier: 'cold', path, through, handsIn: true, proof: through.length > 0 };
    }
    case 'prove': {
      const first = outermost(flow);
      return { ...nothing, tier: 'cold', path: first, through: first, handsIn: true };
    }
    // A live step leaves it powered; nobody puts a cover on before the plug is out.
    case 'shut':
      return { ...nothing, handsIn: true };
    case 'test':
      return { ...nothing, allShut: true, powers: true };
    case 'closing':
      return { ...nothing, allShut: true, powers: question.step === 'function' };
    case 'appliance':
    case 'complaint':
    case 'detail':
    case 'level':
    case 'meter':
    case 'unplug':
    case 'wait':
    case 'arrival':
    case 'flag':
    case 'replace':
    case 'follow-up':
      return nothing;
    default:
      return question.kind satisfies never;
  }
}

/** What a check or remedy of the flow asks for. A step the flow does not know asks for more than anybody may. */
export const stepDemand = (flow: Flow, id: string): Demand => stepDemands(flow).get(id) ?? unknown;

/** By flow; a cache of a pure function. */
const known = new WeakMap<Flow, ReadonlyMap<string, Demand>>();

/** Of every check and remedy. Steps that ask for the same share one object. */
export function stepDemands(flow: Flow): ReadonlyMap<string, Demand> {
  const before = known.get(flow);
  if (before) return before;
  const shared = new Map<string, Demand>();
  const demands = new Map<string, Demand>();
  for (const { id } of [...flow.checks, ...flow.remedies]) {
    const demand = readDemand(flow, id);
    const same = JSON.stringify(demand);
    shared.set(same, shared.get(same) ?? demand);
    demands.set(id, shared.get(same) as Demand);
  }
  known.set(flow, demands);
  return demands;
}

const unknown: Demand = {
  ...nothing,
  tier: 'live',
  least: 'trained',
  path: ['unknown'],
  through: ['unknown'],
  proof: true,
  powers: true,
};

function readDemand(flow: Flow, id: string): Demand {
  const check = flow.checks.find((step) => step.id === id);
  const step = check ?? flow.remedies.find((remedy) => remedy.id === id);
  const path = step ? pathTo(flow, step.access) : [];
  if (!step || (path.length === 0 && step.access !== 'outside')) return unknown;
  const least = step.least ?? null;
  if (path.length === 0) {
    // A remedy outside is tried at once, so power comes back within the same step.
    const powers = check === undefined || check.power !== 'off';
    return { ...nothing, least, allShut: powers, powers };
  }
  const live = check?.power === 'on';
  return {
    tier: live ? 'live' : 'cold',
    least,
    path,
    through: path,
    handsIn: true,
    proof: true,
    allShut: false,
    powers: check !== undefined && check.power !== 'off',
  };
}

/** The stages from the outside to this one; empty for `outside` and for anything unknown. */
export function pathTo(flow: Flow, stage: string): string[] {
  const path: string[] = [];
  let at = flow.access.find((access) => access.id === stage);
  while (at && !path.includes(at.id)) {
    path.unshift(at.id);
    const behind = at.behind;
    at = behind === undefined ? undefined : flow.access.find((access) => access.id === behind);
  }
  return path;
}

function outermost(flow: Flow): string[] {
  const first = flow.access.find((access) => access.behind === undefined);
  return first ? [first.id] : [];
}
