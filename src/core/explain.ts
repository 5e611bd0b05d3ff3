import type { Answer, Case } from '../../shared/case.ts';
import type { Check, Flow } from '../../shared/flow.ts';
import type { Outbound, Picture, PlanFigures } from '../../shared/outbound.ts';
import { restoring, shownOf } from './ask.ts';
import { testWords } from './closing-words.ts';
import { stopPeople } from './compile.ts';
import { energyWords } from './energy-words.ts';
import { believe, evidence } from './infer.ts';
import type { View } from './next.ts';
import { isNoGuide } from './no-guide.ts';
import type { Choice } from './plan/problem.ts';
import { coversOff, proofHolds } from './safety.ts';
import { say } from './turn.ts';
import { isUnchosen } from './unchosen.ts';
import {
  chanceWords,
  inline,
  listWords,
  minutesWords,
  moneyWords,
  quoted,
  readable,
  sentence,
} from './wording.ts';

/** What the plan and the belief say for themselves, in words made from their own numbers. */

export interface Suspect {
  readonly fault: string;
  readonly name: string;
  readonly share: number;
}

/** The faults most believed, most first; shares sum to 1 over all. */
export function suspects(view: View): Suspect[] {
  const { tables, kase, settings } = view;
  const { faults } = believe(tables.prior, evidence(tables, kase.answers, settings.community.reliability));
  return tables.flow.faults
    .map((fault, f) => ({ fault: fault.id, name: fault.name, share: faults[f] as number }))
    .sort((a, b) => b.share - a.share || (a.fault < b.fault ? -1 : 1));
}

export function figures(view: View): PlanFigures {
  const { plan } = view.plan();
  const round = (x: number): number => Math.round(x * 100) / 100;
  return {
    cost: round(plan.cost),
    minutes: round(plan.minutes),
    wait: round(plan.wait),
    money: round(plan.money),
    chance: Math.round(plan.chance * 1000) / 1000,
    currency: view.settings.community.currency,
  };
}

/** "Why this?": what the open question is good for, what follows each answer, and what is still to be expected. */
export function why(view: View): Outbound {
  const { tables, kase, settings } = view;
  const { flow } = tables;
  const { question } = kase;
  const kind = question?.kind;
  // Where danger is asked about, nobody is told what else could be done with the appliance.
  if (kind === 'flag' || kind === 'appliance' || kind === 'closing' || kind === 'follow-up')
    return say(ownReason(view) as string);
  const { plan } = view.plan();
  const id = explained(view);
  const check = flow.checks.find((step) => step.id === id);
  const remedy = flow.remedies.find((step) => step.id === id);
  const step = check ?? remedy;
  if (!question && kase.rest) return say(waitReason(view), [waitingWords(view)]);
  const detail = kind === 'detail' ? flow.details.find((d) => d.id === question?.step) : undefined;
  const first = detail?.why ?? ownReason(view) ?? step?.why ?? 'It is the cheapest next step.';
  if (kind === 'replace') return say(first, goingOn(view));

  const list: string[] = [];
  if (step && question && question.step !== step.id) {
    const before =
      kind === 'complaint' || detail?.before === 'first' ? 'After this, most likely' : 'It prepares';
    list.push(`${before}: ${inline(step.name)}. ${step.why}`);
  } else if (check) {
    list.push(...branches(view, check));
  } else if (remedy) {
    const cure = cureChance(view, remedy.id);
    list.push(`Chance that this alone cures it: ${chanceWords(cure)}. It mends: ${mends(view, remedy.id)}.`);
  }
  const { community } = settings;
  list.push(
    `Still to expect from here: ${minutesWords(plan.minutes)} of work, ${minutesWords(plan.wait)} of waiting, about ${moneyWords(plan.money, community)} for parts or people. Chance that you get it working yourself: ${chanceWords(plan.chance)}.`,
  );
  return say(first, list);
}

