import type { Case, Unnumbered } from '../../shared/case.ts';
import type { Act, Control, Inbound } from '../../shared/inbound.ts';
import type { Outbound } from '../../shared/outbound.ts';
import { act } from './act.ts';
import { answerChoice, answerReading, answerSetAside, choicesOf } from './answer.ts';
import { complaintsIn, entryWords, mayBeAnother, suggestions } from './appliance.ts';
import { titleOf } from './ask.ts';
import { cardMessage } from './card.ts';
import {
  answersShown,
  answerWords,
  nameOf,
  openNow,
  pointWords,
  waitingWords,
  where,
  why,
} from './explain.ts';
import { isCivilFor, mayChase, orderOf } from './follow-up.ts';
import { refusal, takenUp } from './follow-up-answer.ts';
import { followUpRang, moved, reminder, toldWhen } from './follow-up-time.ts';
import { answerLabel, quietChoice } from './follow-up-words.ts';
import { formFor } from './forms.ts';
import { believe, evidence } from './infer.ts';
import type { View } from './next.ts';
import { notUnderstood } from './not-understood.ts';
import { sumIn, sumMessage } from './reckon/told.ts';
import { isAnswer, number } from './reduce.ts';
import { coversOff, personOf } from './safety.ts';
import { libraryOf } from './settings.ts';
import { flagEvents } from './stop-everything.ts';
import { deskId, say, type Turn, turn, type Who } from './turn.ts';
import { inline, minutesWords, stillOpen } from './wording.ts';
import { interpret, type Meaning } from './words/interpret.ts';
import { readRedFlags } from './words/red-flags.ts';

/** What an inbound message means for a case: events, and what is said at once. What is asked next is not decided here. */
export function take(view: View, inbound: Inbound): Turn {
  const { kase, settings } = view;
  const who = whoOf(inbound);
  const desk = fromDesk(inbound);
  const opens = inbound.kind === 'opened' && kase.asker === '' && inbound.by.id !== deskId;
  if (kase.asker === '' && !opens) {
    // A timer, or a message that went astray, of a case that is not there.
    if (desk) return turn([]);
    const warnings = warningsIn(view, inbound, who);
    const words =
      inbound.by.id === deskId
        ? 'I cannot count what comes under the name “desk”, because it is my own. Please write under another name.'
        : 'Please tell me first what is wrong with your appliance.';
    return turn([], ...warnings, say(words));
  }
  const flags = flagsIn(view, inbound, who);
  if (flags.events.length > 0) return flags;

  // A sum can be asked for at any time, and begins no case.
  const sum = inbound.kind === 'opened' || inbound.kind === 'said' ? sumIn(inbound.words) : null;
  if (sum !== null && (opens || counts(kase, inbound))) return turn([], sumMessage(sum, settings.community));

  const counted = opens || desk || counts(kase, inbound);
  if (!counted) return passedBy(view, inbound);
  const turned = taken(view, inbound, who);
  // Nothing is stopped in a settled case, but what to do about danger is said all the same.
  return kase.state === 'settled'
    ? turn(turned.events, ...warningsIn(view, inbound, who), ...turned.outbound)
    : turned;
}

const whoOf = (inbound: Inbound): Who => ({
  by: inbound.by.id,
  at: inbound.at,
  ...(inbound.demonstration ? { demonstration: true as const } : {}),
});

const join = (before: readonly Unnumbered[], after: Turn): Turn =>
  turn([...before, ...after.events], ...after.outbound);

/** Others are thanked where they meant to answer. What people say among themselves is theirs. */
function passedBy(view: View, inbound: Inbound): Turn {
  if (inbound.kind === 'changed' || inbound.kind === 'photo') return turn([]);
  if (inbound.kind === 'said' && (inbound.aside || !readsAsAnswer(view, inbound.words))) return turn([]);
  return turn([], {
    kind: 'whisper',
    to: inbound.by.id,
    words:
      'Thank you for helping. In this case only the owner and the menders answer, so I do not count this one.',
  });
}

