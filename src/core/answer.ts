import { type Case, type Question, SafetyTest, type Unnumbered } from '../../shared/case.ts';
import type { Flow, Level } from '../../shared/flow.ts';
import type { Outbound } from '../../shared/outbound.ts';
import type { Aftermath, Barrier } from '../../shared/outcome.ts';
import { RedFlag } from '../../shared/red-flag.ts';
import { applianceTaken } from './appliance.ts';
import { proofPoints, shownOf, triedAtOnce } from './ask.ts';
import { civilFor, mayChase, orderOf, partAgainDays, partDays } from './follow-up.ts';
import { followUpAnswer, refusal } from './follow-up-answer.ts';
import { waitsForWord } from './follow-up-words.ts';
import { pendingOf } from './history.ts';
import { judgeProof } from './proof.ts';
import { coversOff, forbidsPower, gate, levelOf, personOf } from './safety.ts';
import { libraryOf, type Settings } from './settings.ts';
import { flagEvents } from './stop-everything.ts';
import { say, type Turn, turn, type Who } from './turn.ts';
import { parseReading } from './words/reading.ts';
import { readTester } from './words/tester.ts';

/** An answer to the open question as events: what was learnt, done or opened. Never a decision about what comes next. */

/** Only who has the appliance in front of them can say these. */
const handsOnly: ReadonlySet<Question['kind']> = new Set([
  'level',
  'meter',
  'unplug',
  'open',
  'prove',
  'shut',
  'live',
  'do',
  'test',
  'closing',
]);

/** The level an answer of this person is weighed by. */
export function answererLevel(kase: Case, by: string): Level {
  if (by === kase.hands) return levelOf(kase);
  const person = personOf(kase, by);
  return person?.level ?? (person && person.roles.length > 0 ? 'handy' : 'new');
}

/** The choices a question offers, as the person sees them. */
export const choicesOf = (question: Question, kase: Case, flow: Flow, settings: Settings) =>
  shownOf(question, kase, flow, settings).choices;

export function answerChoice(
  kase: Case,
  question: Question,
  id: string,
  who: Who,
  flow: Flow,
  settings: Settings,
): Turn {
  if (id === 'quiet' && kase.quiet) return refusal(kase, who);
  const offered = choicesOf(question, kase, flow, settings);
  const chosen = offered.find((choice) => choice.id === id);
  if (!chosen) {
    return offered.length === 0
      ? turn([], say('This needs a number typed in, not a choice.'))
      : turn(
          [],
          say(
            `“${id.slice(0, 60)}” is not one of the answers here. Please choose one of these:`,
            offered.map((c) => c.label),
          ),
        );
  }
  if (id === 'quiet') return refusal(kase, who);
  if (handsOnly.has(question.kind) && who.by !== kase.hands) return turn([], notYourHands(who.by));
  if (id === 'anew')
    return turn([{ ...who, kind: 'taken-up-again' }], say('Good. Leave it unplugged; we prepare it again.'));

  const level = answererLevel(kase, who.by);
  const stamped = { ...who, level };
  switch (question.kind) {
    case 'appliance': {
      if (id === 'danger') return turn([{ ...who, kind: 'alarmed' }]);
      const library = libraryOf(settings);
      return turn(library ? applianceTaken(kase, id, who, level, library) : []);
    }
    case 'complaint':
      if (id === 'danger') return turn([{ ...who, kind: 'alarmed' }]);
      if (id === 'another') return turn([{ ...who, kind: 'flow-left' }]);
      // "No, something else" to a single guess: offer them all.
      if (id === 'other' && question.offered?.length === 1 && flow.complaints.length > 1) {
        return turn([{ ...who, kind: 'proposed', complaints: flow.complaints.map((c) => c.id) }]);
      }
      return turn([{ ...stamped, kind: 'complaint-stated', complaint: id }]);
    case 'detail':
      return detailAnswer(question.step, id, stamped, flow);
    case 'level':
      return turn([
        { ...stamped, kind: 'level-stated', person: who.by, stated: id === 'handy' ? 'handy' : 'new' },
      ]);
    case 'meter':
      return turn([{ ...stamped, kind: 'meter-stated', person: who.by, has: id === 'yes' }]);
    case 'unplug':
      return turn([{ ...who, kind: 'unplugged' }]);
    case 'wait':
      return turn([]);
    case 'open':
      return turn([{ ...who, kind: 'stage-opened', stage: question.step }]);
    case 'prove':
      return proofStep(kase, question, 0, who, flow);
    case 'shut':
      return turn([{ ...who, kind: 'shut' }]);
    case 'live':
      return id === 'agreed'
        ? turn([{ ...who, kind: 'live-agreed', step: question.step }])
        : turn(
            [{ ...stamped, kind: 'set-aside', step: question.step, why: 'cannot' }],
            say(leftOut(kase, flow)),
          );
    case 'check':
      return turn([{ ...stamped, kind: 'answered', step: question.step, outcome: id }]);
    case 'part':
      return partAnswer(kase, question.step, id, stamped, settings);
    case 'arrival':
      return arrivalAnswer(kase, question.step, id, stamped, settings);
    case 'do':
      return doAnswer(kase, question.step, id, stamped, flow);
    case 'closing':
      return turn([
        { ...stamped, kind: 'safety-tested', test: question.step as SafetyTest, result: id, value: null },
      ]);
    case 'test':
      return turn([{ ...stamped, kind: 'tested', result: testResult(id), remedies: pendingOf(kase) }]);
    case 'flag':
      return flagAnswer(kase, question, id, who, settings);
    case 'replace':
      return id === 'recycle'
        ? turn([{ ...who, kind: 'settled', outcome: 'End of life', fault: null, barrier: barrierOf(kase) }])
        : turn([{ ...who, kind: 'handed-over', reason: 'asked', danger: false, next: null }]);
    case 'follow-up':
      return followUpAnswer(kase, id as Aftermath, stamped, settings.community);
    default:
      return question.kind satisfies never;
  }
}