/** The flow's id of what the open question is about, or of what it prepares; null where that is no step. */
function explained(view: View): string | null {
  const { question, again } = view.kase;
  switch (question?.kind) {
    case 'check':
    case 'do':
    case 'live':
    case 'part':
    case 'arrival':
      return question.step;
    case 'test':
    case 'flag':
    case 'replace':
    case 'follow-up':
      return null;
    default: {
      if (view.tables.checks.has(again ?? '')) return again;
      if (question?.toward !== undefined) return question.toward === 'test' ? null : question.toward;
      const { plan, compiled } = view.plan();
      return plan.choice.kind === 'step' ? (compiled.steps[plan.choice.step] ?? null) : null;
    }
  }
}

/**
 * What each answer would mean. What comes after it is known while the plan still wants this step; putting the question
 * changes the appliance on paper (a look shuts it), and the plan may want another by then.
 */
function branches(view: View, check: Check): string[] {
  const { tables } = view;
  const { plan, compiled } = view.plan();
  const { choice } = plan;
  const wanted = choice.kind === 'step' && compiled.steps[choice.step] === check.id;
  const belief = suspects(view);
  const rows = tables.checks.get(check.id)?.rows ?? [];
  const labels = check.outcomes ?? check.reading?.bands ?? [];
  return labels.flatMap(({ label }, outcome) => {
    const branch = wanted ? plan.after.find((one) => one.outcome === outcome) : undefined;
    const probability = wanted
      ? (branch?.probability ?? 0)
      : belief.reduce(
          (sum, { fault, share }) => sum + share * (rows[outcome]?.[tables.faults.indexOf(fault)] ?? 0),
          0,
        );
    if (probability < 0.005) return [];
    const then = branch?.next
      ? `; then ${inline(choiceWords(branch.next, compiled.steps, tables.flow))}`
      : '';
    return [`“${label}” (${chanceWords(probability)})${topAfter(view, outcome, check.id)}${then}.`];
  });
}

/**
 * What else the plan is likely to ask for behind the same cover, so that it is not opened twice: the step it wants now
 * when something has to be prepared for it, and what would follow its answers.
 */
export function whileOpen(view: View, question: string): string[] {
  const { tables } = view;
  const { flow } = tables;
  const { plan, compiled } = view.plan();
  const likely = [
    plan.choice,
    ...[...plan.after].sort((a, b) => b.probability - a.probability).map((way) => way.next),
  ].map((choice) => (choice?.kind === 'step' ? (compiled.steps[choice.step] ?? '') : ''));
  const names: string[] = [];
  for (const id of [view.kase.toward ?? '', ...likely]) {
    const step = flow.checks.find((one) => one.id === id) ?? flow.remedies.find((one) => one.id === id);
    if (!step || step.access === 'outside' || id === question || names.includes(inline(step.name))) continue;
    names.push(inline(step.name));
  }
  return names.length === 0
    ? []
    : [`While it is open, before you close it, this is likely to come: ${listWords(names.slice(0, 3))}.`];
}

/** What going on would cost in all, for weighing it up against a replacement. */
export function goingOn(view: View): string[] {
  const { plan } = view.plan();
  const rival = plan.rivals.find((one) => one.choice.kind !== 'stop') ?? plan.rivals[0];
  if (plan.choice.kind !== 'stop' || !rival) return [];
  const { community } = view.settings;
  const [first] = suspects(view);
  return [
    `Going on with the repair is likely to cost about ${moneyWords(rival.cost, community)} in all: parts, people, and your time at ${moneyWords(community.hour, community)} an hour.`,
    ...(first ? [`Most likely it is: ${first.name} (${chanceWords(first.share)}).`] : []),
  ];
}

