import type { Case, Question, QuestionKind } from '../../shared/case.ts';
import type { Flow } from '../../shared/flow.ts';
import type { HandoverReason } from '../../shared/outbound.ts';
import { proofPoints } from './ask.ts';
import { closingOf } from './closing.ts';
import { type Compiled, compile, mayBeSettled, mayStateLevel, stopPeople } from './compile.ts';
import { pathTo } from './demand.ts';
import { energyWords } from './energy-words.ts';
import { complaintOf, lastOf, partState, pendingOf, setAside } from './history.ts';
import { believe, conflict, type Evidence, evidence, suspect } from './infer.ts';
import { solve } from './plan/plan.ts';
import type { Plan } from './plan/problem.ts';
import { isInside, powers } from './power.ts';
import { detailOf, endsHere, foundDanger, gate, type Refusal, waitEnds } from './safety.ts';
import { libraryOf, type Settings } from './settings.ts';
import type { Tables } from './tables.ts';

/** Where a case goes from here. It proposes; the gate in `safety.ts` says what has to come first, or that it may not. */
export type Next =
  | { readonly kind: 'nothing' }
  | { readonly kind: 'question'; readonly question: Unkeyed }
  | { readonly kind: 'rest'; readonly key: string; readonly due: number; readonly reason: string }
  | { readonly kind: 'doubt'; readonly answer: Evidence }
  | {
      readonly kind: 'handover';
      readonly reason: HandoverReason;
      readonly refusal: Refusal | null;
      readonly next: string | null;
    }
  | { readonly kind: 'fixed' };

export type Unkeyed = Omit<Question, 'key' | 'power' | 'inside'>;

export interface Corrected {
  /** The open question is closed; what answers it came too late. */
  readonly closed: boolean;
  /** Answers are gone, so the list of them is another one. */
  readonly dropped: boolean;
}

/** Everything a decision rests on. `plan` is worked out at most once a turn. */
export interface View {
  readonly kase: Case;
  readonly tables: Tables;
  readonly settings: Settings;
  readonly at: number;
  readonly demonstration: boolean;
  /** What a corrected flow did to the case in this very turn. */
  readonly corrected: Corrected;
  plan(): { readonly plan: Plan; readonly compiled: Compiled };
}

export function look(
  kase: Case,
  tables: Tables,
  settings: Settings,
  at: number,
  demonstration: boolean,
  corrected: Corrected = { closed: false, dropped: false },
): View {
  let known: { plan: Plan; compiled: Compiled } | null = null;
  return {
    kase,
    tables,
    settings,
    at,
    demonstration,
    corrected,
    plan() {
      if (!known) {
        const compiled = compile(kase, tables, settings, at, demonstration);
        const plan = decide(compiled, kase, settings);
        known = { compiled, plan };
      }
      return known;
    },
  };
}

/** The plan, or what takes its place. */
const decide = (compiled: Compiled, kase: Case, settings: Settings): Plan =>
  settings.decide
    ? settings.decide(compiled, kase, settings.budget)
    : solve(compiled.problem, compiled.state, settings.budget);

export function next(view: View): Next {
  const { kase, tables, settings } = view;
  // Without anybody who asked there is nobody to ask.
  if (kase.question !== null || kase.asker === '') return { kind: 'nothing' };
  const danger = doubted(kase);
  if (danger) return { kind: 'question', question: danger };
  if (kase.state === 'resting' && kase.rest?.key.startsWith('part:')) {
    // The part may come before we ask for it.
    return { kind: 'question', question: { kind: 'arrival', step: kase.rest.key.slice('part:'.length) } };
  }
  if (kase.state === 'settled' && kase.followUp?.asks)
    return { kind: 'question', question: { kind: 'follow-up', step: 'follow-up' } };
  if (kase.state !== 'asking') return { kind: 'nothing' };

  const last = lastOf(kase);
  if (last?.kind === 'tested' && last.result === 'works') return closed(view);

  if (kase.flow === null && libraryOf(settings))
    return { kind: 'question', question: { kind: 'appliance', step: 'appliance', offered: kase.suggested } };

  if (complaintOf(kase) === null) {
    const all = tables.flow.complaints.map((c) => c.id);
    const proposed = kase.proposed.filter((id) => all.includes(id));
    const offered = proposed.length > 0 ? proposed : all;
    return { kind: 'question', question: { kind: 'complaint', step: 'complaint', offered } };
  }
  if (endsHere(kase, tables.flow)) return { kind: 'handover', reason: 'refused', refusal: null, next: null };

  const again = kase.again === null ? null : askedAgain(kase.again, kase, tables.flow);
  if (again) return prepared(again, view);

  const detail = tables.flow.details.find((d) => d.before === 'first' && open(kase, d.id));
  if (detail) return { kind: 'question', question: { kind: 'detail', step: detail.id } };

  if (kase.stuck >= settings.community.stuck_after) return handover(view, 'stuck');

  const rows = evidence(tables, kase.answers, settings.community.reliability);
  if (conflict(tables.prior, rows) > settings.community.conflict) {
    const answer = suspect(tables.prior, rows, (one) => mayBeAskedAgain(one, view));
    if (answer) return { kind: 'doubt', answer };
  }
  const other = tables.faults.indexOf('something-else');
  if ((believe(tables.prior, rows).faults[other] ?? 0) >= settings.community.fits_nothing) {
    return pendingOf(kase).length > 0
      ? prepared({ kind: 'test', step: 'test' }, view)
      : handover(view, 'fits-nothing');
  }
  return planned(view);
}