function detailAnswer(detail: string, id: string, stamped: Stamped, flow: Flow): Turn {
  const choice = flow.details.find((d) => d.id === detail)?.choices.find((c) => c.id === id);
  return turn(
    [{ ...stamped, kind: 'detail-stated', detail, choice: id }],
    ...(choice?.stop ? [say(choice.stop)] : []),
    ...(choice?.say ? [say(choice.say)] : []),
    ...(choice?.limit && choice.limit.why !== choice.say ? [say(choice.limit.why)] : []),
  );
}

export const notYourHands = (to: string): Outbound => ({
  kind: 'whisper',
  to,
  words: 'Thank you. Only the person who has the appliance in front of them can answer this one.',
});

const testResult = (id: string): 'works' | 'no' | 'different' =>
  id === 'works' ? 'works' : id === 'different' ? 'different' : 'no';

/** The standard's word for what stood in the way, where the owner has said it; a part is all they are asked about. */
function barrierOf(kase: Case): Barrier | null {
  const last = kase.answers.findLast(
    (a) => a.kind === 'set-aside' && (a.why === 'too-dear' || a.why === 'not-found'),
  );
  if (last?.kind !== 'set-aside') return null;
  return last.why === 'too-dear' ? 'Spare parts too expensive' : 'Spare parts not available';
}

type Stamped = Who & { readonly level: Level };

function partAnswer(kase: Case, step: string, id: string, stamped: Stamped, settings: Settings): Turn {
  switch (id) {
    case 'have':
      return turn([{ ...stamped, kind: 'part-arrived', step }]);
    case 'ordered':
      return turn(
        [
          { ...stamped, kind: 'part-ordered', step, days: partDays },
          ...(kase.quiet ? [] : [restForPart(kase, step, partDays, stamped, settings)]),
        ],
        say(
          coversOff(kase) > 0
            ? 'Good. Leave it unplugged until the part is here, and put the cover back so that nobody can reach in.'
            : 'Good. Leave it unplugged until the part is here.',
        ),
      );
    default:
      return turn([
        { ...stamped, kind: 'set-aside', step, why: id === 'too-dear' ? 'too-dear' : 'not-found' },
      ]);
  }
}

