import fc from 'fast-check';
import type { Case } from '../../shared/case.ts';
import type { Flow, Level } from '../../shared/flow.ts';
import { type Act, Control, type Inbound } from '../../shared/inbound.ts';
import type { Ask } from '../../shared/outbound.ts';
import { RepairOutcome } from '../../shared/outcome.ts';
import type { Person } from '../../shared/person.ts';
import { RedFlag } from '../../shared/red-flag.ts';

/** What people may do next in a conversation, in a form that fast-check can draw and shrink. */
export type Move =
  /** The helpful answer to whatever is open, or what ends the waiting. `n` picks among findings. */
  | { readonly kind: 'good'; readonly n: number }
  | { readonly kind: 'tap'; readonly n: number; readonly who: number; readonly keyed: boolean }
  | { readonly kind: 'late'; readonly n: number; readonly back: number; readonly who: number }
  | { readonly kind: 'say'; readonly words: string; readonly who: number }
  | { readonly kind: 'label'; readonly n: number; readonly who: number }
  | { readonly kind: 'number'; readonly typed: string; readonly who: number; readonly form: boolean }
  | { readonly kind: 'ask'; readonly what: Control; readonly who: number }
  | { readonly kind: 'act'; readonly act: Act; readonly who: number }
  | { readonly kind: 'photo'; readonly who: number }
  | {
      readonly kind: 'change';
      readonly what: 'edited' | 'deleted' | 'gone';
      readonly words: string;
      readonly who: number;
    }
  | { readonly kind: 'open'; readonly words: string; readonly who: number }
  | { readonly kind: 'ring'; readonly key: 'right' | 'after' | 'wrong' }
  /** A message of the desk's was given up. */
  | { readonly kind: 'astray' }
  | { readonly kind: 'time'; readonly minutes: number }
  | { readonly kind: 'due'; readonly late: number }
  | { readonly kind: 'clock' }
  | { readonly kind: 'standing'; readonly who: number; readonly level: Level | null; readonly roles: number }
  | { readonly kind: 'again' };

export const sureWords = [
  'smoke is coming out',
  'there was a loud bang and sparks',
  'I got an electric shock',
  'it is on fire',
];
export const doubtWords = [
  'maybe it smoked a little?',
  'could it catch fire?',
  'I am not sure if I smell gas',
];
const harmlessWords = [
  'no smoke',
  'no sparks, no bang, no smell of burning',
  '',
  ' ',
  'yes',
  'no',
  'ok',
  'done',
  'it is off',
  'ask me at 7 pm',
  'not before 21:00',
  'remind me at 6',
  'do not ask me again',
  'yes, still fine',
  'it is broken again',
  'both',
  'stop',
  'undo',
  'undo',
  'undo',
  'why?',
  'where are we',
  'again',
  'change 1',
  'change 2',
  'change 4',
  'change 999',
  'card',
  'danger',
  'not sure',
  "can't",
  'it is silent',
  'it hums, and it is silent',
  'nothing lights up at all',
  'none of these',
  'constructor',
  '__proto__',
  'hasOwnProperty',
  'toString',
  '\u{1f525}\u{1f525} \u200b\u0000 \ud800',
  '\u0664\u066b\u0669\u0667',
  'my name is Quillon Ferrow',
  'x'.repeat(20_000),
  'no '.repeat(6_000),
  '1 '.repeat(9_000),
];
const numbers = [
  '1.55 V',
  '1.5',
  '1,55v',
  '9.1 V',
  '0.3 V',
  '-0.2',
  '0',
  '9.99 V',
  '10 V',
  '42 V',
  '325 V',
  '-400',
  '1.1',
  '1.0 V',
  '15.1 V',
  '8 ohm',
  'OL',
  'beep',
  'about 0.3 V',
  '300 mV',
  '230 V ac',
  '12 V',
  '1e9',
  '99999999999 V',
  'NaN',
  'Infinity',
  '0.3 V or 0.4 V',
  'constructor',
  'x'.repeat(2000),
];

const n = fc.nat({ max: 11 });
/** Mostly the asker. */
const who = fc.oneof(
  { weight: 6, arbitrary: fc.constant(0) },
  { weight: 2, arbitrary: fc.constant(1) },
  { weight: 1, arbitrary: fc.constant(2) },
  { weight: 1, arbitrary: fc.constant(3) },
  { weight: 1, arbitrary: fc.constant(4) },
  { weight: 1, arbitrary: fc.constant(5) },
);

