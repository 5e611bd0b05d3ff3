import type { Event } from '../../shared/case.ts';
import type { Level, Tier } from '../../shared/flow.ts';
import type { HandoverReason, Outbound } from '../../shared/outbound.ts';
import { jobCard } from './card.ts';
import { stepDemand } from './demand.ts';
import { nameOf, suspects } from './explain.ts';
import { missed } from './infer.ts';
import type { View } from './next.ts';
import { forbidden, type Refusal } from './safety.ts';
import { chanceWords, listWords, stillOpen } from './wording.ts';

/** How a case leaves the bot: to people, or settled, each with its job card. */

/** The fault that the remedies just tried have most likely mended. */
export function fixed(view: View): string | null {
  const { kase, tables } = view;
  const last = kase.answers.at(-1);
  const remedies = last?.kind === 'tested' ? last.remedies : [];
  const miss = missed(tables, remedies);
  const belief = suspects(view);
  let best: string | null = null;
  let most = 0;
  for (const { fault, share } of belief) {
    // The floor keeps a fault that no remedy is said to cure from being ruled out altogether.
    const weight = share * Math.max(1 - (miss[tables.faults.indexOf(fault)] as number), tables.floor);
    if (weight > most) {
      most = weight;
      best = fault;
    }
  }
  return best;
}

export function handoverMessage(view: View, event: Extract<Event, { kind: 'handed-over' }>): Outbound {
  const top = suspects(view)[0];
  const words = [reasonWords[event.reason]];
  if (event.next !== null) {
    const refusal = forbidden(stepDemand(view.tables.flow, event.next), view.kase, view.tables.flow)[0];
    words.push(`The next step would be: ${nameOf(event.next, view.tables.flow)}.`);
    if (refusal) words.push(refusalWords(refusal));
  }
  if (view.kase.world.open.length > 0) words.push(stillOpen);
  words.push(
    `Who can help: ${listWords(
      view.settings.community.people.map((p) => p.name),
      'or',
    )}. The job card below tells them everything.`,
  );
  return {
    kind: 'handover',
    reason: event.reason,
    danger: event.danger,
    words: words.join(' '),
    ...(event.next === null ? {} : { next: event.next }),
    ...(top ? { fault: top.fault, belief: Math.round(top.share * 1000) / 1000 } : {}),
    card: jobCard(view, event.next),
  };
}

const reasonWords: Readonly<Record<HandoverReason, string>> = {
  asked: 'I pass this on to people.',
  'red-flag': 'Everything stops here. From now on people decide, not I.',
  refused: 'From here it is not safe for me to let you go on alone.',
  'stopped-paying': 'From here it is cheaper to let somebody look at it who can see it.',
  'fits-nothing': 'What you found fits nothing that I know well. Somebody should see it.',
  stuck: 'We are stuck, and that is not your fault. Somebody should see it.',
};

const tierWords: Readonly<Record<Tier, string>> = {
  outside: 'from outside',
  cold: 'inside, unplugged and proven discharged',
  live: 'inside with power on',
};
const levelWords: Readonly<Record<Level, string>> = {
  new: 'anybody',
  handy: 'somebody used to opening mains things, with a meter',
  trained: 'a trained mender or a licensed professional',
};

/** What stands in the way, and who can do it. */
export function refusalWords(refusal: Refusal): string {
  switch (refusal.why) {
    case 'tier':
      return `That is work ${tierWords[refusal.needs]}; it is for ${levelWords[refusal.needs === 'live' ? 'trained' : 'handy']}.`;
    case 'skill':
      return `That takes more practice; it is for ${levelWords[refusal.needs]}.`;
    case 'limit':
      return refusal.limit.why;
    case 'unknown-limit':
      return 'As long as nobody knows what kind it is, it stays closed.';
    case 'no-meter':
      return 'Without a multimeter nobody can tell whether it still holds a charge, so it stays closed.';
    case 'flagged':
      return 'A sign of danger is open.';
    case 'plugged-in':
    case 'wait':
    case 'shut':
    case 'open':
    case 'no-proof':
    case 'no-live-terms':
      return 'It is not prepared for that.';
    default:
      return refusal satisfies never;
  }
}

export function settleMessage(view: View, event: Extract<Event, { kind: 'settled' }>): Outbound[] {
  const { kase, tables } = view;
  const { flow } = tables;
  const belief = suspects(view);
  const fault = event.fault ?? belief[0]?.fault ?? null;
  const named = flow.faults.find((f) => f.id === fault);
  const share = belief.find((suspect) => suspect.fault === fault)?.share ?? null;
  const last = kase.answers.at(-1);
  const remedies = last?.kind === 'tested' && last.result === 'works' ? last.remedies : [];
  const afterwards = remedies.flatMap((id) => flow.remedies.find((r) => r.id === id)?.afterwards ?? []);
  const openedBefore = kase.answers.some(
    (answer) =>
      'step' in answer &&
      [...flow.checks, ...flow.remedies].some((s) => s.id === answer.step && s.access !== 'outside'),
  );
  const words = {
    Fixed: `Well done, it works again.${named ? ` Most likely it was: ${named.name}.` : ''}`,
    Repairable: `It can be repaired.${named ? ` Most likely it is: ${named.name}. ${named.mends}` : ''}`,
    'End of life':
      `Then it goes to recycling: a collection point for electrical things takes it. ${named && share !== null ? `Most likely it was: ${named.name} (${chanceWords(share)}).` : ''}`.trim(),
    Unknown: 'The case is closed.',
  }[event.outcome];
  const closing =
    event.outcome === 'Fixed' && openedBefore && flow.closing.length > 0
      ? [
          {
            kind: 'say' as const,
            words: 'It was open, so before it goes back into use:',
            list: [...flow.closing],
          },
        ]
      : [];
  const lasting =
    event.outcome === 'Fixed' && afterwards.length > 0
      ? [{ kind: 'say' as const, words: 'So that it lasts:', list: afterwards }]
      : [];
  return [
    ...closing,
    ...lasting,
    {
      kind: 'settle',
      outcome: event.outcome,
      fault,
      belief: share === null ? null : Math.round(share * 1000) / 1000,
      ...(event.barrier ? { barrier: event.barrier } : {}),
      words,
      card: jobCard(view, null),
    },
  ];
}
