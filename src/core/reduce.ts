import type {
  Answer,
  Case,
  Event,
  Happening,
  Participant,
  Question,
  Unnumbered,
  World,
} from '../../shared/case.ts';
import { subjectOf, timesAsked } from './follow-up.ts';

/** What an event changes in a case. Nothing here decides; the same events give the same case. */

const untouched: World = {
  open: [],
  lost: [],
  // Until it is unplugged and proven, an appliance may hold a charge.
  charged: true,
  altered: null,
  unplugged: null,
  readings: [],
  proof: null,
  live: null,
};

export function emptyCase(id: string): Case {
  return {
    id,
    seq: 0,
    state: 'asking',
    flow: null,
    version: null,
    follows: null,
    numbers: 'file',
    asker: '',
    hands: '',
    people: {},
    words: [],
    photos: [],
    suggested: [],
    proposed: [],
    answers: [],
    world: untouched,
    entered: false,
    question: null,
    toward: null,
    told: [],
    asked: 0,
    again: null,
    doubted: [],
    guess: null,
    flags: [],
    alarm: false,
    clearance: null,
    rest: null,
    stuck: 0,
    handover: null,
    spoke: null,
    advice: [],
    outcome: null,
    followUp: null,
    chased: {},
    followed: null,
    quiet: false,
    hour: null,
    opened: 0,
    demonstration: false,
    stopped: false,
  };
}

/** Numbers new events after the case's last one. */
export const number = (kase: Case, events: readonly Unnumbered[]): Event[] =>
  events.map((event, i) => ({ ...event, seq: kase.seq + 1 + i }) as Event);

/** The fold. */
export const fold = (kase: Case, events: readonly Event[]): Case => events.reduce(reduce, kase);

export function reduce(kase: Case, event: Event): Case {
  const next: Case = {
    ...kase,
    seq: event.seq,
    demonstration: kase.demonstration || event.demonstration === true,
    toward: prepares.has(event.kind) ? kase.toward : null,
  };
  const after = isAnswer(event) ? afterAnswer(next, event) : afterHappening(next, event);
  // Nothing is asked after that is over.
  return after.followUp !== null && subjectOf(after)?.of !== after.followUp.of
    ? { ...after, followUp: null }
    : after;
}

/** Nothing is learnt from these, so what they prepare stands. */
const prepares: ReadonlySet<Event['kind']> = new Set<Event['kind']>([
  'unplugged',
  'stage-opened',
  'shut',
  'proof-read',
  'proof-dropped',
  'proven',
  'live-agreed',
  'rested',
  'woken',
  'guessed',
  'noted',
  'photographed',
  'follow-up-set',
  'follow-up-due',
  'follow-ups-refused',
  'hour-stated',
]);

const answerKinds: ReadonlySet<Event['kind']> = new Set<Answer['kind']>([
  'complaint-stated',
  'detail-stated',
  'level-stated',
  'meter-stated',
  'answered',
  'read',
  'set-aside',
  'part-ordered',
  'part-arrived',
  'remedy-done',
  'tested',
  'safety-tested',
]);
export const isAnswer = (event: Event): event is Answer => answerKinds.has(event.kind);

function afterAnswer(kase: Case, answer: Answer): Case {
  const answers = [...kase.answers, answer];
  // What somebody else adds meanwhile ends no wait; only the wait for a part is over with an answer.
  const waits = kase.stopped || (kase.rest !== null && !kase.rest.key.startsWith('part:'));
  const base: Case = {
    ...kase,
    answers,
    state: kase.state === 'resting' && !waits ? 'asking' : kase.state,
    question: null,
    rest: waits ? kase.rest : null,
    again: null,
    guess: null,
    world: seenFromFront(kase, answer) ? { ...kase.world, open: [], lost: [] } : kase.world,
  };
  switch (answer.kind) {
    case 'set-aside':
      return { ...base, stuck: kase.stuck + 1 };
    case 'part-ordered':
      // Before all else it is asked whether it has come.
      return { ...base, stuck: 0, again: answer.step };
    case 'level-stated':
    case 'meter-stated':
      // A changed level or meter starts inside work anew.
      return { ...base, world: unproven(base.world) };
    case 'complaint-stated':
      return { ...base, proposed: [], stuck: 0 };
    default:
      return { ...base, stuck: 0 };
  }
}