/** Whether words can be read as an answer to what is open. */
function readsAsAnswer({ kase, tables, settings }: View, words: string): boolean {
  const { question } = kase;
  if (!question) return false;
  const choices = choicesOf(question, kase, tables.flow, settings);
  const { kind } = interpret(words, question, choices, kase, tables.flow);
  return kind !== 'nothing' && kind !== 'change';
}

/** All that the desk tells itself. Whoever else comes by its name is a stranger. */
const fromDesk = (inbound: Inbound): boolean =>
  inbound.kind === 'rang' ||
  // Whoever's doing it was, a thread that is gone is gone.
  (inbound.kind === 'changed' && inbound.what === 'gone' && inbound.by.id !== deskId) ||
  (inbound.kind === 'changed' && inbound.what === 'undelivered' && inbound.by.id === deskId);

/** The asker, whoever holds the appliance, and people with a role. */
function counts(kase: Case, { by }: Inbound): boolean {
  if (by.id === deskId) return false;
  return by.id === kase.asker || by.id === kase.hands || by.roles.length > 0;
}

function wordsOf(inbound: Inbound): string {
  switch (inbound.kind) {
    case 'opened':
    case 'said':
      return inbound.words;
    case 'changed':
      // What was not delivered are our own words.
      return inbound.what === 'undelivered' ? '' : (inbound.words ?? '');
    case 'measured':
      return inbound.reading;
    default:
      return '';
  }
}

/** The instructions for what is surely dangerous, where there is no case that they could stop. */
const warningsIn = ({ kase, settings }: View, inbound: Inbound, who: Who): readonly Outbound[] =>
  flagEvents(kase, readRedFlags(wordsOf(inbound)), who, settings).outbound;

/** Signs of danger in anybody's words, or by the button, stop everything, whoever they are. */
function flagsIn(view: View, inbound: Inbound, who: Who): Turn {
  const { kase } = view;
  if (kase.state === 'settled' && !asksAfter(kase)) return turn([]);
  // Danger in answer to how it is now: the case goes on, and stops at once.
  const again = kase.state === 'settled' ? takenUp(kase, who) : [];
  if (inbound.kind === 'chose' && inbound.answer === 'danger')
    return turn([...again, { ...who, kind: 'alarmed' }]);
  const words = wordsOf(inbound);
  if (words === '') return turn([]);
  const opened: Unnumbered[] =
    inbound.kind === 'opened' && view.kase.asker === '' ? openedEvents(view, inbound, who) : [];
  const flagged = flagEvents(view.kase, readRedFlags(words), who, view.settings);
  if (flagged.events.length === 0) return turn([]);
  const noted: Unnumbered[] =
    opened.length === 0 ? [{ ...who, kind: 'noted', words: words.slice(0, 2000) }] : [];
  return turn([...opened, ...again, ...noted, ...flagged.events], ...flagged.outbound);
}

/** The desk has asked how it went on, and nobody has answered. */
const asksAfter = ({ state, question }: Case): boolean =>
  state === 'settled' && question?.kind === 'follow-up';

/**
 * What the platform vouches for, recorded when it is new or has changed, before anything else of a turn: what somebody
 * does counts by what they are now. Level and roles come from nowhere else.
 */
export function joined(kase: Case, inbound: Inbound): Unnumbered[] {
  const { by } = inbound;
  if (inbound.kind === 'rang' || by.id === deskId) return [];
  if (kase.asker === '' && inbound.kind !== 'opened') return [];
  const who = whoOf(inbound);
  const known = personOf(kase, by.id);
  const level = by.level ?? null;
  if (known && known.level === level && known.name === by.name && known.roles.join() === by.roles.join())
    return [];
  if (!known && kase.asker !== '' && !counts(kase, inbound)) return [];
  return [{ ...who, kind: 'joined', person: by.id, name: by.name, level, roles: [...by.roles] }];
}

