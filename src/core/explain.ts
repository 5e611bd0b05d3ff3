import type { Answer, Case } from '../../shared/case.ts';
import type { Flow } from '../../shared/flow.ts';
import type { Outbound, PlanFigures } from '../../shared/outbound.ts';
import { stopPeople } from './compile.ts';
import { believe, evidence } from './infer.ts';
import type { View } from './next.ts';
import type { Choice } from './plan/problem.ts';
import { say } from './turn.ts';
import { chanceWords, inline, listWords, minutesWords, moneyWords } from './wording.ts';

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

/** "Why this?": what it tells apart, what follows each answer, and what is still to be expected. */
export function why(view: View): Outbound {
  const { tables, kase, settings } = view;
  const { flow } = tables;
  const { plan, compiled } = view.plan();
  const { question } = kase;
  const id = plan.choice.kind === 'step' ? (compiled.steps[plan.choice.step] as string) : null;
  const check = flow.checks.find((step) => step.id === id);
  const remedy = flow.remedies.find((step) => step.id === id);
  const detail = question?.kind === 'detail' ? flow.details.find((d) => d.id === question.step) : undefined;

  const first =
    detail?.why ?? safetyReason(view) ?? check?.why ?? remedy?.why ?? 'It is the cheapest next step.';
  const list: string[] = [];
  const step = check ?? remedy;
  if (step && question && question.step !== step.id) list.push(`This prepares: ${step.name}.`);
  if (check) {
    for (const branch of plan.after) {
      if (branch.probability < 0.005) continue;
      const label = (check.outcomes ?? check.reading?.bands ?? [])[branch.outcome]?.label ?? '';
      const then = branch.next ? `; then ${choiceWords(branch.next, compiled.steps, flow)}` : '';
      list.push(
        `“${label}” (${chanceWords(branch.probability)})${topAfter(view, branch.outcome, check.id)}${then}.`,
      );
    }
  }
  if (remedy) {
    const cure = cureChance(view, remedy.id);
    list.push(`Chance that this alone cures it: ${chanceWords(cure)}. It mends: ${mends(view, remedy.id)}.`);
  }
  const { community } = settings;
  list.push(
    `Still to expect from here: ${minutesWords(plan.minutes)} of work, ${minutesWords(plan.wait)} of waiting, about ${moneyWords(plan.money, community)} for parts or people. Chance that you get it working yourself: ${chanceWords(plan.chance)}.`,
  );
  return say(first, list);
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
  ];
  const names: string[] = [];
  for (const choice of likely) {
    const id = choice?.kind === 'step' ? (compiled.steps[choice.step] ?? '') : '';
    const step = flow.checks.find((one) => one.id === id) ?? flow.remedies.find((one) => one.id === id);
    if (!step || step.access === 'outside' || id === question || names.includes(step.name)) continue;
    names.push(step.name);
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

/** Why something has to come before the step itself. */
function safetyReason(view: View): string | null {
  switch (view.kase.question?.kind) {
    case 'level':
    case 'meter':
    case 'unplug':
    case 'wait':
    case 'prove':
      return 'Capacitors inside keep their charge after the plug is out, sometimes for many minutes. Waiting alone proves nothing; a meter that was seen to work, before and after, does.';
    case 'open':
      return 'The next useful step is behind this cover.';
    case 'shut':
      return 'With power, parts inside are live. So it is closed first.';
    case 'live':
      return 'Measuring with power on is the most dangerous step here, so each point is asked every time.';
    case 'flag':
      return 'If this happened, nothing else matters until it is safe.';
    case 'complaint':
      return 'What it does, and what it still does, points to the part that failed.';
    case 'part':
      return 'Boards that look the same often are not. The numbers on the part itself decide, not the model on the box.';
    default:
      return null;
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
  flow.remedies.find((step) => step.id === remedy)?.part?.name ?? nameOf(remedy, flow);

export const nameOf = (id: string, flow: Flow): string =>
  flow.checks.find((step) => step.id === id)?.name ??
  flow.remedies.find((step) => step.id === id)?.name ??
  flow.details.find((detail) => detail.id === id)?.ask ??
  flow.access.find((access) => access.id === id)?.name ??
  id;

/** "Where are we?": the answers so far, numbered so that one can be changed, and who is suspected. */
export function where(view: View): Outbound[] {
  const { kase, tables } = view;
  const list = answersShown(kase, tables.flow).map(({ words }) => words);
  const top = suspects(view).slice(0, 5);
  const bars = top.map(({ name, share }) => `${name} ${chanceWords(share)}`);
  return [
    list.length === 0
      ? say('We are at the beginning. Nothing was answered yet.')
      : { kind: 'say', words: 'What we know so far (“change 2” asks number 2 again):', list, numbered: true },
    {
      kind: 'show',
      picture: {
        flow: tables.flow.flow,
        suspects: top,
        marks: tables.flow.faults.find((fault) => fault.id === top[0]?.fault)?.marks ?? [],
      },
      alt: `Likely causes now: ${bars.join(', ')}.`,
    },
  ];
}

/** Every answer of the case in words, in order. */
export function answersShown(kase: Case, flow: Flow): { seq: number; words: string }[] {
  return kase.answers.map((answer) => ({ seq: answer.seq, words: answerWords(answer, flow) }));
}

export function answerWords(answer: Answer, flow: Flow): string {
  switch (answer.kind) {
    case 'complaint-stated':
      return `Complaint: ${flow.complaints.find((c) => c.id === answer.complaint)?.label ?? 'something else'}`;
    case 'detail-stated': {
      const detail = flow.details.find((d) => d.id === answer.detail);
      return `${detail?.ask ?? answer.detail} ${detail?.choices.find((c) => c.id === answer.choice)?.label ?? answer.choice}`;
    }
    case 'level-stated':
      return answer.stated === 'new' ? 'Not used to working inside' : 'Has worked inside unplugged things';
    case 'meter-stated':
      return answer.has ? 'Has a multimeter' : 'No multimeter';
    case 'answered': {
      const check = flow.checks.find((step) => step.id === answer.step);
      const label = (check?.outcomes ?? check?.reading?.bands ?? []).find(
        (o) => o.id === answer.outcome,
      )?.label;
      return `${check?.name ?? answer.step}: ${label ?? answer.outcome}`;
    }
    case 'read': {
      const unit = flow.checks.find((step) => step.id === answer.step)?.reading?.unit ?? '';
      return `${nameOf(answer.step, flow)}: ${answer.value} ${unit}`;
    }
    case 'set-aside': {
      const reasons = {
        unsure: 'not sure',
        cannot: 'could not be done',
        'too-dear': 'the part is too dear',
        'not-found': 'the part was not found',
        'wrong-part': 'the wrong part came',
      };
      return `${nameOf(answer.step, flow)}: ${reasons[answer.why]}`;
    }
    case 'part-ordered':
      return `Part ordered: ${partName(answer.step, flow)}`;
    case 'part-arrived':
      return `Part is here: ${partName(answer.step, flow)}`;
    case 'remedy-done':
      return `Done: ${nameOf(answer.step, flow)}`;
    case 'tested': {
      const results = { works: 'it works', no: 'no change', different: 'different, but not right' };
      return `Tried after “${answer.remedies.map((id) => nameOf(id, flow)).join('” and “')}”: ${results[answer.result]}`;
    }
  }
}