/** Why a question that is no step of the flow is asked at all. */
function ownReason(view: View): string | null {
  switch (view.kase.question?.kind) {
    case 'level':
      return 'Nobody is led further inside than they have worked before. Most help is outside anyway.';
    case 'meter':
    case 'unplug':
    case 'wait':
    case 'prove':
      return stored(view.tables.flow);
    case 'open':
      return 'The next useful step is behind this cover.';
    case 'shut':
      return 'With power, parts inside are live. So it is closed first.';
    case 'live':
      return 'Measuring with power on is the most dangerous step here, so each point is asked every time.';
    case 'flag':
      return 'If this happened, nothing else matters until it is safe.';
    case 'appliance':
      return 'Every kind of appliance has its own faults and its own dangers. So I ask first, and guess nothing.';
    case 'complaint':
      return 'What it does, and what it still does, points to the part that failed.';
    case 'part':
    case 'arrival':
      return 'Boards that look the same often are not. The numbers on the part itself decide, not the model on the box.';
    case 'closing':
      return 'Whoever opens a mains appliance can leave a wire loose or a cover open. A few minutes of testing show it before somebody gets hurt.';
    case 'test':
      return 'Only trying it shows whether it helped. Before we know, nothing more is taken apart.';
    case 'follow-up':
      return 'Only time shows whether a mend lasts. What you answer tells the next person what helped for good.';
    case 'replace':
      return 'What is still to be done costs time and money, and may not help. You decide whether it is worth it to you.';
    default:
      return null;
  }
}

/** Why there is a wait just now. */
function waitReason({ kase, tables }: View): string {
  const remedy = tables.flow.remedies.find((step) => `wait:${step.id}` === kase.rest?.key);
  return remedy?.why ?? stored(tables.flow);
}

function stored(flow: Flow): string {
  switch (flow.energy.stores) {
    case 'none':
      return 'A switch may cut only one of the two wires. With the plug out, no mains voltage is left inside.';
    case 'capacitors':
      return 'Capacitors inside keep their charge after the plug is out, sometimes for many minutes. Waiting alone proves nothing; a meter that was seen to work, before and after, does.';
    default:
      return 'What it stores stays inside after the plug is out, and can hurt. So it is made harmless first, and looked at.';
  }
}

function topAfter(view: View, outcome: number, check: string): string {
  const { tables, kase, settings } = view;
  const table = tables.checks.get(check);
  const row = table?.rows[outcome];
  if (!row) return '';
  const rows = evidence(tables, kase.answers, settings.community.reliability);
  const { faults } = believe(tables.prior, [...rows, { seq: 0, step: check, row }]);
  const top = tables.flow.faults
    .map((fault, f) => ({ name: fault.name, share: faults[f] as number }))
    .sort((a, b) => b.share - a.share)
    .slice(0, 2)
    .map(({ name, share }) => `${inline(name)} ${chanceWords(share)}`);
  return `: ${listWords(top)}`;
}

function cureChance(view: View, remedy: string): number {
  const { tables, kase, settings } = view;
  const cures = tables.cures.get(remedy);
  const { faults } = believe(tables.prior, evidence(tables, kase.answers, settings.community.reliability));
  return cures ? faults.reduce((sum, p, f) => sum + p * (cures[f] as number), 0) : 0;
}

function mends(view: View, remedy: string): string {
  const { tables } = view;
  const cures = tables.cures.get(remedy);
  const names = tables.flow.faults
    .filter((_, f) => (cures?.[f] ?? 0) >= 0.2)
    .map((fault) => inline(fault.name));
  return listWords(names, 'or') || 'little';
}

export function choiceWords(choice: Choice, steps: readonly string[], flow: Flow): string {
  switch (choice.kind) {
    case 'step':
      return nameOf(steps[choice.step] ?? '', flow);
    case 'test':
      return 'switch it on and see';
    case 'stop':
      return choice.stop === stopPeople ? 'hand over to people' : 'weigh up replacing it';
  }
}

const partName = (remedy: string, flow: Flow): string =>
  flow.remedies.find((step) => step.id === remedy)?.part?.name ?? called(remedy, flow);

const knownName = (id: string, flow: Flow): string | undefined =>
  flow.checks.find((step) => step.id === id)?.name ??
  flow.remedies.find((step) => step.id === id)?.name ??
  flow.details.find((detail) => detail.id === id)?.ask ??
  flow.access.find((access) => access.id === id)?.name;

/** The flow's name for one of its ids; what it does not have is called by the id. */
export const nameOf = (id: string, flow: Flow): string => knownName(id, flow) ?? readable(id);

/** The same, told apart from a name. */
const called = (id: string, flow: Flow): string => knownName(id, flow) ?? quoted(id);