const actOf = (flow: Flow): fc.Arbitrary<Act> => {
  const step = fc.constantFrom(
    ...flow.checks.map(({ id }) => id),
    ...flow.details.map(({ id }) => id),
    'constructor',
    '',
  );
  const answer = fc.constantFrom(
    ...flow.checks.flatMap((check) => (check.outcomes ?? check.reading?.bands ?? []).map(({ id }) => id)),
    '7 ohm',
    '12.1 V',
    '99999',
    '',
  );
  const reason = fc.constantFrom('looked at it on a call', 'a plug was melted, not the set', ' ', '');
  return fc.oneof(
    fc.record({ what: fc.constant('take' as const), hands: fc.boolean() }),
    fc.record({
      what: fc.constant('advise' as const),
      words: fc.constantFrom('Try the other socket.', '', 'x'.repeat(9000)),
    }),
    fc.record({ what: fc.constant('result' as const), step, answer }),
    fc.record({ what: fc.constant('correct' as const), step, answer }),
    fc.record({
      what: fc.constant('clear' as const),
      tier: fc.constantFrom('outside', 'cold', 'live'),
      reason,
    }),
    fc.record({ what: fc.constant('unflag' as const), flag: fc.constantFrom(...RedFlag.options), reason }),
    fc.record({ what: fc.constant('back' as const) }),
    fc.record({ what: fc.constant('similar' as const) }),
    fc.record({ what: fc.constant('print' as const) }),
    fc.record({
      what: fc.constant('settle' as const),
      outcome: fc.constantFrom(...RepairOutcome.options),
      fault: fc.constantFrom(...flow.faults.map(({ id }) => id), 'no-such-fault'),
    }),
    fc.record({
      what: fc.constant('settle' as const),
      outcome: fc.constantFrom(...RepairOutcome.options),
      barrier: fc.constantFrom('Item too worn out', 'no such barrier'),
    }),
  );
};

/** Moves as they come in a desk's worst week; `calm`: how many of ten are helpful. */
export const movesOf = (flow: Flow, calm: number): fc.Arbitrary<Move> =>
  fc.oneof(
    { weight: calm * 12, arbitrary: fc.record({ kind: fc.constant('good' as const), n }) },
    {
      weight: 120 - calm * 12,
      arbitrary: fc.oneof(
        {
          weight: 14,
          arbitrary: fc.record({ kind: fc.constant('tap' as const), n, who, keyed: fc.boolean() }),
        },
        {
          weight: 4,
          arbitrary: fc.record({
            kind: fc.constant('late' as const),
            n,
            back: fc.integer({ min: 1, max: 6 }),
            who,
          }),
        },
        {
          weight: 2,
          arbitrary: fc.record({
            kind: fc.constant('say' as const),
            words: fc.constantFrom(...sureWords),
            who,
          }),
        },
        {
          weight: 3,
          arbitrary: fc.record({
            kind: fc.constant('say' as const),
            words: fc.constantFrom(...doubtWords),
            who,
          }),
        },
        {
          weight: 10,
          arbitrary: fc.record({
            kind: fc.constant('say' as const),
            words: fc.constantFrom(...harmlessWords),
            who,
          }),
        },
        {
          weight: 3,
          arbitrary: fc.record({
            kind: fc.constant('say' as const),
            words: fc.string({ unit: 'binary', maxLength: 60 }),
            who,
          }),
        },
        { weight: 4, arbitrary: fc.record({ kind: fc.constant('label' as const), n, who }) },
        {
          weight: 9,
          arbitrary: fc.record({
            kind: fc.constant('number' as const),
            typed: fc.constantFrom(...numbers),
            who,
            form: fc.boolean(),
          }),
        },
        {
          weight: 14,
          arbitrary: fc.record({
            kind: fc.constant('ask' as const),
            what: fc.constantFrom(...Control.options.filter((c) => c !== 'forget')),
            who,
          }),
        },
        { weight: 8, arbitrary: fc.constant<Move>({ kind: 'ask', what: 'undo', who: 0 }) },
        {
          weight: 1,
          arbitrary: fc.record({
            kind: fc.constant('ask' as const),
            what: fc.constant('forget' as const),
            who,
          }),
        },
        {
          weight: 14,
          arbitrary: fc.record({
            kind: fc.constant('act' as const),
            act: actOf(flow),
            who: fc.nat({ max: 5 }),
          }),
        },
        { weight: 1, arbitrary: fc.record({ kind: fc.constant('photo' as const), who }) },
        {
          weight: 2,
          arbitrary: fc.record({
            kind: fc.constant('change' as const),
            what: fc.constantFrom('edited', 'deleted', 'gone'),
            words: fc.constantFrom('', ...sureWords, ...doubtWords, 'yes'),
            who,
          }),
        },
        {
          weight: 2,
          arbitrary: fc.record({
            kind: fc.constant('open' as const),
            words: fc.constantFrom('it hums', 'yes', 'it lights up but is silent'),
            who,
          }),
        },
        {
          weight: 4,
          arbitrary: fc.record({
            kind: fc.constant('ring' as const),
            key: fc.constantFrom('right', 'after', 'wrong'),
          }),
        },
        { weight: 1, arbitrary: fc.constant<Move>({ kind: 'astray' }) },
        {
          weight: 8,
          arbitrary: fc.record({
            kind: fc.constant('time' as const),
            minutes: fc.constantFrom(
              1,
              5,
              16,
              21,
              31,
              90,
              23 * 60,
              1439,
              1440,
              1441,
              3 * 1440,
              8 * 1440,
              -1,
              -30,
              -1500,
            ),
          }),
        },
        {
          weight: 6,
          arbitrary: fc.record({
            kind: fc.constant('due' as const),
            late: fc.constantFrom(-5, -1, 0, 4, 120, 2000),
          }),
        },
        { weight: 3, arbitrary: fc.constant<Move>({ kind: 'clock' }) },
        {
          weight: 5,
          arbitrary: fc.record({
            kind: fc.constant('standing' as const),
            who: fc.nat({ max: 2 }),
            level: fc.constantFrom(null, 'new', 'handy', 'trained'),
            roles: fc.nat({ max: 3 }),
          }),
        },
        { weight: 3, arbitrary: fc.constant<Move>({ kind: 'again' }) },
      ),
    },
  );

