import type { Case, Event, Question, Unnumbered } from '../../shared/case.ts';
import type { Flow } from '../../shared/flow.ts';
import type { Inbound } from '../../shared/inbound.ts';
import type { Outbound } from '../../shared/outbound.ts';
import type { Safety } from '../../shared/outcome.ts';
import { asking, askMessage } from './ask.ts';
import { benchMessages } from './bench.ts';
import { closingOf, safetyOf } from './closing.ts';
import { fixed, handoverMessage, settleMessage } from './ending.ts';
import { figures, goingOn, nameOf, whileOpen } from './explain.ts';
import { closedBy, flowChangeWords, flowEvents } from './flow-change.ts';
import { followUpSet, ringsAtNight, timersGone } from './follow-up.ts';
import { chasing, reminder } from './follow-up-time.ts';
import { type Corrected, keyed, look, type Next, next, type View } from './next.ts';
import { noGuide } from './no-guide.ts';
import { fold, number } from './reduce.ts';
import { gate } from './safety.ts';
import { libraryOf, type Settings } from './settings.ts';
import { type Tables, tabulate } from './tables.ts';
import { joined, take } from './take.ts';
import { deskId, say } from './turn.ts';
import { unchosen } from './unchosen.ts';
import { minutesWords } from './wording.ts';

/**
 * One turn: a case and what reached it, to what happened and what is sent. Pure: the same arguments give the same
 * result. The story: see that the case follows the flow as it is now; take in what came; then, as long as the case is
 * ours and nothing is open, see what comes next; and put a question only when the gate lets it pass. `latest` is the
 * case's flow as its file has it now; the flow of another appliance says that the file is gone. `after` is the case with
 * the events in it, as `fold` makes it.
 */
export function step(
  kase: Case,
  inbound: Inbound,
  latest: Flow,
  settings: Settings,
): { events: Event[]; outbound: Outbound[]; after: Case } {
  let flow = followed(kase, latest, settings);
  let tables = tablesOf(flow, settings);
  const demonstration = inbound.demonstration === true;
  const desk = { by: deskId, at: inbound.at, ...(demonstration ? { demonstration: true as const } : {}) };
  let corrected: Corrected = { closed: false, dropped: false };
  const at = (state: Case): View => look(state, tables, settings, inbound.at, demonstration, corrected);

  const events: Event[] = [];
  let now = kase;
  /** What follows from it to be said. */
  const happen = (unnumbered: readonly Unnumbered[]): Outbound[] => {
    const before = now;
    const fresh = number(now, unnumbered);
    now = fold(now, fresh);
    if (now.flow !== before.flow) {
      flow = followed(now, latest, settings);
      tables = tablesOf(flow, settings);
    }
    events.push(...fresh);
    return fresh.flatMap((event) => announced(event, before, at(now)));
  };
  const asleep = inbound.kind === 'rang' && ringsAtNight(kase, inbound.key, settings.community, inbound.at);
  const follow = (): Outbound[] => {
    // What a correction would ask instead waits for the morning, too.
    if (asleep) return [];
    const news = flowEvents(now, flow, desk, settings.numbers?.get(flow.flow));
    const changed = news.find((event) => event.kind === 'flow-changed');
    if (changed) corrected = { closed: closedBy(now) !== null, dropped: changed.dropped.length > 0 };
    return happen(news);
  };

  happen(joined(now, inbound));
  const news = follow();
  const taken = take(at(now), inbound);
  const follows = happen(taken.events);
  const warns = ({ kind }: Outbound): boolean => kind === 'warn';
  const outbound: Outbound[] = [
    // Danger is told before all else, and what is said at once before what follows from it.
    ...taken.outbound.filter(warns),
    ...news,
    ...taken.outbound.filter((one) => !warns(one)),
    ...follows,
    // A settled case may have been taken up again.
    ...follow(),
  ];
  const rung = inbound.kind === 'rang' ? inbound.key : null;
  const takenBack = new Set<string>();
  const takeBack = (): void => {
    for (const key of timersGone(kase, now, rung)) {
      if (!takenBack.has(key)) outbound.push({ kind: 'unremind', key });
      takenBack.add(key);
    }
  };
  takeBack();

  // A turn puts one question at most; a doubt or a rest comes before it. The bound is never met: see the tests.
  for (let round = 0; round < 5; round++) {
    const view = at(now);
    const what = next(view);
    if (what.kind === 'nothing') break;
    if (what.kind === 'question') {
      const question = keyed(what.question, now, flow);
      const refusal = gate(question, now, flow, inbound.at, demonstration);
      if (refusal === null) {
        const plan = unplanned(question) ? null : figures(view);
        const { ask, told } = asking(question, now, flow, settings, plan, notesFor(question, view));
        outbound.push(...happen([{ ...desk, kind: 'put', question, told }]), ask);
        break;
      }
      outbound.push(
        ...happen(eventsOf({ kind: 'handover', reason: 'refused', refusal, next: null }, desk, view)),
      );
      break;
    }
    outbound.push(...happen(eventsOf(what, desk, view)));
  }

  const asksAgain = inbound.kind === 'asked' && inbound.what === 'again' && taken.events.length === 0;
  // One that was put in this very turn stands there already.
  if (asksAgain && now.question !== null && now.question.key === kase.question?.key) {
    outbound.push(...repeated(at(now), now.question));
  }
  takeBack();
  const later = followUpSet(now, settings.community, desk);
  if (later) outbound.push(...happen([later]));
  if (events.length > 0) outbound.push(...benchMessages(kase, at(now), events));
  const marked = now.demonstration
    ? outbound.map((one) => ({ ...one, mark: 'demonstration' as const }))
    : outbound;
  return { events, outbound: marked, after: now };
}

