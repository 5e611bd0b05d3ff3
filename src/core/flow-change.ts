import type { Answer, Case, Event, Question, Unnumbered } from '../../shared/case.ts';
import type { Flow } from '../../shared/flow.ts';
import type { Outbound } from '../../shared/outbound.ts';
import { proofPoints, titleOf } from './ask.ts';
import { answerWords } from './explain.ts';
import { isNoGuide } from './no-guide.ts';
import { isInside, powers } from './power.ts';
import type { Settings } from './settings.ts';
import { say, type Who } from './turn.ts';
import { listWords, quoted } from './wording.ts';

/**
 * A flow's file may be corrected while a case is on, or go. What was answered stays, as far as the flow still asks it;
 * what was proven counts no more, since the corrected flow may ask for another proof. A settled case is the past, and is
 * left as it is until it is taken up again.
 */

type FlowChanged = Extract<Event, { kind: 'flow-changed' }>;

/**
 * What has to happen to a case before anything else, because the flow is not the one it follows, or has other numbers;
 * mostly nothing. Other numbers change what is asked next, and nothing that was answered or proven.
 */
export function flowEvents(kase: Case, flow: Flow, desk: Who, numbers = 'file'): Unnumbered[] {
  if (kase.flow === null || kase.state === 'settled') return [];
  if (isNoGuide(flow)) {
    const danger = kase.flags.some((flag) => flag.sure);
    return kase.state === 'with people'
      ? []
      : [{ ...desk, kind: 'handed-over', reason: 'no-guide', danger, next: null }];
  }
  const off = [...kase.world.open, ...kase.world.lost];
  const change = {
    flow: flow.flow,
    version: flow.version,
    ...lostIn(kase.answers, flow),
    open: flow.access.map(({ id }) => id).filter((id) => off.includes(id)),
    ended: kase.rest !== null && !knowsRest(flow, kase.rest.key),
  };
  // Somebody may correct a flow and forget to raise its number.
  const touched =
    change.dropped.length > 0 ||
    change.gone.length > 0 ||
    change.ended ||
    change.open.length !== kase.world.open.length ||
    change.open.some((id) => !kase.world.open.includes(id)) ||
    (kase.question !== null && !knowsQuestion(flow, kase.question));
  return [
    ...(touched || kase.follows !== flow.version
      ? [{ ...desk, kind: 'flow-changed' as const, ...change }]
      : []),
    ...(kase.numbers === numbers ? [] : [{ ...desk, kind: 'numbers-taken' as const, numbers }]),
  ];
}

interface Lost {
  readonly dropped: number[];
  readonly gone: string[];
}

/** By the answers and the flow, neither of which ever changes; a cache of a pure function. */
const known = new WeakMap<readonly Answer[], Lost & { readonly flow: Flow }>();

function lostIn(answers: readonly Answer[], flow: Flow): Lost {
  let lost = known.get(answers);
  if (lost?.flow !== flow) {
    const tried = answers.flatMap((answer) => (answer.kind === 'tested' ? answer.remedies : []));
    lost = {
      flow,
      dropped: answers.filter((answer) => !knowsAnswer(flow, answer)).map(({ seq }) => seq),
      gone: [...new Set(tried)].filter((id) => !has(flow.remedies, id)),
    };
    known.set(answers, lost);
  }
  return { dropped: lost.dropped, gone: lost.gone };
}

const has = (list: readonly { readonly id: string }[], id: string): boolean =>
  list.some((one) => one.id === id);
const hasPart = (flow: Flow, id: string): boolean =>
  flow.remedies.some((remedy) => remedy.id === id && remedy.part !== undefined);

function knowsAnswer(flow: Flow, answer: Answer): boolean {
  const check = 'step' in answer ? flow.checks.find((one) => one.id === answer.step) : undefined;
  switch (answer.kind) {
    case 'complaint-stated':
      return answer.complaint === 'other' || has(flow.complaints, answer.complaint);
    case 'detail-stated':
      return flow.details.some((one) => one.id === answer.detail && has(one.choices, answer.choice));
    case 'answered':
      return has(check?.outcomes ?? check?.reading?.bands ?? [], answer.outcome);
    case 'read':
      return check?.reading !== undefined;
    case 'set-aside':
      return answer.why === 'unsure' || answer.why === 'cannot'
        ? knowsStep(flow, answer.step)
        : hasPart(flow, answer.step);
    case 'part-ordered':
    case 'part-arrived':
      return hasPart(flow, answer.step);
    case 'remedy-done':
      return has(flow.remedies, answer.step);
    // What a person is and has, and whether it worked, is not the flow's; remedies that are gone are taken out of a test.
    case 'level-stated':
    case 'meter-stated':
    case 'tested':
    case 'safety-tested':
      return true;
    default:
      return answer satisfies never;
  }
}