/** "Where are we?": the answers so far, numbered so that one can be changed, who is suspected, and what is open. */
export function where(view: View): Outbound[] {
  const { kase, tables } = view;
  const list = answersShown(kase, tables.flow).map(({ words }) => words);
  const picture = pictured(view);
  const bars = (picture?.suspects ?? []).map(({ name, share }) => `${name} ${chanceWords(share)}`);
  // In the middle of a look the covers go off and on; what was changed for it is told by the question itself.
  const looking = kase.question !== null && kase.question.step === kase.world.altered;
  const touched = !looking && (coversOff(kase) > 0 || kase.world.altered !== null);
  return [
    list.length === 0
      ? say('We are at the beginning. Nothing was answered yet.')
      : { kind: 'say', words: 'What we know so far (“change 2” asks number 2 again):', list, numbered: true },
    ...(picture ? [{ kind: 'show' as const, picture, alt: `Likely causes now: ${bars.join(', ')}.` }] : []),
    say(openNow(view), touched ? inTheRoom(view) : []),
  ];
}

/** Who is suspected, as a picture; null where nothing is known of the appliance. */
export function pictured(view: View): Picture | null {
  const { flow } = view.tables;
  return isNoGuide(flow) || isUnchosen(flow)
    ? null
    : { flow: flow.flow, suspects: suspects(view).slice(0, 5), marks: marksOf(view) };
}

/** Parts and leads that the open step concerns. */
function marksOf({ kase, tables: { flow } }: View): string[] {
  const id = kase.question?.step;
  const step = flow.checks.find((one) => one.id === id) ?? flow.remedies.find((one) => one.id === id);
  const point =
    flow.energy.stores === 'capacitors' ? flow.energy.points.find((one) => one.id === id) : undefined;
  return [...(step?.marks ?? point?.marks ?? [])];
}

/** What is waited for now, and from whom. */
export function openNow(view: View): string {
  const { kase, tables, settings } = view;
  if (kase.question) {
    const { title, question } = shownOf(kase.question, kase, tables.flow, settings);
    return `Asked now: ${title}. ${question}`;
  }
  if (kase.state === 'settled') return 'This case is settled. Say “again” to take it up again.';
  if (kase.state === 'with people') return 'People have this case now.';
  if (kase.stopped) return 'We stopped here. Write anything, and we go on.';
  if (kase.rest) return waitingWords(view);
  return view.corrected.closed
    ? 'The question comes anew, as the instructions have it now.'
    : 'Nothing is open just now.';
}

/** The wait that is on, and what is left of it. */
export function waitingWords({ kase, at }: View): string {
  if (!kase.rest) return '';
  const left = (kase.rest.due - at) / 60_000;
  return left > 0
    ? `We are waiting: ${kase.rest.reason}. ${minutesWords(left)} to go.`
    : `We were waiting: ${kase.rest.reason}. The time is over.`;
}

/** The appliance as somebody would find it: covers, charge, what was left changed. */
export function inTheRoom({ kase, tables, at, demonstration }: View): string[] {
  const { flow } = tables;
  const { world } = kase;
  const items: string[] = [];
  if (coversOff(kase) > 0) {
    const off = [...world.open.map((stage) => inline(nameOf(stage, flow))), ...world.lost.map(quoted)];
    items.push(`Open: ${listWords(off)}.`);
    if (world.lost.length > 0)
      items.push(
        `The instructions no longer name ${listWords(world.lost.map(quoted))}; take that as still off.`,
      );
    if (flow.energy.stores !== 'none') {
      items.push(
        proofHolds(kase, flow, at, demonstration)
          ? energyWords[flow.energy.stores].proven
          : energyWords[flow.energy.stores].unproven,
      );
    }
  } else items.push('All covers are on.');
  if (world.readings.length > 0 && flow.energy.stores === 'capacitors') {
    const read = world.readings.map((reading) => inline(pointWords(reading, flow)));
    items.push(`Measured so far, the proof not finished: ${read.join('; ')}.`);
  }
  if (world.altered) {
    const known = flow.checks.some((check) => check.id === world.altered);
    const restore = known ? restoring(world.altered, flow) : undefined;
    items.push(
      `Left changed by “${nameOf(world.altered, flow)}”: put it back before it is used.${restore ? ` ${restore}` : ''}`,
    );
  }
  return items;
}

