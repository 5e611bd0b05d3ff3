import type { Case, Unnumbered } from '../../shared/case.ts';
import type { Community } from '../../shared/community.ts';
import type { Level } from '../../shared/flow.ts';
import type { Aftermath } from '../../shared/outcome.ts';
import { civilFor, mayChase } from './follow-up.ts';
import { quietWords, thanks } from './follow-up-words.ts';
import { lastOf, pendingOf, reopened } from './history.ts';
import { say, type Turn, turn, type Who } from './turn.ts';

/** How it went on after the end, as events: what became of it, and that nobody wants to be asked. */

type Stamped = Who & { readonly level: Level };

export function followUpAnswer(kase: Case, result: Aftermath, stamped: Stamped, community: Community): Turn {
  const { level: _, ...who } = stamped;
  const of = `end:${kase.outcome?.at}`;
  const followed: Unnumbered = { ...who, kind: 'followed-up', of, result };
  const days = result === 'not-yet' && mayChase(kase, of) ? community.follow_up_days : null;
  return turn(
    result === 'back'
      ? [followed, ...takenUp(kase, who), ...notForGood(kase, stamped)]
      : [followed, ...(days === null ? [] : onceMore(kase, of, days, who, community))],
    say(thanks(result, days)),
  );
}

/** So many days from now, and not from when it was asked. */
function onceMore(kase: Case, of: string, days: number, who: Who, community: Community): Unnumbered[] {
  const { followUp } = kase;
  const due = civilFor(kase, community, who.at + days * day);
  return followUp === null || followUp.due === null || followUp.due === due
    ? []
    : [{ ...who, kind: 'follow-up-set', about: 'outcome', of, key: followUp.key, due }];
}

const day = 24 * 60 * 60_000;

/** A settled case goes on, in the way in which “again” takes it up. */
export const takenUp = (kase: Case, who: Who): Unnumbered[] => [
  { ...who, kind: 'taken-up-again' },
  ...reopened(kase, who),
];

/** What was done last has not worked in the long run, and counts as a test that says so. */
function notForGood(kase: Case, stamped: Stamped): Unnumbered[] {
  const last = lastOf(kase);
  const remedies = last?.kind === 'tested' && last.result === 'works' ? last.remedies : pendingOf(kase);
  return remedies.length === 0 ? [] : [{ ...stamped, kind: 'tested', result: 'no', remedies: [...remedies] }];
}

export const refusal = (kase: Case, who: Who): Turn =>
  turn(kase.quiet ? [] : [{ ...who, kind: 'follow-ups-refused' }], say(quietWords));