/** Whatever can be put aside: a step, a detail, a cover; and what every flow has. */
const knowsStep = (flow: Flow, id: string): boolean =>
  ['level', 'meter', 'outside'].includes(id) ||
  [flow.checks, flow.remedies, flow.details, flow.access].some((list) => has(list, id));

/** The same question, doing the same to the appliance. */
function knowsQuestion(flow: Flow, question: Question): boolean {
  return (
    names(flow, question) &&
    powers(flow, question) === question.power &&
    isInside(flow, question) === question.inside
  );
}

function names(flow: Flow, { kind, step, offered = [] }: Question): boolean {
  switch (kind) {
    case 'complaint':
      return offered.every((id) => has(flow.complaints, id));
    case 'detail':
      return has(flow.details, step);
    case 'check':
    case 'live':
      return has(flow.checks, step);
    case 'do':
      return has(flow.remedies, step);
    case 'part':
    case 'arrival':
      return hasPart(flow, step);
    case 'open':
      return has(flow.access, step);
    case 'prove':
      return proofPoints(flow).includes(step);
    case 'appliance':
    case 'level':
    case 'meter':
    case 'unplug':
    case 'wait':
    case 'shut':
    case 'test':
    case 'flag':
    case 'replace':
    case 'follow-up':
      return true;
    case 'closing':
      return flow.protection !== undefined;
    default:
      return kind satisfies never;
  }
}

function knowsRest(flow: Flow, key: string): boolean {
  const [kind, step = ''] = key.split(':');
  return kind === 'part' ? hasPart(flow, step) : kind === 'wait' ? has(flow.remedies, step) : true;
}

/** The question that a correction closes; what is asked about danger is not the flow's, and stays. */
export const closedBy = (before: Case): Question | null =>
  before.question !== null && before.question.kind !== 'flag' ? before.question : null;

/** What is said of a correction; nothing where it makes no difference to the person. */
export function flowChangeWords(
  before: Case,
  event: FlowChanged,
  flow: Flow,
  settings: Settings,
): Outbound[] {
  const { world } = before;
  const closed = closedBy(before);
  const dropped = before.answers.filter(({ seq }) => event.dropped.includes(seq));
  const lost = world.open.filter((stage) => !event.open.includes(stage));
  const altered = world.altered !== null && !has(flow.checks, world.altered) ? world.altered : null;
  const nothing = dropped.length + lost.length === 0 && altered === null && !event.ended && closed === null;
  if (nothing) return [];

  const words = [
    before.version === event.version
      ? 'The instructions for this appliance were corrected meanwhile.'
      : `The instructions for this appliance were corrected since we began (version ${before.version}, now ${event.version}).`,
  ];
  if (lost.length > 0) {
    words.push(
      `They no longer name something that was open: ${listWords(lost.map(quoted))}. Take that as still off, and still charged, until you tell me that everything is closed: leave the plug out, and let nobody reach in.`,
    );
  } else if (world.proof !== null || world.readings.length > 0) {
    words.push('To be safe, what was measured before counts as charged again.');
  }
  if (altered !== null)
    words.push(`What was changed for ${quoted(altered)} may still be changed: put it back as it was.`);
  if (event.ended) words.push('What we were waiting for is no longer part of them, so we wait no longer.');
  words.push(
    dropped.length > 0
      ? 'What you told me still counts, except for these, which they no longer have:'
      : 'What you told me still counts.',
  );
  return [
    ...(closed
      ? [
          {
            kind: 'amend' as const,
            key: closed.key,
            number: before.asked,
            title: titleOf(closed, before, flow, settings),
            words: 'Not asked any more: the instructions changed.',
          },
        ]
      : []),
    say(words.join(' '), [...new Set(dropped.map((answer) => answerWords(answer, flow)))]),
  ];
}
