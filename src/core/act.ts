import type { SafetyTest, Unnumbered } from '../../shared/case.ts';
import type { Flow } from '../../shared/flow.ts';
import type { Act } from '../../shared/inbound.ts';
import { Barrier } from '../../shared/outcome.ts';
import type { Role } from '../../shared/person.ts';
import { answererLevel } from './answer.ts';
import { closingOf, safetyOf } from './closing.ts';
import { closingLines } from './closing-words.ts';
import { earlierLines } from './earlier-words.ts';
import { nameOf } from './explain.ts';
import { reopened } from './history.ts';
import type { View } from './next.ts';
import { isNoGuide } from './no-guide.ts';
import { paperOf } from './paper.ts';
import { fold, number } from './reduce.ts';
import { endedBy, levelOf, mayClear, personOf } from './safety.ts';
import { say, type Turn, turn, type Who } from './turn.ts';
import { parseReading } from './words/reading.ts';
import { readTester } from './words/tester.ts';

/** Acts for moderators alone. */
const moderators: Partial<Record<Act['what'], string>> = {
  correct: 'Only a moderator can correct an answer.',
  clear: 'Only a moderator can clear a tier.',
  unflag: 'Only a moderator can say that a sign of danger was looked into.',
  similar: 'Only a moderator can see more of the earlier cases. The job card has the first three.',
};

const earlierShown = 10;

/** Why somebody with these roles may not do this; null when they may. */
export function mayAct(what: Act['what'], roles: readonly Role[]): string | null {
  if (roles.includes('moderator')) return null;
  return roles.includes('mender') ? (moderators[what] ?? null) : 'Only menders and moderators can do this.';
}

/** What menders and moderators do to a case. The role is checked here, for every act, whatever a platform has hidden. */
export function act(view: View, act: Act, roles: readonly Role[], who: Who): Turn {
  const { kase, tables } = view;
  const whisper = (words: string): Turn => turn([], { kind: 'whisper', to: who.by, words });
  const refused = mayAct(act.what, roles);
  if (refused !== null) return whisper(refused);
  const stopped = kase.flags.some((flag) => flag.sure);

  switch (act.what) {
    case 'take':
      return turn(
        [{ ...who, kind: 'taken', hands: act.hands }, ...reopened(kase, who)],
        say(
          act.hands
            ? 'A mender has the appliance now, and answers from here on.'
            : 'A mender has taken this case on.',
        ),
      );
    case 'advise':
      return act.words.trim() === ''
        ? whisper('There were no words in that.')
        : turn(
            [{ ...who, kind: 'advised', words: act.words.slice(0, 2000) }],
            say(`${personOf(kase, who.by)?.name || 'A mender'}: ${act.words.slice(0, 2000)}`),
          );
    case 'result':
      return result(view, act.step, act.answer, who, whisper);
    case 'correct': {
      const old = kase.answers.findLast((a) => 'step' in a && a.step === act.step);
      if (!old) return whisper(`There is no answer about ${act.step} in this case.`);
      const corrected = result(view, act.step, act.answer, who, whisper);
      return corrected.events.length === 0
        ? corrected
        : turn(
            [{ ...who, kind: 'undone', undone: old.seq, again: false }, ...corrected.events],
            ...corrected.outbound,
          );
    }
    case 'clear': {
      if (act.reason.trim() === '') return whisper('Please say why: the reason stays with the case.');
      const level = levelOf(kase);
      if (!mayClear(level, act.tier)) {
        return whisper(
          level === 'new' && act.tier === 'live'
            ? 'Somebody new is never cleared for live work.'
            : `From level ${level}, one tier more is all that can be cleared, and ${act.tier} is not that.`,
        );
      }
      return turn(
        [{ ...who, kind: 'cleared', tier: act.tier, person: kase.hands, reason: act.reason.slice(0, 500) }],
        say(
          'A moderator has cleared one step more for you in this case. The proofs before each step stay the same.',
        ),
      );
    }
    case 'unflag':
      if (!kase.flags.some((flag) => flag.flag === act.flag))
        return whisper('There is no such sign of danger open.');
      if (act.reason.trim() === '')
        return whisper('Please say what was found: the reason stays with the case.');
      return turn([{ ...who, kind: 'unflagged', flag: act.flag, reason: act.reason.slice(0, 500) }], {
        kind: 'whisper',
        to: who.by,
        words: 'Noted, with your name and the reason. Hand the case back when it may go on.',
      });
    case 'back':
      if (stopped)
        return whisper('A sign of danger is open. A moderator first says that it was looked into.');
      if (kase.state !== 'with people') return whisper('This case is not with people.');
      if (isNoGuide(tables.flow))
        return whisper('The guide for this appliance is no longer here, so this case stays with people.');
      return turn(
        [
          { ...who, kind: 'handed-back' },
          // What people were called for, or what nobody could tell, is asked again: a tap may have slipped.
          ...endedBy(kase, tables.flow).map(
            (undone) => ({ ...who, kind: 'undone', undone, again: true }) as const,
          ),
        ],
        say('The case comes back to me; we go on.'),
      );
    case 'safety':
      return tested(view, act, who, whisper);
    case 'print':
      return turn([], paperOf(view));
    case 'similar': {
      const lines = earlierLines(view, earlierShown);
      return whisper(
        lines.length === 0
          ? 'No earlier case here is like this one.'
          : [
              `Earlier cases like this one, the most alike first:`,
              ...lines.map((line, i) => `${i + 1}. ${line}`),
            ].join('\n'),
      );
    }
    case 'settle': {
      const closing = closingOf(kase, tables.flow, view.settings.community);
      if (act.outcome === 'Fixed' && closing.state === 'failed')
        return whisper(
          'It has failed its electrical test, so it is not fixed. Test it anew, or settle it as something else.',
        );
      const safety = act.outcome === 'Fixed' ? safetyOf(closing) : null;
      const fault = act.fault ?? null;
      if (fault !== null && !tables.faults.includes(fault))
        return whisper(`This flow knows no fault ${fault}.`);
      const barrier = act.barrier === undefined ? null : Barrier.safeParse(act.barrier);
      if (barrier && !barrier.success) return whisper(`A barrier is one of: ${Barrier.options.join(', ')}.`);
      if (barrier && act.outcome !== 'End of life') return whisper('A barrier goes with End of life only.');
      return turn([
        {
          ...who,
          kind: 'settled',
          outcome: act.outcome,
          fault,
          barrier: barrier?.success ? barrier.data : null,
          ...(safety ? { safety } : {}),
        },
      ]);
    }
    default:
      return act satisfies never;
  }
}