/** Whoever tells what a look showed has put the covers back on before; until then they count as off. */
function seenFromFront({ question, hands }: Case, answer: Answer): boolean {
  const told = answer.kind === 'answered' || answer.kind === 'read';
  return told && answer.by === hands && question?.step === answer.step && question.power === 'look';
}

const unproven = (world: World): World => ({
  ...world,
  charged: true,
  readings: [],
  proof: null,
  live: null,
});

/** Out of our sight for a while: nobody knows whether it was plugged in. Covers that were off count as off. */
const unseen = (world: World): World => ({ ...unproven(world), unplugged: null });

function afterHappening(kase: Case, event: Happening): Case {
  const { world } = kase;
  switch (event.kind) {
    case 'opened':
      return {
        ...kase,
        asker: event.by,
        hands: event.by,
        words: spoken([], event.words),
        opened: event.at,
      };
    case 'suggested':
      return { ...kase, suggested: event.appliances, question: null, guess: null };
    case 'flow-taken':
      return {
        ...kase,
        flow: event.flow,
        version: event.version,
        follows: event.version,
        numbers: 'file',
        question: null,
        guess: null,
      };
    case 'flow-left':
      return {
        ...kase,
        flow: null,
        version: null,
        follows: null,
        numbers: 'file',
        suggested: [],
        proposed: [],
        // What somebody may do and has at hand is not the appliance's.
        answers: kase.answers.filter(({ kind }) => kind === 'level-stated' || kind === 'meter-stated'),
        question: null,
        again: null,
        guess: null,
        doubted: [],
        stuck: 0,
        world: { ...unseen(world), altered: null },
      };
    case 'numbers-taken':
      return { ...kase, numbers: event.numbers };
    case 'flow-changed': {
      const off = [...world.open, ...world.lost];
      return {
        ...kase,
        follows: event.version,
        state: event.ended && kase.state === 'resting' && !kase.stopped ? 'asking' : kase.state,
        rest: event.ended ? null : kase.rest,
        answers: kase.answers
          .filter((answer) => !event.dropped.includes(answer.seq))
          .map((answer) => (answer.kind === 'tested' ? without(answer, event.gone) : answer)),
        // What is asked about danger is not the flow's.
        question: kase.question?.kind === 'flag' ? kase.question : null,
        guess: null,
        world: {
          ...unproven(world),
          open: event.open,
          lost: off.filter((stage) => !event.open.includes(stage)),
        },
      };
    }
    case 'joined': {
      // Whoever's standing changed has to prove again, from the first reading.
      const again = event.person === kase.hands && Object.hasOwn(kase.people, event.person);
      const proving = kase.question?.kind === 'prove' || kase.question?.kind === 'live';
      return {
        ...kase,
        people: {
          ...kase.people,
          [event.person]: { id: event.person, name: event.name, level: event.level, roles: event.roles },
        },
        question: again && proving ? null : kase.question,
        world: again ? unproven(world) : world,
      };
    }
    case 'noted':
      return {
        ...kase,
        words: spoken(kase.words, event.words),
        spoke: { by: event.by, at: event.at },
        handover:
          kase.handover && event.by === kase.asker ? { ...kase.handover, heard: true } : kase.handover,
      };
    case 'photographed':
      return { ...kase, photos: [...kase.photos, ...event.references] };
    case 'proposed':
      return { ...kase, proposed: event.complaints, question: null };
    case 'put':
      return {
        ...kase,
        // A doubt is asked about while people have the case, too; it stays with them. What is asked after the end opens nothing.
        state:
          kase.state === 'with people' || kase.state === 'settled'
            ? kase.state
            : kase.rest
              ? 'resting'
              : 'asking',
        followUp: kase.followUp && { ...kase.followUp, asks: false },
        question: event.question,
        toward: event.question.toward ?? null,
        told: [...kase.told, ...event.told],
        asked: kase.asked + 1,
        guess: null,
        world: afterPut(world, event.question),
      };
    case 'guessed':
      return { ...kase, guess: event.answer };
    case 'undone': {
      // Whoever takes something back while the charge falls may have left the plug in: the wait begins again.
      const falling = kase.rest?.key === 'discharge';
      const waits = kase.stopped;
      return {
        ...kase,
        state: kase.state === 'resting' && !waits ? 'asking' : kase.state,
        rest: waits ? kase.rest : null,
        answers: kase.answers.filter((answer) => answer.seq !== event.undone),
        question: null,
        again: event.again ? stepOf(kase.answers.find((answer) => answer.seq === event.undone)) : null,
        followed: backByMistake(kase, event.undone) ? null : kase.followed,
        guess: null,
        stuck: 0,
        world: falling ? unseen(world) : unproven(world),
      };
    }
    case 'doubted':
      return {
        ...kase,
        doubted: [...kase.doubted, event.step],
        answers: kase.answers.filter((answer) => answer.seq !== event.undone),
        question: null,
        again: event.step,
        guess: null,
        stuck: 0,
      };
    case 'unplugged':
      return {
        ...kase,
        question: null,
        world: {
          ...world,
          unplugged: { at: event.at, by: event.by, demonstration: event.demonstration === true },
          readings: [],
          proof: null,
          live: null,
        },
      };
    case 'stage-opened':
      // Whatever was tested before counts no more.
      return {
        ...kase,
        entered: true,
        answers: untested(kase.answers),
        question: null,
        world: { ...world, open: [...world.open, event.stage] },
      };
    case 'shut':
      return { ...kase, question: null, world: { ...world, open: [], lost: [], live: null } };
    case 'proof-read': {
      const reading = { point: event.point, value: event.value, at: event.at };
      const { unplugged } = world;
      return {
        ...kase,
        question: null,
        world: {
          ...world,
          readings: [...world.readings, reading],
          // Measured under a moved clock, all of the preparation holds on that clock only.
          unplugged: unplugged && event.demonstration ? { ...unplugged, demonstration: true } : unplugged,
        },
      };
    }
    case 'proof-dropped':
      // Proofs that come to nothing again and again are a case for people.
      return { ...kase, question: null, stuck: kase.stuck + 1, world: unproven(world) };
    case 'proven':
      return {
        ...kase,
        question: null,
        world: {
          ...world,
          charged: false,
          readings: [],
          live: null,
          proof: { by: event.by, at: event.at, demonstration: event.demonstration === true },
        },
      };
    case 'live-agreed':
      return {
        ...kase,
        question: null,
        world: { ...world, live: { step: event.step, by: event.by, at: event.at } },
      };
    case 'flagged':
      return {
        ...kase,
        ...heeded(kase),
        question: null,
        // A guess at what happened does not answer what the danger button asked.
        alarm: kase.alarm && !event.sure,
        flags: [
          ...kase.flags.filter((flag) => flag.flag !== event.flag),
          {
            flag: event.flag,
            sure: event.sure,
            // Whoever only says yes to it leaves the words of who spoke of it first.
            words: event.words || (kase.flags.find((flag) => flag.flag === event.flag)?.words ?? ''),
            at: event.at,
          },
        ],
        world: unseen(world),
      };
    case 'alarmed':
      return { ...kase, ...heeded(kase), alarm: true, question: null, world: unseen(world) };
    case 'all-clear':
      return { ...kase, alarm: false, question: null };
    case 'unflagged':
      return { ...kase, question: null, flags: kase.flags.filter((flag) => flag.flag !== event.flag) };
    case 'cleared':
      return {
        ...kase,
        question: null,
        clearance: {
          tier: event.tier,
          person: event.person,
          by: event.by,
          reason: event.reason,
          at: event.at,
        },
        world: unproven(world),
      };
    case 'rested':
      return {
        ...kase,
        state: 'resting',
        question: null,
        rest: { key: event.key, due: event.due, reason: event.reason },
      };
    case 'woken':
      return { ...kase, state: 'asking', rest: null, question: null };
    case 'handed-over':
      return {
        ...kase,
        state: 'with people',
        stopped: false,
        question: null,
        rest: null,
        handover: {
          reason: event.reason,
          danger: event.danger,
          at: event.at,
          next: event.next,
          taken: null,
          heard: false,
        },
        world: unseen(world),
      };
    case 'taken':
      return {
        ...kase,
        state: 'with people',
        stopped: false,
        question: null,
        rest: null,
        outcome: null,
        hands: event.hands ? event.by : kase.hands,
        handover: {
          ...(kase.handover ?? { reason: 'asked', danger: false, at: event.at, next: null, heard: false }),
          taken: event.by,
        },
        world: unseen(world),
      };
    case 'advised':
      return event.words === ''
        ? kase
        : { ...kase, advice: [...kase.advice, { by: event.by, words: event.words, at: event.at }] };
    case 'handed-back':
      return {
        ...kase,
        state: 'asking',
        answers: untested(kase.answers),
        question: null,
        handover: null,
        stuck: 0,
        world: unseen(world),
      };
    case 'stopped':
      return { ...kase, state: 'resting', stopped: true, question: null, rest: null, world: unseen(world) };
    case 'taken-up-again':
      return {
        ...kase,
        state: 'asking',
        answers: untested(kase.answers),
        stopped: false,
        quiet: false,
        question: null,
        rest: null,
        handover: null,
        outcome: null,
        stuck: 0,
        world: unseen(world),
      };
    case 'settled':
      return {
        ...kase,
        state: 'settled',
        stopped: false,
        question: null,
        rest: null,
        outcome: {
          outcome: event.outcome,
          fault: event.fault,
          barrier: event.barrier,
          ...(event.safety ? { safety: event.safety } : {}),
          by: event.by,
          at: event.at,
        },
      };
    case 'follow-up-set':
      if (kase.rest?.key === event.key) return { ...kase, rest: { ...kase.rest, due: event.due } };
      return {
        ...kase,
        followUp: { about: event.about, of: event.of, key: event.key, due: event.due, asks: false },
      };
    case 'follow-up-due':
      return {
        ...kase,
        chased: { ...kase.chased, [event.of]: timesAsked(kase, event.of) + 1 },
        followUp: kase.followUp && {
          ...kase.followUp,
          due: null,
          asks: event.about === 'outcome' && kase.question === null,
        },
      };
    case 'followed-up':
      return followedUp(kase, event);
    case 'follow-up-reopened':
      return {
        ...kase,
        question: null,
        followed: null,
        outcome: kase.outcome && { ...kase.outcome, ...kase.followed?.was },
        followUp: kase.followed && {
          about: 'outcome',
          of: kase.followed.of,
          key: `after:${kase.followed.of}`,
          due: null,
          asks: true,
        },
      };
    case 'follow-ups-refused':
      return quieted(kase);
    case 'hour-stated':
      return { ...kase, hour: event.hour };
    case 'forgotten':
      return {
        ...quieted(kase),
        state: 'settled',
        stopped: false,
        question: null,
        rest: null,
        flags: kase.flags.map((flag) => ({ ...flag, words: '' })),
        words: [],
        photos: [],
        advice: [],
        people: Object.fromEntries(Object.keys(kase.people).map((id) => [id, unnamed(kase, id)])),
        answers: kase.answers.map((answer) => (answer.kind === 'read' ? { ...answer, typed: '' } : answer)),
        clearance: kase.clearance && { ...kase.clearance, reason: '' },
        // What a settled case came to still counts: in records, and, where it only grew old, for learning.
        outcome:
          kase.state === 'settled' && kase.outcome
            ? kase.outcome
            : { outcome: 'Unknown', fault: null, barrier: null, by: event.by, at: event.at },
      };
    case 'erased':
      // The words come back empty from the journal; the name is gone at once, and who has gone is not asked any more.
      return Object.hasOwn(kase.people, event.person)
        ? {
            ...(event.person === kase.asker ? quieted(kase) : kase),
            people: { ...kase.people, [event.person]: unnamed(kase, event.person) },
          }
        : kase;
    default:
      return event satisfies never;
  }
}