function arrivalAnswer(kase: Case, step: string, id: string, stamped: Stamped, settings: Settings): Turn {
  switch (id) {
    case 'arrived':
      return turn([{ ...stamped, kind: 'part-arrived', step }]);
    case 'not-yet':
      return mayChase(kase, orderOf(kase, step))
        ? turn([restForPart(kase, step, partAgainDays, stamped, settings)])
        : turn([], say(waitsForWord(kase, step)));
    default:
      return turn(
        [{ ...stamped, kind: 'set-aside', step, why: 'wrong-part' }],
        say('A pity. Send it back if you can; I note it. We see whether the right one can still be had.'),
      );
  }
}

/** At a civil hour; and who says early on that it is not here yet is not asked sooner for that. */
function restForPart(
  kase: Case,
  step: string,
  days: number,
  { by, at, demonstration }: Stamped,
  { community }: Settings,
): Unnumbered {
  const key = `part:${step}`;
  const before = kase.rest?.key === key ? kase.rest.due : 0;
  return {
    kind: 'rested',
    by,
    at,
    ...(demonstration ? { demonstration } : {}),
    key,
    due: Math.max(before, civilFor(kase, community, at + days * 86_400_000)),
    reason: 'the part is on its way',
  };
}

function doAnswer(kase: Case, step: string, id: string, stamped: Stamped, flow: Flow): Turn {
  const remedy = flow.remedies.find((r) => r.id === step);
  const done: Unnumbered = { ...stamped, kind: 'remedy-done', step };
  if (remedy && triedAtOnce(remedy)) {
    return turn([
      done,
      { ...stamped, kind: 'tested', result: testResult(id), remedies: [...pendingOf(kase), step] },
    ]);
  }
  if (!remedy || remedy.wait_minutes === 0) return turn([done]);
  const { by, at, demonstration } = stamped;
  return turn([
    done,
    {
      kind: 'rested',
      by,
      at,
      ...(demonstration ? { demonstration } : {}),
      key: `wait:${step}`,
      due: at + remedy.wait_minutes * 60_000,
      reason: `“${remedy.name}” needs its time`,
    },
  ]);
}

function flagAnswer(kase: Case, question: Question, id: string, who: Who, settings: Settings): Turn {
  const flag = RedFlag.safeParse(question.step === 'which' ? id : question.step);
  const goOn = say(
    kase.state === 'with people'
      ? 'Good. People go on with it.'
      : kase.state === 'resting'
        ? 'Good. Then we go on waiting.'
        : 'Good. Then we go on.',
  );
  if (id === 'no') {
    const denied = RedFlag.safeParse(question.step);
    return denied.success
      ? turn([{ ...who, kind: 'unflagged', flag: denied.data, reason: 'asked, and answered no' }], goOn)
      : turn([{ ...who, kind: 'all-clear' }], goOn);
  }
  if (!flag.success) return turn([]);
  return flagEvents(
    kase,
    // The words of whoever spoke of it stay theirs.
    [{ flag: flag.data, sure: true, words: '' }],
    who,
    settings,
  );
}

/** A number for the open question, typed or through a form. */
export function answerReading(kase: Case, question: Question, typed: string, who: Who, flow: Flow): Turn {
  if (question.kind === 'prove' && flow.energy.stores === 'capacitors') {
    if (who.by !== kase.hands) return turn([], notYourHands(who.by));
    // Leads the wrong way round give a minus; it is the same charge.
    const parsed = parseReading(typed, { unit: 'V', current: 'dc', min: -1000, max: 1000 });
    if (parsed.kind === 'over') {
      return turn(
        [],
        say(
          'That is over the range, so it may be a high voltage. Take a higher range (600 V or more) and measure again.',
        ),
      );
    }
    if (parsed.kind === 'beep')
      return turn([], say('I need volts, not a beep. Turn the meter to V with a straight line.'));
    if (parsed.kind === 'unclear') return turn([], say(parsed.why));
    if (parsed.reading.about)
      return turn([], say('Here I need the exact number that the meter shows, such as 0.2 V.'));
    return proofStep(kase, question, parsed.reading.value, who, flow);
  }
  if (question.kind === 'closing') return closingReading(kase, question.step, typed, who);
  const model =
    question.kind === 'check' ? flow.checks.find((check) => check.id === question.step)?.reading : undefined;
  if (!model)
    return turn([], say('I am not waiting for a number just now. Please choose one of the answers.'));
  const parsed = parseReading(typed, {
    unit: model.unit,
    ...(model.current ? { current: model.current } : {}),
    min: model.min,
    max: model.max,
  });
  switch (parsed.kind) {
    case 'unclear':
      return turn([], say(parsed.why));
    case 'beep':
      return turn([], say(`Here I need a number in ${model.unit}, or one of the answers.`));
    case 'over': {
      // Over the range is the highest band, not a number.
      const band = model.bands.at(-1) as { id: string };
      return turn([
        {
          ...who,
          level: answererLevel(kase, who.by),
          kind: 'answered',
          step: question.step,
          outcome: band.id,
        },
      ]);
    }
    case 'value':
      return turn([
        {
          ...who,
          level: answererLevel(kase, who.by),
          kind: 'read',
          step: question.step,
          value: parsed.reading.value,
          typed: typed.trim().slice(0, 60),
        },
      ]);
  }
}