/** The flow that leads a case: none where it has to be chosen yet, and one that knows nothing where its file is gone. */
function followed({ flow }: Case, latest: Flow, settings: Settings): Flow {
  const library = libraryOf(settings);
  if (flow === null) return library ? unchosen : latest;
  return latest.flow === flow ? latest : (library?.flows.find((one) => one.flow === flow) ?? noGuide(flow));
}

/** Danger is not weighed; before the appliance is known, and once it works, there is nothing to plan. */
const unplanned = ({ kind }: Question): boolean =>
  kind === 'flag' || kind === 'appliance' || kind === 'closing' || kind === 'follow-up';

function notesFor(question: Question, view: View): string[] {
  if (question.kind === 'replace') return goingOn(view);
  return question.inside ? whileOpen(view, question.step) : [];
}

/** The open question once more, unless it counts as powered by now and would have to be prepared anew. */
function repeated(view: View, question: Question): Outbound[] {
  const { kase, tables, settings, at, demonstration } = view;
  const ask = askMessage(
    question,
    kase,
    tables.flow,
    settings,
    unplanned(question) ? null : figures(view),
    [],
  );
  return gate(question, kase, tables.flow, at, demonstration) === null
    ? [{ ...ask, number: kase.asked }]
    : [
        say(
          `It is still this one: ${ask.title}. ${ask.question} If you lost your way, take the last answer back with “undo”, and we prepare it again.`,
        ),
      ];
}

function safetyIn({ kase, tables, settings }: View): { readonly safety?: Safety } {
  const safety = safetyOf(closingOf(kase, tables.flow, settings.community));
  return safety ? { safety } : {};
}

function eventsOf(
  what: Exclude<Next, { kind: 'question' | 'nothing' }>,
  desk: { by: string; at: number },
  view: View,
): Unnumbered[] {
  switch (what.kind) {
    case 'rest':
      return [{ ...desk, kind: 'rested', key: what.key, due: what.due, reason: what.reason }];
    case 'doubt':
      return [{ ...desk, kind: 'doubted', step: what.answer.step, undone: what.answer.seq }];
    case 'handover':
      return [
        {
          ...desk,
          kind: 'handed-over',
          reason: what.reason,
          danger: view.kase.flags.some((flag) => flag.sure),
          next: what.next,
        },
      ];
    case 'fixed':
      return [
        {
          ...desk,
          kind: 'settled',
          outcome: 'Fixed',
          fault: fixed(view),
          barrier: null,
          ...safetyIn(view),
        },
      ];
  }
}

/** What an event makes us say, whoever caused it. */
function announced(event: Event, before: Case, view: View): Outbound[] {
  switch (event.kind) {
    case 'flow-changed':
      return flowChangeWords(before, event, view.tables.flow, view.settings);
    case 'rested':
      return [
        say(
          `Now we wait ${minutesWords((event.due - event.at) / 60_000)}: ${event.reason}. I come back by myself.`,
        ),
        { kind: 'remind', key: event.key, due: event.due, reason: event.reason },
      ];
    case 'follow-up-set':
      return [reminder(view.kase, event.key, event.due)];
    case 'follow-up-due':
      // The end of a wait is told by itself.
      return before.followUp?.of === event.of ? chasing(before, view, event.of) : [];
    case 'doubted':
      return [
        say(
          `Some answers do not fit together, most of all “${nameOf(event.step, view.tables.flow)}”. Before I build on it, I ask that one again.`,
        ),
      ];
    case 'handed-over':
      return [handoverMessage(view, event)];
    case 'settled':
      return settleMessage(view, event);
    case 'flow-taken':
      return staysClosed(view.tables.flow);
    default:
      return [];
  }
}

/** Said before anything is asked about it. */
function staysClosed({ never_open: never, noun }: Flow): Outbound[] {
  if (!never) return [];
  const instruction = `Please leave your ${noun} closed, whatever else we try.`;
  return [{ kind: 'warn', word: 'WARNING', instruction, words: `${never.why} ${never.who}` }];
}

const known = new WeakMap<Flow, Map<string, Tables>>();

/** The flow's tables, worked out once for each flow and setting; a cache of a pure function. */
export function tablesOf(flow: Flow, settings: Settings): Tables {
  const { floor, country } = settings.community;
  const key = `${floor}:${country.mains_volts}`;
  const byKey = known.get(flow) ?? new Map<string, Tables>();
  known.set(flow, byKey);
  const tables = byKey.get(key) ?? tabulate(flow, { floor, mainsVolts: country.mains_volts });
  byKey.set(key, tables);
  return tables;
}