/** Nobody is asked any more: what was open for that alone is closed, and a part is waited for without a timer. */
function quieted(kase: Case): Case {
  const parcel = kase.rest?.key.startsWith('part:') === true;
  return {
    ...kase,
    quiet: true,
    state: parcel && kase.state === 'resting' && !kase.stopped ? 'asking' : kase.state,
    rest: parcel ? null : kase.rest,
    followUp: null,
    question: kase.question?.kind === 'follow-up' ? null : kase.question,
  };
}

function followedUp(kase: Case, { of, result, by, at }: Extract<Happening, { kind: 'followed-up' }>): Case {
  const { outcome } = kase;
  const was = { outcome: outcome?.outcome ?? ('Unknown' as const), barrier: outcome?.barrier ?? null };
  const now = result === 'repaired' ? 'Fixed' : result === 'given-up' ? 'End of life' : null;
  return {
    ...kase,
    question: null,
    guess: null,
    followed: { of, result, by, at, was },
    outcome: outcome && now ? { ...outcome, outcome: now, barrier: null } : outcome,
  };
}

/** That a fault was back made a test of its own; taken back, it was not back. */
function backByMistake({ followed, answers }: Case, undone: number): boolean {
  const answer = answers.find(({ seq }) => seq === undone);
  return followed?.result === 'back' && answer?.kind === 'tested' && answer.at === followed.at;
}