function openedEvents(view: View, inbound: Extract<Inbound, { kind: 'opened' }>, who: Who): Unnumbered[] {
  const { flow } = view.tables;
  const library = libraryOf(view.settings);
  const opened: Unnumbered = {
    ...who,
    kind: 'opened',
    words: inbound.words.slice(0, 4000),
    place: inbound.place,
  };
  if (library)
    return [opened, { ...who, kind: 'suggested', appliances: suggestions(inbound.words, library) }];
  return [
    opened,
    { ...who, kind: 'flow-taken', flow: flow.flow, version: flow.version },
    { ...who, kind: 'proposed', complaints: complaintsIn(inbound.words, flow) },
  ];
}

/** What words that are no answer say about the appliance or what is wrong with it. */
function toldBy({ kase, tables, settings }: View, words: string, who: Who): Unnumbered[] {
  const library = libraryOf(settings);
  switch (kase.question?.kind) {
    case 'appliance': {
      const appliances = library ? suggestions(words, library) : [];
      return appliances.length > 0 ? [{ ...who, kind: 'suggested', appliances }] : [];
    }
    case 'complaint': {
      const complaints = complaintsIn(words, tables.flow);
      return complaints.length > 0 ? [{ ...who, kind: 'proposed', complaints }] : [];
    }
    default:
      return [];
  }
}

function taken(view: View, inbound: Inbound, who: Who): Turn {
  const { kase } = view;
  switch (inbound.kind) {
    case 'opened':
      return kase.asker === '' ? turn(openedEvents(view, inbound, who)) : said(view, inbound.words, who);
    case 'said':
      return inbound.aside ? overheard(inbound.words, who) : said(view, inbound.words, who);
    case 'chose':
      return chose(view, inbound.answer, inbound.of, who);
    case 'measured':
      return measured(view, inbound.reading, inbound.of, who);
    case 'photo':
      return turn(
        [{ ...who, kind: 'photographed', references: inbound.references }],
        say('Thank you, the photo stays with the case for whoever looks at it. I cannot see it myself.'),
      );
    case 'asked':
      return asked(view, inbound.what, who);
    case 'acted':
      return act(view, inbound.act satisfies Act, inbound.by.roles, who);
    case 'wanted':
      return turn([], formFor(view, inbound.form, inbound.of, inbound.by.roles, who));
    case 'rang':
      return rang(view, inbound.key, who);
    case 'changed':
      return changed(view, inbound, who);
    default:
      return inbound satisfies never;
  }
}

/** A wait that is over counts as over, whoever comes first: the timer or the person. */
function waking(view: View, who: Who): Turn | null {
  const { kase } = view;
  if (kase.stopped)
    return turn([{ ...who, kind: 'taken-up-again' }], say('Welcome back. We go on where we were.'));
  if (kase.state !== 'resting' || kase.rest === null || kase.question !== null) return null;
  if (who.at >= kase.rest.due) return turn([{ ...who, kind: 'woken', key: kase.rest.key }]);
  const more =
    kase.words.length % 2 === 1
      ? 'Do something else meanwhile; I come back by myself.'
      : '“Undo” takes the last answer back, “stop” ends it for today.';
  return turn([], say(`${waitingWords(view)} ${more}`));
}

const waits = (kase: Case): boolean => kase.state === 'resting' && kase.rest !== null && !kase.stopped;

/** Nothing is asked here now; a question about danger is open whoever has the case. */
const idle = (view: View): Turn | null => (view.kase.question === null ? elsewhere(view) : null);

function elsewhere(view: View): Turn | null {
  switch (view.kase.state) {
    case 'with people':
      return turn([], say('This case is with people now. They see what you write here.'));
    case 'settled':
      return turn([], say('This case is settled. Say “again” to take it up again.'));
    default:
      return null;
  }
}

/** What is written while people have it is for them; the owner is told so once, and nobody else. */
function whenElsewhere(view: View, who: Who): Turn | null {
  const { kase } = view;
  const told = kase.state === 'with people' && (who.by !== kase.asker || kase.handover?.heard === true);
  return told ? turn([]) : elsewhere(view);
}