/** It works. What was open is tested before it goes home; what fails does not go home in use. */
function closed(view: View): Next {
  const { kase, tables, settings } = view;
  const closing = closingOf(kase, tables.flow, settings.community);
  switch (closing.state) {
    case 'open':
      return { kind: 'question', question: { kind: 'closing', step: closing.next as string } };
    case 'failed':
      return { kind: 'handover', reason: 'failed-test', refusal: null, next: null };
    default:
      return { kind: 'fixed' };
  }
}

/**
 * In doubt it is asked, whoever has the case, and nothing else until it is answered. Where a sign of danger is sure,
 * people were called for it, and there is no more to ask.
 */
function doubted(kase: Case): Unkeyed | null {
  if (kase.state === 'settled' || kase.stopped || kase.flags.some((flag) => flag.sure)) return null;
  if (kase.alarm) return { kind: 'flag', step: 'which' };
  const [doubt] = kase.flags;
  return doubt ? { kind: 'flag', step: doubt.flag } : null;
}

/** A detail is open until it was answered or put aside. */
const open = (kase: Case, detail: string): boolean =>
  detailOf(kase, detail) === null && setAside(kase, detail) === null;

function askedAgain(step: string, kase: Case, flow: Flow): Unkeyed | null {
  if (partState(kase, step) === 'ordered') return { kind: 'arrival', step };
  if (flow.checks.some((check) => check.id === step)) return { kind: 'check', step };
  if (flow.details.some((detail) => detail.id === step)) return { kind: 'detail', step };
  return null;
}

/** Only what can be looked at again here and now, as the appliance stands, and only once. */
function mayBeAskedAgain(one: Evidence, view: View): boolean {
  const { kase, tables, at, demonstration } = view;
  const check = tables.flow.checks.find((step) => step.id === one.step);
  if (!check || kase.doubted.includes(check.id)) return false;
  // Asked again it would hold no longer, and may not be answered a second time.
  if (foundDanger(check, kase)) return false;
  // A look costs covers and a new proof; and with a lead still off, the front shows something else.
  if (check.power === 'look' || (kase.world.altered !== null && check.access === 'outside')) return false;
  return gate({ kind: 'check', step: check.id }, kase, tables.flow, at, demonstration) === null;
}

function planned(view: View): Next {
  const { kase, tables } = view;
  const { flow } = tables;
  const pending = pendingOf(kase);
  const mustTest = pending.some((id) => {
    const remedy = flow.remedies.find((step) => step.id === id);
    return remedy === undefined || remedy.alone || remedy.access === 'outside';
  });
  if (mustTest) return prepared({ kind: 'test', step: 'test' }, view);

  const { plan, compiled } = view.plan();
  // Covers that came off for a step wait for that step: searched as far as the budget goes, the plan may see a hair's breadth
  // between two steps, and want each of them where only the other can be done.
  const { toward } = kase;
  if (toward === 'test' && pending.length > 0) return prepared({ kind: 'test', step: 'test' }, view);
  if (toward !== null && compiled.steps.includes(toward)) return prepared(questionFor(toward, view), view);
  switch (plan.choice.kind) {
    case 'test':
      return prepared({ kind: 'test', step: 'test' }, view);
    case 'stop':
      if (plan.choice.stop === stopPeople) return handover(view, 'stopped-paying');
      return { kind: 'question', question: { kind: 'replace', step: 'replace' } };
    case 'step':
      return prepared(questionFor(compiled.steps[plan.choice.step] as string, view), view);
    default:
      return plan.choice satisfies never;
  }
}