/** Words that were erased are none. */
const spoken = (before: readonly string[], words: string): string[] =>
  words === '' ? [...before] : [...before, words];

const unnamed = ({ people }: Case, id: string): Participant => ({ ...(people[id] as Participant), name: '' });

/** The closing tests are made anew; the rest of the answers stands. */
const untested = (answers: readonly Answer[]): Answer[] =>
  answers.filter(({ kind }) => kind !== 'safety-tested');

type Tested = Extract<Answer, { kind: 'tested' }>;
const without = (answer: Tested, gone: readonly string[]): Tested => ({
  ...answer,
  remedies: answer.remedies.filter((remedy) => !gone.includes(remedy)),
});

/** Danger is asked about in a rest, too. A wait for the charge begins anew afterwards, since nobody saw the plug meanwhile. */
function heeded(kase: Case): Pick<Case, 'state' | 'rest' | 'stopped'> {
  const rest = kase.rest?.key === 'discharge' ? null : kase.rest;
  return { state: kase.state === 'resting' && rest === null ? 'asking' : kase.state, rest, stopped: false };
}

/** Putting a question that powers the appliance counts as power from that moment, whatever comes back. */
function afterPut(world: World, { step, power, inside }: Question): World {
  // A look is put right by the next step inside, whose instructions begin with it.
  const altered = inside ? null : world.altered;
  switch (power) {
    case 'none':
      return { ...world, altered };
    case 'on':
      return { ...unseen(world), altered };
    case 'look':
      // The covers go back on before power, but who cannot do it may stop half-way: they count as off until it is told.
      return { ...unseen(world), altered: step };
    default:
      return power satisfies never;
  }
}

/** The flow's id that an answer is about; for a test, the last remedy tried. */
export function stepOf(answer: Answer | undefined): string | null {
  if (!answer) return null;
  switch (answer.kind) {
    case 'complaint-stated':
      return 'complaint';
    case 'detail-stated':
      return answer.detail;
    case 'level-stated':
      return 'level';
    case 'meter-stated':
      return 'meter';
    case 'tested':
      return 'test';
    case 'safety-tested':
      return answer.test;
    default:
      return answer.step;
  }
}