function chose(view: View, answer: string, of: string | undefined, who: Who): Turn {
  const { kase, tables, settings } = view;
  const without = outdated(view) ?? idle(view) ?? waking(view, who);
  if (without) return without;
  const { question } = kase;
  if (!question) return turn([], noQuestion);
  if (of !== undefined && of !== question.key) return turn([], tooLate(who));
  return answered(view, answerChoice(kase, question, answer, who, tables.flow, settings), who);
}

/** The message that was answered loses its buttons and shows what was said. Danger is told before that. */
function answered(view: View, result: Turn, who: Who): Turn {
  const { kase, tables, settings } = view;
  const { question } = kase;
  const words =
    question?.kind === 'appliance'
      ? applianceSaid(view, result.events)
      : (saidAfter(result.events) ??
        result.events.reduce<string | null>((so, event) => saidBy(event, view) ?? so, null));
  if (!question || words === null) return result;
  const warnings = result.outbound.filter((one) => one.kind === 'warn');
  const others = result.outbound.filter((one) => one.kind !== 'warn');
  const name = personOf(kase, who.by)?.name;
  const amend: Outbound = {
    kind: 'amend',
    key: question.key,
    number: kase.asked,
    title: titleOf(question, kase, tables.flow, settings),
    words,
    ...(name ? { by: name } : {}),
  };
  return turn(result.events, ...warnings, amend, ...others);
}

/** What was tapped about how it went on, and not what follows from it. */
function saidAfter(events: readonly Unnumbered[]): string | null {
  const followed = events.find((event) => event.kind === 'followed-up');
  return followed ? answerLabel(followed.result) : null;
}

/** The appliance that was taken, in the words it was offered in. */
function applianceSaid({ settings }: View, events: readonly Unnumbered[]): string | null {
  const taken = events.find((event) => event.kind === 'flow-taken');
  const stated = events.find((event) => event.kind === 'complaint-stated');
  const flow = libraryOf(settings)?.flows.find((one) => one.flow === taken?.flow);
  return flow ? entryWords(flow, stated?.complaint) : null;
}

/** An answer's event in words; null for what is no answer. Of several, the last says most. */
function saidBy(event: Unnumbered, { kase, tables }: View): string | null {
  switch (event.kind) {
    case 'unplugged':
      return 'The plug is out';
    case 'stage-opened':
      return `Open: ${inline(nameOf(event.stage, tables.flow))}`;
    case 'shut':
      return 'Closed';
    case 'proof-read':
      return pointWords(event, tables.flow);
    case 'live-agreed':
      return `Agreed to live work: ${inline(nameOf(event.step, tables.flow))}`;
    case 'follow-ups-refused':
      // Anything else that is open stays open.
      return asksAfter(kase) ? quietChoice.label : null;
    default: {
      const [numbered] = number(kase, [event]);
      return numbered && isAnswer(numbered) ? answerWords(numbered, tables.flow) : null;
    }
  }
}

const noQuestion = say('There is no open question just now.');

/** An answer to a question as it was before it was corrected may mean something else now. */
const outdated = ({ corrected }: View): Turn | null =>
  corrected.closed
    ? turn([], say('I did not count that as an answer, because the question was changed just now.'))
    : null;

const tooLate = ({ by }: Who): Outbound => ({
  kind: 'whisper',
  to: by,
  words: 'That question is no longer open, so I did not count the answer. “Undo” takes the last answer back.',
});

function measured(view: View, reading: string, of: string | undefined, who: Who): Turn {
  const { kase, tables } = view;
  const without = outdated(view) ?? idle(view) ?? waking(view, who);
  if (without) return without;
  if (!kase.question) return turn([], say('I am not waiting for a number just now.'));
  if (of !== undefined && of !== kase.question.key) return turn([], tooLate(who));
  return answered(view, answerReading(kase, kase.question, reading, who, tables.flow), who);
}

/** Said to somebody else: kept for the job card, and not answered. */
const overheard = (words: string, who: Who): Turn => turn(noteOf(words, who));