/** A reading of the proof of discharge, or a point that was only looked at. */
export function pointWords({ point, value }: { point: string; value: number }, flow: Flow): string {
  switch (flow.energy.stores) {
    case 'none':
      return point;
    case 'capacitors': {
      const name = flow.energy.points.find((one) => one.id === point)?.name;
      if (point === 'known-source-before') return `Battery before: ${value} V`;
      if (point === 'known-source-after') return `Battery after: ${value} V`;
      return `${name ?? readable(point)}: ${value} V`;
    }
    default:
      return `Done: ${inline(flow.energy.proof.find((one) => one.id === point)?.name ?? point)}`;
  }
}

/** Every answer of the case in words, in order. */
export function answersShown(kase: Case, flow: Flow): { seq: number; words: string }[] {
  return kase.answers.map((answer) => ({ seq: answer.seq, words: answerWords(answer, flow) }));
}

export function answerWords(answer: Answer, flow: Flow): string {
  switch (answer.kind) {
    case 'complaint-stated':
      return `Complaint: ${complaintWords(answer.complaint, flow)}`;
    case 'detail-stated': {
      const detail = flow.details.find((d) => d.id === answer.detail);
      const choice = detail?.choices.find((c) => c.id === answer.choice)?.label;
      return `${detail?.ask ?? `About the appliance, ${quoted(answer.detail)}:`} ${choice ?? readable(answer.choice)}`;
    }
    case 'level-stated':
      return answer.stated === 'new' ? 'Not used to working inside' : 'Has worked inside unplugged things';
    case 'safety-tested':
      return testWords(answer);
    case 'meter-stated':
      return answer.has ? 'Has a multimeter' : 'Cannot measure volts here';
    case 'answered': {
      const check = flow.checks.find((step) => step.id === answer.step);
      const label = (check?.outcomes ?? check?.reading?.bands ?? []).find(
        (o) => o.id === answer.outcome,
      )?.label;
      return `${checkName(answer.step, flow)}: ${label ?? readable(answer.outcome)}`;
    }
    case 'read': {
      const unit = flow.checks.find((step) => step.id === answer.step)?.reading?.unit ?? '';
      return `${checkName(answer.step, flow)}: ${answer.value} ${unit}`.trim();
    }
    case 'set-aside': {
      const reasons = {
        unsure: 'not sure',
        cannot: 'could not be done',
        'too-dear': 'too dear',
        'not-found': 'the right one was not found',
        'wrong-part': 'the wrong one came',
      };
      const bought = answer.why !== 'unsure' && answer.why !== 'cannot';
      const name = bought ? partName(answer.step, flow) : called(answer.step, flow);
      return name.endsWith('?')
        ? `${name} ${sentence(reasons[answer.why])}`
        : `${name}: ${reasons[answer.why]}`;
    }
    case 'part-ordered':
      return `Part ordered: ${partName(answer.step, flow)}`;
    case 'part-arrived':
      return `Part is here: ${partName(answer.step, flow)}`;
    case 'remedy-done':
      return `Done: ${called(answer.step, flow)}`;
    case 'tested': {
      const results = { works: 'it works', no: 'no change', different: 'different, but not right' };
      const after = answer.remedies.map((id) => `“${nameOf(id, flow)}”`);
      return `Tried${after.length > 0 ? ` after ${after.join(' and ')}` : ''}: ${results[answer.result]}`;
    }
  }
}

/** What the flow no longer has is called by its id. */
const checkName = (id: string, flow: Flow): string =>
  flow.checks.find((step) => step.id === id)?.name ?? `Check ${quoted(id)}`;

const complaintWords = (id: string, flow: Flow): string =>
  id === 'other' ? 'something else' : (flow.complaints.find((c) => c.id === id)?.label ?? quoted(id));