function questionFor(id: string, view: View): Unkeyed {
  const { kase, tables } = view;
  const remedy = tables.flow.remedies.find((step) => step.id === id);
  if (!remedy) return { kind: 'check', step: id };
  if (!remedy.part) return { kind: 'do', step: id };
  const detail = tables.flow.details.find((d) => d.before === 'part' && open(kase, d.id));
  switch (partState(kase, id)) {
    case 'none':
      return detail ? { kind: 'detail', step: detail.id } : { kind: 'part', step: id };
    case 'ordered':
      return { kind: 'arrival', step: id };
    case 'here':
      return { kind: 'do', step: id };
  }
}

/** What has to come before a question, as the gate says: asked in turn until the gate lets the question itself pass. */
function prepared(question: Unkeyed, view: View): Next {
  const { kase, tables, at, demonstration } = view;
  const { flow } = tables;
  const toward = question.toward ?? question.step;
  const before = (kind: QuestionKind, step: string): Next => prepared({ kind, step, toward }, view);

  const refusal = gate(question, kase, flow, at, demonstration);
  if (refusal === null) return beforeInside(question, view) ?? { kind: 'question', question };
  switch (refusal.why) {
    case 'plugged-in':
      return before('unplug', 'unplug');
    case 'wait':
      return {
        kind: 'rest',
        key: 'discharge',
        due: waitEnds(kase, flow),
        reason: energyWords[flow.energy.stores].reason,
      };
    case 'shut': {
      const stage = pathTo(flow, accessOf(question, flow)).find((id) => !kase.world.open.includes(id));
      return stage === undefined ? handover(view, 'refused', refusal) : before('open', stage);
    }
    case 'open':
      return before('shut', 'shut');
    case 'no-proof': {
      const point = proofPoints(flow)[kase.world.readings.length];
      return point === undefined ? handover(view, 'refused', refusal) : before('prove', point);
    }
    case 'no-live-terms':
      return before('live', question.step);
    case 'unknown-limit':
      return mayBeSettled(refusal, kase)
        ? before('detail', refusal.detail)
        : handover(view, 'refused', refusal);
    case 'tier':
    case 'skill':
      return mayStateLevel(kase) && mayBeSettled(refusal, kase)
        ? before('level', 'level')
        : handover(view, 'refused', refusal);
    case 'no-meter':
      return mayBeSettled(refusal, kase) ? before('meter', 'meter') : handover(view, 'refused', refusal);
    case 'limit':
    case 'flagged':
    case 'unsafe':
      return handover(view, 'refused', refusal);
    default:
      return refusal satisfies never;
  }
}

/** What is worth knowing before the first step inside, such as the size, though nothing forbids going on without it. */
function beforeInside(question: Unkeyed, view: View): Next | null {
  if (question.kind !== 'unplug') return null;
  const detail = view.tables.flow.details.find((d) => d.before === 'inside' && open(view.kase, d.id));
  return detail ? { kind: 'question', question: { kind: 'detail', step: detail.id } } : null;
}

function accessOf(question: Unkeyed, flow: Flow): string {
  if (question.kind === 'open') return question.step;
  if (question.kind === 'prove')
    return flow.access.find((access) => access.behind === undefined)?.id ?? 'outside';
  const step =
    flow.checks.find((check) => check.id === question.step) ??
    flow.remedies.find((remedy) => remedy.id === question.step);
  return step?.access ?? 'outside';
}

/** To people, with the step that somebody who may do more would do next. */
export function handover(view: View, reason: HandoverReason, refusal: Refusal | null = null): Next {
  const { kase, tables, settings, at, demonstration } = view;
  const compiled = compile(kase, tables, settings, at, demonstration, 'everything');
  const untested = { ...compiled, state: { ...compiled.state, pending: [] } };
  const { choice } = decide(untested, kase, settings);
  const wanted = choice.kind === 'step' ? (compiled.steps[choice.step] ?? null) : null;
  if (wanted === null || refusal !== null || reason !== 'stopped-paying') {
    return { kind: 'handover', reason, refusal, next: wanted };
  }
  const blocked = gate({ kind: 'do', step: wanted }, kase, tables.flow, at, demonstration);
  const above =
    blocked !== null &&
    ['tier', 'skill', 'no-meter', 'limit', 'unknown-limit', 'unsafe'].includes(blocked.why);
  return {
    kind: 'handover',
    reason: above ? 'refused' : reason,
    refusal: above ? blocked : null,
    next: wanted,
  };
}

/** A question under the name that this case knows it by, with what it does to the appliance. */
export const keyed = (question: Unkeyed, kase: Case, flow: Flow): Question => ({
  ...question,
  key: `q${kase.asked + 1}`,
  power: powers(flow, question),
  inside: isInside(flow, question),
});
