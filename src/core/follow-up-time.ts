import type { Case, Unnumbered } from '../../shared/case.ts';
import type { Community } from '../../shared/community.ts';
import type { Outbound } from '../../shared/outbound.ts';
import { askMessage, titleOf } from './ask.ts';
import { figures } from './explain.ts';
import { civilFor, isCivilFor, orderOf, subjectOf, timersOf } from './follow-up.ts';
import { refusal } from './follow-up-answer.ts';
import { hourWords, prefaceWords, stillOpenWords, unclearHour } from './follow-up-words.ts';
import type { View } from './next.ts';
import { gate } from './safety.ts';
import { say, type Turn, turn, type Who } from './turn.ts';
import { aboutAsking } from './words/asking-hour.ts';

/** It is time to ask by itself, or somebody says when. */

/** The timer of what the desk asks after rang; null where it is another one. */
export function followUpRang(view: View, key: string, who: Who): Turn | null {
  const { kase, settings } = view;
  const { followUp } = kase;
  if (followUp === null || followUp.key !== key || followUp.due === null) return null;
  if (who.at < followUp.due) return turn([], reminder(kase, key, followUp.due));
  const { about, of } = followUp;
  // Late by so much that it is night by now: then in the morning.
  if (!isCivilFor(kase, settings.community, who.at)) return turn(moved(kase, settings.community, who));
  return turn([{ ...who, kind: 'follow-up-due', about, of }]);
}

/** What is said once it is time, and the open question again; a question that is still to be put comes after it. */
export function chasing(before: Case, view: View, of: string): Outbound[] {
  const { kase, tables, settings, at, demonstration } = view;
  const { question } = kase;
  const late = at - (before.followUp?.due ?? at);
  const preface = say(prefaceWords(kase, of, late));
  if (question === null) return [preface];
  const plan = question.kind === 'do' || question.kind === 'test' ? figures(view) : null;
  const ask = { ...askMessage(question, kase, tables.flow, settings, plan, []), number: kase.asked };
  // Whether a step inside was done can be told at any time; its instructions are not in it any more.
  const told = ask.phase === 'follow-up' && ask.how.length === 0;
  return told || gate(question, kase, tables.flow, at, demonstration) === null
    ? [preface, ask]
    : [say(stillOpenWords(titleOf(question, kase, tables.flow, settings)))];
}

/** A timer as a message. */
export function reminder({ rest }: Case, key: string, due: number): Outbound {
  return rest?.key === key
    ? { kind: 'remind', key, due, reason: rest.reason }
    : { kind: 'remind', key, due, reason: 'to ask how it went on', later: true };
}

/** The wait for a part, and what the desk asks after, at an hour that is civil; from `who.at` on where they are over. */
export function moved(kase: Case, community: Community, who: Who): Unnumbered[] {
  const { rest, followUp } = kase;
  const part = rest?.key.startsWith('part:') ? rest.key.slice('part:'.length) : null;
  return timersOf(kase).flatMap(({ key, due }): Unnumbered[] => {
    const subject =
      key === followUp?.key
        ? subjectOf(kase)
        : part !== null && key === rest?.key
          ? { about: 'part' as const, of: orderOf(kase, part) }
          : null;
    const then = civilFor(kase, community, Math.max(due, who.at));
    return subject === null || then === due
      ? []
      : [{ ...who, kind: 'follow-up-set', ...subject, key, due: then }];
  });
}

/** What is said about when to be asked, and that nobody wants to be; null where the words say something else. */
export function toldWhen(view: View, words: string, who: Who): Turn | null {
  const { kase, settings } = view;
  const about = kase.state === 'with people' ? null : aboutAsking(words);
  if (about === null) return null;
  if (about.kind === 'quiet') return refusal(kase, who);
  // What is asked after is the owner's, whoever has the appliance by now.
  if (who.by !== kase.asker) return null;
  if (about.kind === 'unclear') return turn([], say(unclearHour));
  const { community } = settings;
  const stated: Unnumbered = { ...who, kind: 'hour-stated', person: who.by, hour: about.hour };
  return turn(
    [stated, ...moved({ ...kase, hour: about.hour }, community, who)],
    say(hourWords(about.hour, community.time_zone)),
  );
}