function closingReading(kase: Case, step: string, typed: string, who: Who): Turn {
  const test = SafetyTest.parse(step);
  const read = readTester(test, typed);
  if ('why' in read) return turn([], say(read.why));
  return turn([{ ...who, level: answererLevel(kase, who.by), kind: 'safety-tested', test, ...read }]);
}

function proofStep(kase: Case, question: Question, value: number, who: Who, flow: Flow): Turn {
  const point = question.step;
  const read: Unnumbered = { ...who, kind: 'proof-read', point, value };
  const points = proofPoints(flow);
  const { readings, unplugged } = kase.world;
  const moved = who.demonstration === true;
  // One proof, one clock; and a reading counts only at a time at which it would be asked for.
  const mixed = moved && readings.length > 0 && unplugged?.demonstration === false;
  if (mixed || gate(question, kase, flow, who.at, moved) !== null) {
    const why = 'A day went by, or a clock was moved, so this proves nothing. We begin the proof again.';
    return turn([{ ...who, kind: 'proof-dropped', why }], say(why));
  }
  if (flow.energy.stores !== 'capacitors') {
    const all = readings.map((reading) => reading.point).join() === points.slice(0, -1).join();
    return turn(point === points.at(-1) && all ? [read, { ...who, kind: 'proven' }] : [read]);
  }
  const verdict = judgeProof(readings, point, value, points);
  switch (verdict.kind) {
    case 'next':
      return turn([read]);
    case 'proven':
      return turn(
        [read, { ...who, kind: 'proven' }],
        say('Proven: it is discharged. This holds until power comes back, for a day at most.'),
      );
    case 'repeat':
      return turn([], say(verdict.words));
    case 'charged':
      return turn(
        [
          read,
          { ...who, kind: 'proof-dropped', why: verdict.words },
          {
            kind: 'rested',
            ...who,
            key: 'discharge',
            due: who.at + verdict.minutes * 60_000,
            reason: 'still charged',
          },
        ],
        {
          kind: 'warn',
          word: 'DANGER',
          instruction: 'Hands out. It still holds a charge.',
          words: verdict.words,
        },
      );
    case 'void':
      return turn([read, { ...who, kind: 'proof-dropped', why: verdict.words }], say(verdict.words));
  }
}