/** What a conversation looks like to those in it, and who they are. */
export interface Scene {
  at: number;
  demonstration: boolean;
  readonly people: Person[];
  readonly asks: Ask[];
  kase: Case;
  last: Inbound | null;
  count: number;
}

export const minute = 60_000;

export const newScene = (kase: Case, people: readonly Person[], at = 1_000_000_000_000): Scene => ({
  at,
  demonstration: false,
  people: [...people],
  asks: [],
  kase,
  last: null,
  count: 0,
});

const theDesk: Person = { id: 'desk', name: 'desk', roles: [] };

type Content<I = Inbound> = I extends Inbound
  ? Omit<I, 'id' | 'thread' | 'at' | 'by' | 'demonstration'>
  : never;

export function inboundOf(scene: Scene, content: Content, by: Person): Inbound {
  scene.count += 1;
  return {
    id: `m${scene.count}`,
    thread: scene.kase.id,
    at: scene.at,
    by,
    ...(scene.demonstration ? { demonstration: true as const } : {}),
    ...content,
  } as Inbound;
}

/** The ask that stands on the screen; null when none is open. */
export const openAsk = (scene: Scene): Ask | null =>
  scene.kase.question === null
    ? null
    : (scene.asks.findLast(({ key }) => key === scene.kase.question?.key) ?? null);

/** The helpful answer to what is open. */
export function helpful(scene: Scene, n: number): Inbound {
  const { kase } = scene;
  const by = (id: string): Person => scene.people.find((one) => one.id === id) ?? (scene.people[0] as Person);
  const moderator =
    scene.people.find(({ roles }) => roles.includes('moderator')) ?? (scene.people[2] as Person);
  scene.at += minute;
  const ask = openAsk(scene);
  if (ask) {
    const choose = (answer: string): Inbound =>
      inboundOf(scene, { kind: 'chose', answer, of: ask.key }, by(kase.hands));
    const any = (): Inbound => choose(ask.choices[n % ask.choices.length]?.id ?? 'no');
    const measure = (reading: string): Inbound =>
      inboundOf(scene, { kind: 'measured', reading }, by(kase.hands));
    if (ask.phase === 'flag') return choose('no');
    if (ask.phase === 'safety' && ask.reading)
      return measure(ask.step.startsWith('known-source') ? '1.55 V' : '0.3 V');
    if (ask.reading) return measure(`${[0.1, 8, 12, 250, 5][n % 5]} ${ask.reading.unit}`);
    if (ask.phase === 'part') return choose(ask.choices.some(({ id }) => id === 'have') ? 'have' : 'arrived');
    const best = ['handy', 'yes', 'unplugged', 'opened', 'shut', 'agreed', 'done'];
    const safety = ask.phase === 'safety' || ask.phase === 'open';
    const id = safety ? best.find((one) => ask.choices.some((choice) => choice.id === one)) : undefined;
    if (id) return choose(id);
    if (ask.phase === 'intake') return choose(ask.choices[n < 9 ? 0 : n % ask.choices.length]?.id ?? 'other');
    if (ask.phase === 'do' || ask.phase === 'test')
      return choose(
        ask.choices.some(({ id }) => id === 'done')
          ? 'done'
          : n < 10
            ? 'no'
            : n === 10
              ? 'different'
              : 'works',
      );
    return any();
  }
  if (kase.rest) {
    scene.at = Math.max(scene.at, kase.rest.due);
    return inboundOf(scene, { kind: 'rang', key: kase.rest.key }, theDesk);
  }
  if (kase.state === 'settled' && kase.followUp !== null && kase.followUp.due !== null && n % 3 === 0) {
    scene.at = Math.max(scene.at, kase.followUp.due);
    return inboundOf(scene, { kind: 'rang', key: kase.followUp.key }, theDesk);
  }
  const flag = kase.flags[0];
  if (flag)
    return inboundOf(
      scene,
      { kind: 'acted', act: { what: 'unflag', flag: flag.flag, reason: 'talked to them' } },
      moderator,
    );
  if (kase.state === 'with people') {
    const act: Act =
      n < 4 ? { what: 'clear', tier: n < 2 ? 'cold' : 'live', reason: 'talked to them' } : { what: 'back' };
    return inboundOf(scene, { kind: 'acted', act }, moderator);
  }
  return inboundOf(scene, { kind: 'asked', what: 'again' }, by(kase.asker));
}