/** A number that answers nothing tells nobody anything later. */
const noteOf = (words: string, who: Who): Unnumbered[] =>
  /\p{L}/u.test(words) ? [{ ...who, kind: 'noted', words: words.slice(0, 2000) }] : [];

function said(view: View, words: string, who: Who): Turn {
  const { kase, tables, settings } = view;
  const note = noteOf(words, who);
  const when = amongThemselves(kase, who) ? null : toldWhen(view, words, who);
  if (when) return answered(view, when, who);
  const choices = kase.question ? choicesOf(kase.question, kase, tables.flow, settings) : [];
  const meaning = doubtful(interpret(words, kase.question, choices, kase, tables.flow), kase, who);
  if (meaning.kind === 'control') return asked(view, meaning.control, who);
  if (meaning.kind === 'alarm') {
    const alarmed: Unnumbered = { ...who, kind: 'alarmed' };
    if (asksAfter(kase)) return turn([...takenUp(kase, who), alarmed]);
    return kase.state === 'settled' ? (elsewhere(view) as Turn) : turn([alarmed]);
  }
  const without = kase.question === null ? whenElsewhere(view, who) : null;
  if (without) return join(note, without);
  if (meaning.kind === 'change' && kase.state === 'settled') return elsewhere(view) as Turn;
  if (meaning.kind === 'change' && kase.state !== 'with people' && !kase.stopped)
    return change(view, meaning.place, who);
  const wake = outdated(view) ?? waking(view, who);
  if (wake) return join(note, wake);
  // People talk among themselves while a doubt is open.
  const answers = meaning.kind === 'choice' || meaning.kind === 'confirm';
  if (kase.state === 'with people' && !answers) return join(note, whenElsewhere(view, who) as Turn);
  const { question } = kase;

  switch (meaning.kind) {
    case 'change':
      break;
    case 'confirm':
      return meaning.yes && kase.guess
        ? chose(view, kase.guess, undefined, who)
        : turn(lapsed(kase, who), {
            kind: 'say',
            words: 'Then please choose one of these:',
            list: choices.map((choice) => choice.label),
            numbered: true,
          });
    case 'reading':
      return measured(view, words, undefined, who);
    case 'choice': {
      // Whether there was danger is never guessed at.
      if (!meaning.sure && question?.kind === 'flag') break;
      const label = choices.find((choice) => choice.id === meaning.id)?.label ?? meaning.id;
      if (!meaning.sure && (amongThemselves(kase, who) || decides(view, meaning.id))) {
        return join(
          [...note, { ...who, kind: 'guessed', answer: meaning.id }],
          turn([], say(`I read that as: “${label}”. Is that right? Say yes, or choose an answer.`)),
        );
      }
      const result = chose(view, meaning.id, undefined, who);
      return meaning.sure
        ? result
        : turn(
            [...note, ...result.events],
            say(`I read that as: “${label}”. Say “undo” if that is wrong.`),
            ...result.outbound,
          );
    }
    case 'nothing':
      break;
    default:
      return meaning satisfies never;
  }
  if (words.trim() === '')
    return turn([], say('That was empty. Please choose one of the answers, or write a few words.'));
  // People who talk among themselves are left alone; somebody else's remark is kept for the job card.
  if (amongThemselves(kase, who) || (who.by !== kase.asker && who.by !== kase.hands))
    return turn([...note, ...lapsed(kase, who)]);
  const told = toldBy(view, words, who);
  return told.length > 0
    ? turn([...note, ...told])
    : turn([...note, ...lapsed(kase, who)], notUnderstood(view, words, choices));
}

/** So long after somebody else's words, what is said may be meant for them, milliseconds. */
const replyWithin = 10 * 60_000;

const amongThemselves = ({ spoke }: Case, { by, at }: Who): boolean =>
  spoke !== null && spoke.by !== by && at - spoke.at < replyWithin;

/** A bare "yes" may answer what somebody else has just asked: it is asked back. */
const doubtful = (meaning: Meaning, kase: Case, who: Who): Meaning =>
  meaning.kind === 'choice' && amongThemselves(kase, who) ? { ...meaning, sure: false } : meaning;

