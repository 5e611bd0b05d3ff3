import type { Case, Event } from '../../shared/case.ts';
import type { Bench, BenchAct, HandoverReason, Outbound } from '../../shared/outbound.ts';
import { jobCard } from './card.ts';
import { flagWords } from './flag-words.ts';
import type { View } from './next.ts';
import { isNoGuide } from './no-guide.ts';
import { personOf } from './safety.ts';
import { inline, listWords, sentence } from './wording.ts';

/** What menders see of a case in their channel: one message that follows it as long as people have it, and alerts beside it. */

/** What a turn changed on the menders' list. `before` is the case as the turn found it, `events` are the turn's. */
export function benchMessages(before: Case, view: View, events: readonly Event[]): Outbound[] {
  const { kase } = view;
  const messages = alerts(view, events);
  const was = before.state === 'with people' ? before.handover : null;
  const is = kase.state === 'with people' ? kase.handover : null;
  if (is) messages.push(entry(view, is));
  else if (was) messages.push(leftMessage(kase, was, titleOf(view)));
  return messages;
}

type Handover = NonNullable<Case['handover']>;

const keyOf = ({ at }: Handover): string => `bench:${at}`;

/** A case that people have, on one line and with its card. */
function entry(view: View, handover: Handover): Bench {
  const { kase } = view;
  return {
    kind: 'bench',
    key: keyOf(handover),
    state: handover.taken === null ? 'waiting' : 'taken',
    danger: dangerous(kase),
    title: titleOf(view),
    words: standingWords(kase),
    since: handover.at,
    card: jobCard(view, handover.next),
    acts: actsOf(view, handover),
  };
}

/** It is on the list no more; whoever looks at the old message sees where it went. */
export function leftMessage(kase: Case, handover: Handover, title: string): Bench {
  const outcome = kase.state === 'settled' ? kase.outcome?.outcome : undefined;
  return {
    kind: 'bench',
    key: keyOf(handover),
    state: 'left',
    danger: false,
    title,
    words: outcome === undefined ? 'With the bot again.' : `Settled: ${outcome}.`,
    since: handover.at,
    card: '',
    acts: [],
  };
}

/** Signs of danger that this turn made sure of, and a danger button that was pressed. */
function alerts(view: View, events: readonly Event[]): Outbound[] {
  const { kase } = view;
  return events.flatMap((event): Outbound[] => {
    const what =
      event.kind === 'flagged' && event.sure
        ? `${sentence(flagWords[event.flag].name)}.`
        : event.kind === 'alarmed'
          ? 'The danger button was pressed. It is asked what happened.'
          : null;
    if (what === null) return [];
    return [
      {
        kind: 'bench',
        key: `alert:${event.seq}`,
        state: 'alert',
        danger: true,
        title: titleOf(view),
        words: `${what} ${askerWords(kase)}`.trim(),
        since: event.at,
        card: '',
        acts: [],
      },
    ];
  });
}

export const dangerous = (kase: Case): boolean => kase.flags.some((flag) => flag.sure) || kase.alarm;

/** The appliance and the complaint. */
export function titleOf({ kase, tables: { flow } }: View): string {
  const stated = kase.answers.findLast((answer) => answer.kind === 'complaint-stated');
  const complaint =
    stated?.kind === 'complaint-stated'
      ? flow.complaints.find(({ id }) => id === stated.complaint)?.label
      : undefined;
  return complaint === undefined ? flow.title : `${flow.title}: ${inline(complaint)}`;
}

const reasons: Readonly<Record<HandoverReason, string>> = {
  asked: 'Asked for a person.',
  'red-flag': 'A sign of danger.',
  refused: 'The next step is not safe for whoever has it.',
  'stopped-paying': 'Going on alone costs more than letting somebody look at it.',
  'fits-nothing': 'What was found fits nothing that the guide knows.',
  'failed-test': 'It works, and has failed its electrical test.',
  stuck: 'Stuck: several steps in a row could not be done.',
  'no-guide': 'Its guide is no longer here.',
  undelivered: 'A message could not be delivered.',
};

/** Why people have it, since which signs, and who of them. */
export function standingWords(kase: Case): string {
  const { handover } = kase;
  if (!handover) return '';
  const signs = kase.flags.filter(({ sure }) => sure).map(({ flag }) => flagWords[flag].name);
  const taken = handover.taken === null ? null : personOf(kase, handover.taken)?.name || 'a mender';
  return [
    reasons[handover.reason],
    ...(signs.length > 0 ? [`Danger: ${listWords(signs)}.`] : []),
    askerWords(kase),
    taken === null ? 'Nobody has taken it on yet.' : `Taken on by ${taken}.`,
  ]
    .filter((words) => words !== '')
    .join(' ');
}

function askerWords(kase: Case): string {
  const name = personOf(kase, kase.asker)?.name;
  return name ? `Owner: ${name}.` : '';
}

function actsOf({ kase, tables, settings }: View, handover: Handover): BenchAct[] {
  const stopped = kase.flags.some((flag) => flag.sure);
  return [
    'card',
    'print',
    ...(settings.earlier ? (['similar'] as const) : []),
    ...(handover.taken === null ? (['take', 'take-here'] as const) : []),
    'advise',
    ...(isNoGuide(tables.flow) ? [] : (['result'] as const)),
    ...(kase.answers.some((answer) => answer.kind === 'answered' || answer.kind === 'read')
      ? (['correct'] as const)
      : []),
    ...(tables.flow.mains && tables.flow.protection ? (['safety'] as const) : []),
    ...(kase.flags.length > 0 ? (['unflag'] as const) : (['clear'] as const)),
    ...(stopped || isNoGuide(tables.flow) ? [] : (['back'] as const)),
    'settle',
  ];
}