function ringing({ rest, followUp }: Case, key: Extract<Move, { kind: 'ring' }>['key']): string {
  const none = 'no-such-timer';
  if (key === 'right') return rest?.key ?? followUp?.key ?? none;
  return key === 'after' ? (followUp?.key ?? none) : none;
}

/** A move as an inbound message; null when it only changes the scene. */
export function play(scene: Scene, move: Move): Inbound | null {
  const { kase } = scene;
  const someone = (i: number): Person => scene.people[i % scene.people.length] as Person;
  const ask = openAsk(scene);
  const send = (content: Content, i: number): Inbound => inboundOf(scene, content, someone(i));
  switch (move.kind) {
    case 'good':
      return helpful(scene, move.n);
    case 'tap': {
      const choices = [...(ask?.choices ?? []).map(({ id }) => id), 'danger', 'no-such-answer', 'unplugged'];
      const answer = choices[move.n % choices.length] as string;
      return send({ kind: 'chose', answer, ...(move.keyed && ask ? { of: ask.key } : {}) }, move.who);
    }
    case 'late': {
      const old = scene.asks.at(-1 - move.back);
      if (!old) return null;
      const answer = old.choices[move.n % Math.max(1, old.choices.length)]?.id ?? 'yes';
      return send({ kind: 'chose', answer, of: old.key }, move.who);
    }
    case 'say':
      return send({ kind: 'said', words: move.words }, move.who);
    case 'label': {
      const words = ask?.choices[move.n % Math.max(1, ask.choices.length)]?.label ?? 'yes';
      return send({ kind: 'said', words }, move.who);
    }
    case 'number':
      return move.form
        ? send({ kind: 'measured', reading: move.typed }, move.who)
        : send({ kind: 'said', words: move.typed }, move.who);
    case 'ask':
      return send({ kind: 'asked', what: move.what }, move.who);
    case 'act':
      return send({ kind: 'acted', act: move.act }, move.who);
    case 'photo':
      return send({ kind: 'photo', references: ['p1', 'p2'] }, move.who);
    case 'change':
      return send(
        { kind: 'changed', what: move.what, ...(move.words ? { words: move.words } : {}) },
        move.who,
      );
    case 'open':
      return send({ kind: 'opened', words: move.words, place: 'chat' }, move.who);
    case 'ring':
      return inboundOf(scene, { kind: 'rang', key: ringing(kase, move.key) }, theDesk);
    case 'astray':
      return inboundOf(scene, { kind: 'changed', what: 'undelivered' }, theDesk);
    case 'time':
      scene.at += move.minutes * minute;
      return null;
    case 'due':
      if (kase.rest) scene.at = kase.rest.due + move.late * minute;
      else if (kase.followUp?.due) scene.at = kase.followUp.due + move.late * minute;
      return null;
    case 'clock':
      scene.demonstration = !scene.demonstration;
      return null;
    case 'standing': {
      const { level: _, ...person } = someone(move.who);
      const roles: Person['roles'] =
        move.who === 0
          ? []
          : (([[], ['mender'], ['moderator'], ['mender', 'moderator']] as const)[move.roles]?.slice() ?? []);
      scene.people[move.who] = { ...person, ...(move.level ? { level: move.level } : {}), roles };
      return null;
    }
    case 'again':
      // A platform that sends twice under a new name.
      return scene.last ? { ...scene.last, id: `m${++scene.count}`, at: scene.at } : null;
    default:
      return move satisfies never;
  }
}