/** Denied or passed over, a guess is over: a "yes" later on is not about it. An empty answer stands for none. */
const lapsed = (kase: Case, who: Who): Unnumbered[] =>
  kase.guess ? [{ ...who, kind: 'guessed', answer: '' }] : [];

/** Belief that may move before an answer read from free words is asked back. */
const decisive = 0.25;

function decides(view: View, id: string): boolean {
  const { kase, tables, settings } = view;
  const { question } = kase;
  if (!question) return false;
  if (question.kind !== 'check') return true;
  const table = tables.checks.get(question.step);
  const row = table?.rows[table.outcomes.indexOf(id)];
  if (!row) return true;
  const rows = evidence(tables, kase.answers, settings.community.reliability);
  const before = believe(tables.prior, rows).faults;
  const after = believe(tables.prior, [...rows, { seq: 0, step: question.step, row }]).faults;
  return after.some((p, f) => Math.abs(p - (before[f] as number)) > decisive);
}

/** The answers that were there when this was asked for are other ones now. */
const renumbered = ({ corrected }: View): Turn | null =>
  corrected.dropped
    ? turn(
        [],
        say('Some answers are gone just now, so I took none back. “Where are we?” shows what is left.'),
      )
    : null;

function change(view: View, place: number, who: Who): Turn {
  const other = renumbered(view);
  if (other) return other;
  const shown = answersShown(view.kase, view.tables.flow);
  const entry = shown[place - 1];
  if (!entry) return turn([], say(`There is no answer number ${place}. “Where are we?” shows them.`));
  return turn(
    [{ ...who, kind: 'undone', undone: entry.seq, again: true }],
    say(`Taken back: ${entry.words}`),
  );
}

function asked(view: View, control: Control, who: Who): Turn {
  const { kase, tables } = view;
  const settled = kase.state === 'settled';
  switch (control) {
    case 'card':
      return turn([], cardMessage(view, kase.handover?.next ?? null));
    case 'where':
      return turn([], ...where(view));
    case 'again':
      if (settled || kase.stopped) {
        return kase.flags.some((flag) => flag.sure)
          ? turn([], say('There was a sign of danger in this case. A moderator has to look at it first.'))
          : turn(takenUp(kase, who), say('Good, we take it up again.'));
      }
      return turn([], say(kase.question ? 'This is the open question:' : openNow(view)));
    case 'mine':
      return turn([], say('This is your case here:', [`${tables.flow.title}. ${openNow(view)}`]));
    case 'forget':
      if (who.by !== kase.asker && !personOf(kase, who.by)?.roles.includes('moderator'))
        return turn([], {
          kind: 'whisper',
          to: who.by,
          words: 'Only the owner or a moderator can have this forgotten.',
        });
      return turn(
        [{ ...who, kind: 'forgotten' }],
        say('Your words, names and photos are taken out of this case.'),
      );
    case 'stop':
      if (asksAfter(kase)) return answered(view, refusal(kase, who), who);
      // What is with people stays on their list.
      return settled || kase.state === 'with people'
        ? (elsewhere(view) as Turn)
        : turn(
            [{ ...who, kind: 'stopped' }],
            say(
              coversOff(kase) > 0
                ? `We stop here. ${stillOpen} Come back any time.`
                : 'We stop here. Come back any time, and we go on.',
            ),
          );
    case 'person':
      return kase.state === 'with people' || settled
        ? (elsewhere(view) as Turn)
        : turn([{ ...who, kind: 'handed-over', reason: 'asked', danger: false, next: null }]);
    case 'why':
      return kase.question || waits(kase)
        ? turn([], why(view))
        : (idle(view) ?? waking(view, who) ?? turn([]));
    case 'undo':
      return undo(view, who);
    case 'unsure':
    case 'cannot': {
      const without = outdated(view) ?? idle(view) ?? waking(view, who);
      if (without) return without;
      return kase.question
        ? answered(view, answerSetAside(kase, kase.question, control, who, tables.flow), who)
        : turn([], noQuestion);
    }
    default:
      return control satisfies never;
  }
}

