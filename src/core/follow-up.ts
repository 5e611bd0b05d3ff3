import type { Case, Chased, Unnumbered } from '../../shared/case.ts';
import type { Community } from '../../shared/community.ts';
import { civil, type Hours, isCivil } from './civil-hour.ts';
import type { Who } from './turn.ts';

/** What the desk asks after by itself, and when: in the thread, at a civil hour, twice at most, and not once it was told not to. */

export interface Subject {
  readonly about: Chased;
  /** Names this one thing, so that it is asked after twice at most: the open question, the order of a part, the end. */
  readonly of: string;
}

/** Nobody is asked about one thing more often. */
export const mostTimes = 2;

const day = 24 * 60 * 60_000;
/** Days after a remedy or a test was put, and after it was asked for once more. */
const stepDays = [1, 3] as const;
/** Days until we ask about an ordered part, and again when it had not come. */
export const partDays = 5;
export const partAgainDays = 3;

/** What a case is asked after as it stands; null: nothing. */
export function subjectOf(kase: Case): Subject | null {
  const { state, question, outcome } = kase;
  if (kase.quiet || kase.stopped || kase.asker === '' || kase.alarm || kase.flags.length > 0) return null;
  if (state === 'settled') {
    if (outcome === null || (outcome.outcome !== 'Fixed' && outcome.outcome !== 'Repairable')) return null;
    const of = `end:${outcome.at}`;
    const told = kase.followed?.of === of && kase.followed.result !== 'not-yet';
    return told ? null : { about: 'outcome', of };
  }
  // A rest has a timer of its own.
  if (state !== 'asking' || kase.rest !== null || question === null) return null;
  if (question.kind === 'do' || question.kind === 'test') return { about: 'step', of: question.key };
  if (question.kind === 'arrival') return { about: 'part', of: orderOf(kase, question.step) };
  return null;
}

/** The latest order of a remedy's part. */
export function orderOf({ answers }: Pick<Case, 'answers'>, step: string): string {
  const order = answers.findLast((answer) => answer.kind === 'part-ordered' && answer.step === step);
  return `part:${order?.seq ?? step}`;
}

export const timesAsked = ({ chased }: Pick<Case, 'chased'>, of: string): number => chased[of] ?? 0;

/** The open question was asked after already, so that it also offers not to be asked again. */
export const wasChased = (kase: Case): boolean => {
  const { question } = kase;
  if (question === null || kase.quiet) return false;
  return timesAsked(kase, question.kind === 'arrival' ? orderOf(kase, question.step) : question.key) > 0;
};

/** Whether it may be asked after once more, by a timer. */
export const mayChase = (kase: Case, of: string): boolean => !kase.quiet && timesAsked(kase, of) < mostTimes;

/** The community's hours, or the one that the owner stated. */
const hoursFor = ({ hour }: Case, { follow_up_hours: usual }: Community): Hours =>
  hour === null ? usual : { from: hour, to: hour + 1 };

export const civilFor = (kase: Case, community: Community, due: number): number =>
  civil(due, community.time_zone, hoursFor(kase, community));

export const isCivilFor = (kase: Case, community: Community, at: number): boolean =>
  isCivil(at, community.time_zone, hoursFor(kase, community));

/** What is asked after fell due, and by now it is night, so that nothing at all is asked in its turn. */
export const ringsAtNight = (kase: Case, key: string, community: Community, at: number): boolean =>
  timersOf(kase).some((one) => one.key === key && one.due <= at) &&
  /^(?:after|part):/.test(key) &&
  !isCivilFor(kase, community, at);

/** The timer that the case lacks, as it stands at the end of a turn; null where none is due. */
export function followUpSet(kase: Case, community: Community, desk: Who): Unnumbered | null {
  const subject = subjectOf(kase);
  if (subject === null || (kase.followUp !== null && kase.followUp.due !== null)) return null;
  const times = timesAsked(kase, subject.of);
  if (times >= mostTimes) return null;
  const due = dueOf(kase, subject, times, community, desk.at);
  if (due === null) return null;
  const key = `after:${subject.of}:${times + 1}`;
  return { ...desk, kind: 'follow-up-set', ...subject, key, due: civilFor(kase, community, due) };
}

function dueOf(
  kase: Case,
  { about }: Subject,
  times: number,
  community: Community,
  at: number,
): number | null {
  switch (about) {
    case 'step':
      return at + (stepDays[times] ?? 0) * day;
    case 'part':
      return at + partAgainDays * day;
    case 'outcome': {
      const wait = community.follow_up_days * day;
      if (times > 0) return at + wait;
      const due = (kase.outcome?.at ?? at) + wait;
      // Nobody is asked about what ended long ago.
      return due < at ? null : due;
    }
    default:
      return about satisfies never;
  }
}

/** Every timer of a case: the wait that is on, and what the desk asks after. */
export function timersOf({ rest, followUp }: Case): { readonly key: string; readonly due: number }[] {
  return [
    ...(rest ? [{ key: rest.key, due: rest.due }] : []),
    ...(followUp !== null && followUp.due !== null ? [{ key: followUp.key, due: followUp.due }] : []),
  ];
}

/** Timers that a change took away; not the one that rang. */
export const timersGone = (before: Case, after: Case, rung: string | null = null): string[] => {
  const left = new Set(timersOf(after).map(({ key }) => key));
  return timersOf(before).flatMap(({ key }) => (left.has(key) || key === rung ? [] : [key]));
};