/** What a volunteer's tester showed, all of it at once. */
function tested(
  view: View,
  act: Extract<Act, { what: 'safety' }>,
  who: Who,
  whisper: (words: string) => Turn,
): Turn {
  const { kase, tables, settings } = view;
  const { protection } = tables.flow;
  if (!protection)
    return whisper('No electrical test is called for here: it is not opened, or has no mains plug.');
  if (!protection.classes.some((one) => String(one) === act.class))
    return whisper(`Its class is one of: ${protection.classes.join(', ')}.`);
  const level = answererLevel(kase, who.by);
  const stamp = { ...who, level, kind: 'safety-tested' as const };
  const said = (test: SafetyTest, result: string, value: number | null = null): Unnumbered => ({
    ...stamp,
    test,
    result,
    value,
  });
  const events = [said('tester', 'here'), said('class', act.class), said('visual', verdict(act.visual))];
  for (const test of act.class === '1' ? (['earth', 'insulation'] as const) : (['insulation'] as const)) {
    const read = readTester(test, act[test]);
    if ('why' in read) return whisper(`${test === 'earth' ? 'Earth' : 'Insulation'}: ${read.why}`);
    if (test === 'earth') events.push(said('lead', '2'));
    events.push(said(test, read.result, read.value));
  }
  events.push(said('function', verdict(act.function)));
  const after = closingLines(fold(kase, number(kase, events)), tables.flow, settings);
  return turn(
    events,
    say(
      'The electrical test is noted.',
      after.map((line) => line.replaceAll('**', '')),
    ),
  );
}

const verdict = (words: string): 'passed' | 'failed' => (words === 'passed' ? 'passed' : 'failed');

function result(view: View, step: string, answer: string, who: Who, whisper: (words: string) => Turn): Turn {
  const { kase, tables } = view;
  const table = tables.checks.get(step);
  if (!table) return whisper(`This flow knows no check ${step}.`);
  const level = answererLevel(kase, who.by);
  const noted = (event: Unnumbered): Turn =>
    turn([event], say(`Noted by a mender: ${nameOf(step, tables.flow)}.`));
  const outcome = outcomeOf(answer, step, table.outcomes, tables.flow);
  if (outcome !== null) return noted({ ...who, level, kind: 'answered', step, outcome });
  if (table.reading) {
    const { unit, current, min, max } = table.reading.model;
    const parsed = parseReading(answer, { unit, ...(current ? { current } : {}), min, max });
    if (parsed.kind === 'value') {
      return noted({
        ...who,
        level,
        kind: 'read',
        step,
        value: parsed.reading.value,
        typed: answer.trim().slice(0, 60),
      });
    }
    return whisper(parsed.kind === 'unclear' ? parsed.why : `Please give a number in ${unit}.`);
  }
  const labels = labelsOf(step, tables.flow).map(({ label }) => `“${label}”`);
  return whisper(`${nameOf(step, tables.flow)} has these answers: ${labels.join(', ')}.`);
}

const labelsOf = (step: string, flow: Flow): readonly { readonly id: string; readonly label: string }[] => {
  const check = flow.checks.find(({ id }) => id === step);
  return check?.outcomes ?? check?.reading?.bands ?? [];
};

/** An outcome by its id, its words, or its place among the answers; null where that names none. */
function outcomeOf(answer: string, step: string, outcomes: readonly string[], flow: Flow): string | null {
  if (outcomes.includes(answer)) return answer;
  const plain = (words: string): string =>
    words
      .toLowerCase()
      .replace(/[^\p{L}\p{N}]+/gu, ' ')
      .trim();
  const typed = plain(answer);
  const matching = labelsOf(step, flow).filter(({ label }) => plain(label) === typed);
  return matching.length === 1 ? (matching[0]?.id ?? null) : null;
}