function undo(view: View, who: Who): Turn {
  const { kase, tables, settings } = view;
  if (kase.state === 'settled' && kase.followed?.of === `end:${kase.outcome?.at}` && !asksAfter(kase))
    return turn(
      [{ ...who, kind: 'follow-up-reopened' }],
      say(`Taken back: ${inline(answerLabel(kase.followed.result))}.`),
    );
  if (kase.state === 'with people' || kase.state === 'settled') return elsewhere(view) as Turn;
  if (kase.world.readings.length > 0 && kase.question?.kind === 'prove') {
    const why =
      'Taken back: the measurements of this proof. It begins again, so that none of them is in doubt.';
    return turn([{ ...who, kind: 'proof-dropped', why }], say(why));
  }
  const other = renumbered(view);
  if (other) return other;
  const last = kase.answers.at(-1);
  if (!last && mayBeAnother(kase, settings))
    return turn([{ ...who, kind: 'flow-left' }], say(`Taken back: ${inline(tables.flow.title)}.`));
  if (!last) return turn([], say(`There is nothing to take back. ${openNow(view)}`));
  const opened = coversOff(kase) > 0 || kase.world.proof !== null;
  return turn(
    [{ ...who, kind: 'undone', undone: last.seq, again: true }],
    say(
      `Taken back: ${answerWords(last, tables.flow)}.${opened ? ' To be safe, what was measured before counts as charged again.' : ''}`,
    ),
  );
}

/** More than so late, and a timer says so, milliseconds. */
const lateAfter = 5 * 60_000;
/** The same of a part, which nobody waits for by the minute. */
const partLateAfter = 60 * 60_000;

function rang(view: View, key: string, who: Who): Turn {
  const { kase, settings } = view;
  const { rest } = kase;
  if (kase.stopped) return turn([]);
  if (rest === null || rest.key !== key) return followUpRang(view, key, who) ?? turn([]);
  // A timer that comes before its time, by a clock set back or for a wait that was begun anew, is set again.
  if (who.at < rest.due) return turn([], reminder(kase, key, rest.due));
  const part = key.startsWith('part:') ? orderOf(kase, key.slice('part:'.length)) : null;
  if (part !== null && !isCivilFor(kase, settings.community, who.at))
    return turn(moved(kase, settings.community, who));
  const late = who.at - rest.due;
  return turn(
    [
      { ...who, kind: 'woken', key },
      ...(part !== null && mayChase(kase, part)
        ? [{ ...who, kind: 'follow-up-due' as const, about: 'part' as const, of: part }]
        : []),
    ],
    say(
      part === null
        ? late > lateAfter
          ? `The time is over. I am ${minutesWords(late / 60_000)} late; I am sorry.`
          : 'The time is over.'
        : late > partLateAfter
          ? `The part should be here by now. I meant to ask ${minutesWords(late / 60_000)} ago; I am sorry.`
          : 'The part should be here by now.',
    ),
  );
}

function changed(view: View, inbound: Extract<Inbound, { kind: 'changed' }>, who: Who): Turn {
  switch (inbound.what) {
    case 'edited':
      return readsAsAnswer(view, inbound.words ?? '')
        ? turn(
            [],
            say(
              'I saw that you changed a message. I count only what is said new: please choose an answer, or say “change” with its number.',
            ),
          )
        : turn([]);
    case 'deleted':
      return turn([]);
    case 'gone': {
      // Where the thread is gone, nobody can be asked.
      const unasked: Unnumbered[] = view.kase.quiet ? [] : [{ ...who, kind: 'follow-ups-refused' }];
      return turn(elsewhere(view) ? unasked : [...unasked, { ...who, kind: 'stopped' }]);
    }
    case 'undelivered':
      // Whoever has the case sees for themselves what arrived.
      return who.by !== deskId || elsewhere(view)
        ? turn([])
        : turn([{ ...who, kind: 'handed-over', reason: 'undelivered', danger: false, next: null }]);
    default:
      return inbound.what satisfies never;
  }
}