/** "Not sure" and "can't do this": nothing about faults is learnt; the case goes another way. */
export function answerSetAside(
  kase: Case,
  question: Question,
  why: 'unsure' | 'cannot',
  who: Who,
  flow: Flow,
): Turn {
  const stamped = { ...who, level: answererLevel(kase, who.by) };
  const aside = (step: string, words: string): Turn =>
    turn([{ ...stamped, kind: 'set-aside', step, why }], say(words));
  const first = flow.access.find((access) => access.behind === undefined)?.id ?? 'outside';
  const without =
    why === 'unsure'
      ? 'That is all right. It says nothing either way.'
      : 'That is all right. We find another way.';
  switch (question.kind) {
    case 'appliance':
      if ((question.offered ?? []).length > 0) return turn([{ ...who, kind: 'suggested', appliances: [] }]);
      return turn(
        [{ ...who, kind: 'handed-over', reason: 'asked', danger: false, next: null }],
        say('That is all right. Somebody looks at it with you.'),
      );
    case 'complaint':
      return turn(
        [{ ...stamped, kind: 'complaint-stated', complaint: 'other' }],
        say('That is all right. We look at it step by step.'),
      );
    case 'level':
      return turn(
        [{ ...stamped, kind: 'level-stated', person: who.by, stated: 'new' }],
        say('Then we stay outside. That is where most help is anyway.'),
      );
    case 'prove':
      // Who cannot tell yet has time; only "can't" ends the work inside.
      if (why === 'unsure') return turn([], say(takeYourTime(flow)));
      return notMeasured(kase, stamped);
    case 'meter':
      return notMeasured(kase, stamped);
    case 'unplug':
      return aside(first, 'Then it stays closed: nothing is opened while the plug is in.');
    case 'open':
      return aside(question.step, 'That is all right, it stays closed.');
    case 'shut':
    case 'test':
      return turn(
        [{ ...who, kind: 'handed-over', reason: 'stuck', danger: false, next: null }],
        say('Leave it unplugged. Somebody else should have a look before power comes back.'),
      );
    case 'closing':
      // Who does not know how to test has not tested.
      return turn([{ ...stamped, kind: 'safety-tested', test: 'tester', result: 'none', value: null }]);
    case 'flag':
      return turn(
        [],
        say('In doubt we stop: leave it off. Please answer yes or no when you can, or ask for a person.'),
      );
    case 'wait':
      return turn([]);
    case 'live':
      return aside(question.step, leftOut(kase, flow));
    case 'do':
      return aside(
        question.step,
        'That is all right. We leave it out and go on with something else; “undo” brings it back.',
      );
    case 'part':
    case 'arrival':
      return aside(question.step, without);
    case 'check': {
      const check = flow.checks.find(({ id }) => id === question.step);
      return aside(
        question.step,
        check && forbidsPower(check, why)
          ? 'That is all right. As long as nobody knows this, please leave it switched off and unplugged. If you find out, say “undo”, and I ask it again.'
          : without,
      );
    }
    case 'detail': {
      const choices = flow.details.find(({ id }) => id === question.step)?.choices ?? [];
      const unknown = choices.find((choice) => choice.not_known);
      if (unknown) return detailAnswer(question.step, unknown.id, stamped, flow);
      const stops = choices.flatMap(({ label, stop }) => (stop ? [{ label, stop }] : []));
      const [worst] = stops;
      return aside(
        question.step,
        worst
          ? `That is all right. As long as nobody knows this, nobody works on it or switches it on. People look at it with you.${
              stops.length === 1 ? ` Until then, as for “${worst.label}”: ${worst.stop}` : ''
            }`
          : without,
      );
    }
    case 'replace':
      return turn([{ ...who, kind: 'handed-over', reason: 'asked', danger: false, next: null }]);
    case 'follow-up':
      return turn([], say('That is all right. Answer when you know, or not at all.'));
    default:
      return question.kind satisfies never;
  }
}

const notMeasured = (kase: Case, stamped: Stamped): Turn =>
  turn(
    [{ ...stamped, kind: 'meter-stated', person: kase.hands, has: false }],
    say('Then nothing inside gets touched: without the measurement nobody knows whether it is charged.'),
  );

const takeYourTime = (flow: Flow): string =>
  flow.energy.stores === 'capacitors'
    ? 'Take your time, and keep your hands out until you know. If you cannot find the place or the meter shows nothing clear, say “can’t do this”: then nothing inside gets touched, and we go another way.'
    : 'Take your time, and keep your hands out until you know. If it cannot be done, say “can’t do this”, and we go another way.';

/** Every live step is asked for on its own; who refuses a second one hears how to refuse them all. */
function leftOut(kase: Case, flow: Flow): string {
  const before = kase.answers.some(
    (a) =>
      a.kind === 'set-aside' &&
      flow.checks.some((c) => c.id === a.step && c.power === 'on' && c.access !== 'outside'),
  );
  return before
    ? 'Not that one either, then. For no work with power on at all, say “ask a person”.'
    : 'Good. We leave that one out.';
}
