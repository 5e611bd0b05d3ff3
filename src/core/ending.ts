import type { Event } from '../../shared/case.ts';
import type { Level, Tier } from '../../shared/flow.ts';
import type { HandoverReason, Outbound } from '../../shared/outbound.ts';
import { jobCard } from './card.ts';
import { wasOpen } from './closing.ts';
import { stepDemand } from './demand.ts';
import { nameOf, type Suspect, suspects } from './explain.ts';
import { lastOf } from './history.ts';
import { missed } from './infer.ts';
import type { View } from './next.ts';
import { coversOff, forbidden, type Refusal } from './safety.ts';
import { chanceWords, inline, listWords, stillOpen } from './wording.ts';

/** How a case leaves the bot: to people, or settled, each with its job card. */

/** The fault that the remedies just tried have most likely mended. */
export const fixed = (view: View): string | null => afterwards(view)[0]?.fault ?? null;

/** The suspects once the last test is counted: that it works now speaks for what the remedies cure. Shares sum to 1. */
function afterwards(view: View): Suspect[] {
  const { kase, tables } = view;
  const last = lastOf(kase);
  const works = last?.kind === 'tested' && last.result === 'works';
  if (!works) return suspects(view);
  const miss = missed(tables, last.remedies);
  const weighed = suspects(view).map((one) => ({
    ...one,
    // The floor keeps a fault that no remedy is said to cure from being ruled out altogether.
    share: one.share * Math.max(1 - (miss[tables.faults.indexOf(one.fault)] as number), tables.floor),
  }));
  const total = weighed.reduce((sum, { share }) => sum + share, 0);
  return weighed
    .map((one) => ({ ...one, share: one.share / total }))
    .sort((x, y) => y.share - x.share || (x.fault < y.fault ? -1 : 1));
}

export function handoverMessage(view: View, event: Extract<Event, { kind: 'handed-over' }>): Outbound {
  const top = suspects(view)[0];
  const words = [reasonWords[event.reason]];
  if (event.next !== null) {
    const refusals = forbidden(stepDemand(view.tables.flow, event.next), view.kase, view.tables.flow);
    words.push(`The next step would be: ${nameOf(event.next, view.tables.flow)}.`);
    words.push(...standsInTheWay(refusals));
  }
  if (coversOff(view.kase) > 0) words.push(stillOpen);
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

/** Who may not go inside at all is told who may, and not what else would be missing there. */
function standsInTheWay(refusals: readonly Refusal[]): readonly string[] {
  const tier = refusals.find((one) => one.why === 'tier');
  const skill = refusals.find((one) => one.why === 'skill');
  if (!tier) return [...new Set(refusals.map(refusalWords))];
  const least = skill?.needs ?? (tier.needs === 'live' ? 'trained' : 'handy');
  return [`That is work ${tierWords[tier.needs]}; it is for ${levelWords[least]}.`];
}

const reasonWords: Readonly<Record<HandoverReason, string>> = {
  asked: 'From here people take over.',
  'red-flag': 'Everything stops here. From now on people decide, not I.',
  refused: 'From here it is not safe for me to let you go on alone.',
  'stopped-paying': 'From here it is cheaper to let somebody look at it who can see it.',
  'fits-nothing': 'What you found fits nothing that I know well. Somebody should see it.',
  'failed-test':
    'It works, but it has failed its electrical test, so it is not safe. It does not go home in use: leave the plug out.',
  stuck: 'We are stuck, and that is not your fault. Somebody should see it.',
  'no-guide':
    'The guide for this appliance is no longer here, so I cannot go on. What you told me is kept, and people take over.',
  undelivered:
    'A message from me could not be delivered, so I do not know what you have read. Somebody looks after it, so that nothing gets lost.',
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
      return 'Without a multimeter nobody can tell whether it still holds a charge, so nobody reaches in.';
    case 'flagged':
      return 'A sign of danger is open.';
    case 'unsafe':
      return `${refusal.words} Leave it unplugged until somebody has put that right.`;
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

const safetyWords = {
  passed: ' It has passed its electrical test.',
  'not done':
    ' It is fixed, but not tested: nobody has measured whether it is safe. Have it tested before it goes back into use.',
  none: '',
} as const;

export function settleMessage(view: View, event: Extract<Event, { kind: 'settled' }>): Outbound[] {
  const { kase, tables } = view;
  const { flow } = tables;
  const belief = event.outcome === 'Fixed' ? afterwards(view) : suspects(view);
  const fault = event.fault ?? belief[0]?.fault ?? null;
  const named = flow.faults.find((f) => f.id === fault);
  const share = belief.find((suspect) => suspect.fault === fault)?.share ?? null;
  const last = lastOf(kase);
  const remedies = last?.kind === 'tested' && last.result === 'works' ? last.remedies : [];
  const lasts = remedies.flatMap((id) => flow.remedies.find((r) => r.id === id)?.afterwards ?? []);
  const words = {
    Fixed: `Well done, it works again.${named ? ` Most likely it was: ${inline(named.name)}.` : ''}${safetyWords[event.safety ?? 'none']}`,
    Repairable: `It can be repaired.${named ? ` Most likely it is: ${inline(named.name)}. ${named.mends}` : ''}`,
    'End of life':
      `Then it goes to recycling: a collection point for electrical things takes it. ${named && share !== null ? `Most likely it was: ${inline(named.name)} (${chanceWords(share)}).` : ''}`.trim(),
    Unknown: 'The case is closed.',
  }[event.outcome];
  const closing =
    event.outcome === 'Fixed' && wasOpen(kase, flow) && event.safety !== 'passed' && flow.closing.length > 0
      ? [
          {
            kind: 'say' as const,
            words: 'It was open, so before it goes back into use:',
            list: [...flow.closing],
          },
        ]
      : [];
  const lasting =
    event.outcome === 'Fixed' && lasts.length > 0
      ? [{ kind: 'say' as const, words: 'So that it lasts:', list: lasts }]
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
