import { describe, expect, test } from 'vitest';
import type { Answer, Case, Event } from '../../shared/case.ts';
import type { Check, Flow } from '../../shared/flow.ts';
import { answerWords } from '../../src/core/explain.ts';
import { flowEvents } from '../../src/core/flow-change.ts';
import { noGuide } from '../../src/core/no-guide.ts';
import { emptyCase, fold } from '../../src/core/reduce.ts';
import { following, newTalk, type Talk } from '../conversations/thread.ts';
import { people, radio } from './example-flow.ts';

/** What a corrected flow file does to a case. Whole conversations stand in `tests/conversations/corrected.test.ts`. */

const asker = { ...people.asker, level: 'handy' as const };
const { mender, moderator, stranger } = people;
const desk = { by: 'desk', at: 0 };
const proof = ['1.55 V', '0.3 V', '0.1 V', '1.55 V'];

const without = <T extends { id: string }>(list: readonly T[], ...ids: readonly string[]): T[] =>
  list.filter(({ id }) => !ids.includes(id));
const changed = (id: string, change: Partial<Check>): Flow => ({
  ...radio,
  checks: radio.checks.map((check) => (check.id === id ? { ...check, ...change } : check)),
});

function underWay(...steps: readonly string[]): Talk {
  const talk = newTalk({ settings: following(...steps) });
  talk.as(asker).says('it lights up but is silent');
  for (const answer of ['silent', 'solid']) talk.as(asker).taps(answer);
  return talk;
}
function measured(volts: readonly string[], ...steps: readonly string[]): Talk {
  const talk = underWay(...steps);
  for (const answer of ['light', 'yes', 'unplugged']) talk.as(asker).taps(answer);
  talk.later(20).rings();
  talk.as(asker).taps('opened');
  for (const reading of volts) talk.as(asker).measures(reading);
  return talk;
}
const proven = (...steps: readonly string[]): Talk => measured(proof, ...steps);
const happened = (talk: Talk): Event['kind'][] => talk.events.map(({ kind }) => kind);
const sentences = (talk: Talk): string =>
  talk.sent.flatMap((one) => (one.kind === 'say' ? [one.words, ...(one.list ?? [])] : [])).join(' ');

describe('a case remembers', () => {
  test('the version it began with, and the one it follows', () => {
    const talk = underWay('dial-lamp');
    expect(talk.kase).toMatchObject({ version: 1, follows: 1 });
    talk
      .corrects({ ...radio, version: 4 })
      .as(asker)
      .asks('where');
    expect(talk.kase).toMatchObject({ version: 1, follows: 4 });
    talk
      .corrects({ ...radio, version: 5 })
      .as(asker)
      .asks('where');
    expect(sentences(talk)).toContain('(version 1, now 5)');
    talk.corrects(radio).as(asker).asks('where');
    expect(sentences(talk)).toContain('were corrected meanwhile.');
    expect(talk.kase).toMatchObject({ version: 1, follows: 1 });
  });

  test('nothing of a flow that is as it was', () => {
    const talk = underWay('dial-lamp');
    talk.corrects(structuredClone(radio)).as(asker).asks('where');
    expect(happened(talk)).not.toContain('flow-changed');
  });
});

describe('a correction is noticed', () => {
  // Somebody forgot to raise the number.
  test.each<[string, Talk, Flow]>([
    [
      'the check that is asked is gone',
      underWay('dial-lamp'),
      { ...radio, checks: without(radio.checks, 'dial-lamp') },
    ],
    [
      'the check that is asked has no power on any more',
      underWay('dial-lamp'),
      changed('dial-lamp', { power: 'off' }),
    ],
    [
      'the check that is asked is inside by now',
      underWay('knob-feel'),
      changed('knob-feel', { access: 'back-off' }),
    ],
    [
      'the remedy that is asked for is gone',
      underWay('settings'),
      { ...radio, remedies: without(radio.remedies, 'settings') },
    ],
    [
      'the detail that is asked for is gone',
      underWay('lead-look'),
      { ...radio, details: without(radio.details, 'weight') },
    ],
    [
      'the complaint that is offered is gone',
      newTalk().as(asker).says('it hums'),
      { ...radio, complaints: without(radio.complaints, 'hums') },
    ],
    [
      'the place to measure at is gone',
      measured(proof.slice(0, 2), 'lead-look'),
      {
        ...radio,
        energy:
          radio.energy.stores === 'capacitors'
            ? { ...radio.energy, points: radio.energy.points.slice(0, 1) }
            : radio.energy,
      },
    ],
  ])('where %s, though the number is the same', (_, talk, flow) => {
    const before = talk.kase.question?.key;
    talk.corrects(flow).as(asker).says('hello');
    expect(talk.events).toContainEqual(expect.objectContaining({ kind: 'flow-changed', version: 1 }));
    expect(talk.kase.question?.key).not.toBe(before);
    expect(sentences(talk)).toContain('corrected meanwhile');
  });

  test('where an answer, a wait, a stage or a remedy that was tried is gone', () => {
    const none = { ...radio, remedies: without(radio.remedies, 'drain'), access: radio.access.slice(0, 1) };
    const stamp = { seq: 9, at: 0, by: 'asker', level: 'new' } as const;
    const begun: Case = { ...emptyCase('thread'), asker: 'asker', flow: radio.flow, version: 1, follows: 1 };
    const rest = { key: 'wait:drain', due: 1, reason: 'it needs its time' };
    const standing: Partial<Case>[] = [
      { answers: [{ ...stamp, kind: 'remedy-done', step: 'drain' }] },
      { answers: [{ ...stamp, kind: 'tested', result: 'no', remedies: ['drain'] }] },
      { state: 'resting', rest },
      { state: 'resting', rest: { ...rest, key: 'part:drain' } },
      { world: { ...begun.world, open: ['back-off', 'chassis-out'] } },
    ];
    const found = standing.map((one) => flowEvents({ ...begun, ...one }, none, desk)[0]);
    expect(found).toMatchObject([
      { dropped: [9], gone: [], open: [], ended: false },
      { dropped: [], gone: ['drain'], open: [], ended: false },
      { dropped: [], gone: [], open: [], ended: true },
      { dropped: [], gone: [], open: [], ended: true },
      { dropped: [], gone: [], open: ['back-off'], ended: false },
    ]);
    expect(flowEvents({ ...begun, rest: { ...rest, key: 'discharge' } }, none, desk)).toEqual([]);
    expect(flowEvents({ ...begun, world: { ...begun.world, open: ['back-off'] } }, none, desk)).toEqual([]);
  });

  test('by anybody, once, and not in a settled case until it is taken up again', () => {
    const talk = underWay('settings', 'dial-lamp');
    talk.as(asker).taps('works');
    const two = { ...radio, version: 2, checks: without(radio.checks, 'knob-feel') };
    talk.corrects(two);
    for (const what of ['where', 'card', 'undo', 'why'] as const) talk.as(asker).asks(what);
    expect(happened(talk)).not.toContain('flow-changed');
    talk.as(asker).asks('again');
    expect(happened(talk).slice(-4)).toEqual(['undone', 'flow-changed', 'put', 'follow-up-set']);
    talk.as(asker).asks('where');
    expect(happened(talk).filter((kind) => kind === 'flow-changed')).toHaveLength(1);
    const other = underWay('dial-lamp').corrects(two);
    other.as(stranger).says('what a nice radio');
    expect(other.kase.follows).toBe(2);
  });
});

describe('what is said', () => {
  test('is nothing where it makes no difference to the person', () => {
    const talk = underWay('drain');
    talk.as(asker).taps('done');
    talk
      .corrects({ ...radio, version: 2 })
      .as(asker)
      .asks('where');
    expect(talk.kase).toMatchObject({ follows: 2, rest: { key: 'wait:drain' } });
    expect(sentences(talk)).not.toContain('corrected');
  });

  test('comes after the danger in the same message', () => {
    const talk = underWay('dial-lamp');
    talk
      .corrects({ ...radio, version: 2 })
      .as(asker)
      .says('smoke is coming out of it');
    expect(talk.sent.map(({ kind }) => kind)).toEqual(['warn', 'amend', 'say', 'handover', 'bench', 'bench']);
  });

  test('tells of what a look left changed, when nobody can say any more how to put it back', () => {
    const talk = proven('lead-off-look', 'knob-feel', 'lead-look');
    talk.as(asker).taps('no');
    expect(talk.kase.world.altered).toBe('lead-off-look');
    talk
      .corrects({ ...radio, checks: without(radio.checks, 'lead-off-look') })
      .as(asker)
      .taps('yes');
    expect(sentences(talk)).toContain('What was changed for “lead off look” may still be changed');
    talk.as(asker).asks('card');
    expect(sentences(talk)).toContain('Left changed by “lead off look”');
    for (const answer of ['yes', 'unplugged']) talk.as(asker).taps(answer);
    talk.later(20).rings();
    talk.as(asker).taps('opened');
    for (const volts of proof) talk.as(asker).measures(volts);
    expect(talk.ask).toMatchObject({ step: 'lead-look' });
    expect(talk.ask?.how[0]).toBe('Put back what was changed for “lead off look”.');
  });
});

describe('the turn in which it is noticed', () => {
  const two = { ...radio, version: 2 };

  test.each([
    ['a tap', (talk: Talk) => talk.as(asker).taps('yes')],
    ['a tap without a key', (talk: Talk) => talk.as(asker).sends({ kind: 'chose', answer: 'yes' })],
    ['words', (talk: Talk) => talk.as(asker).says('yes')],
    ['a form', (talk: Talk) => talk.as(asker).measures('3 V')],
    ['“not sure”', (talk: Talk) => talk.as(asker).asks('unsure')],
  ])('counts %s as no answer, and asks again', (_, answer) => {
    const talk = underWay('dial-lamp').corrects(two);
    answer(talk);
    expect(talk.kase.answers).toHaveLength(2);
    expect(sentences(talk)).toContain('I did not count that as an answer');
    expect(talk.ask).toMatchObject({ step: 'dial-lamp', key: talk.kase.question?.key });
  });

  test('keeps a question about danger open, and takes its answer', () => {
    const talk = underWay('dial-lamp');
    talk.as(asker).says('maybe it smoked a little?');
    talk.corrects(two).as(asker).taps('no');
    expect(talk.kase.flags).toEqual([]);
    expect(talk.kase).toMatchObject({ follows: 2, question: { step: 'dial-lamp' } });
  });

  test('shows the question once, also to who asks for it again', () => {
    const talk = underWay('dial-lamp').corrects(two).as(asker).asks('again');
    expect(talk.sent.filter(({ kind }) => kind === 'ask')).toHaveLength(1);
  });

  test('takes nothing back by a number, or by “undo”, that meant another list', () => {
    const fewer = { ...two, complaints: without(radio.complaints, 'silent') };
    for (const words of ['change 2', 'undo']) {
      const talk = underWay('dial-lamp').corrects(fewer).as(asker).says(words);
      expect(talk.kase.answers).toMatchObject([{ kind: 'detail-stated' }]);
      expect(sentences(talk)).toContain('I took none back');
    }
    const same = underWay('dial-lamp').corrects(two).as(asker).says('change 2');
    expect(same.kase.question).toMatchObject({ step: 'kind' });
  });

  test('takes the timer of a wait back that is over, whatever rang', () => {
    const talk = underWay('drain', 'dial-lamp');
    talk.as(asker).taps('done');
    talk.corrects({ ...two, remedies: without(radio.remedies, 'drain') });
    talk.as(stranger).sends({ kind: 'rang', key: 'discharge' });
    expect(talk.sent).toContainEqual({ kind: 'unremind', key: 'wait:drain' });
    expect(talk.kase).toMatchObject({ state: 'asking', rest: null });
  });

  test('offers no complaint that is gone', () => {
    const talk = newTalk().as(asker).says('it hums');
    talk
      .corrects({ ...two, complaints: without(radio.complaints, 'hums') })
      .as(asker)
      .asks('where');
    expect(talk.ask?.choices.map(({ id }) => id)).toEqual(['silent', 'dead', 'other', 'danger']);
  });
});

describe('covers', () => {
  const three = { ...radio, version: 3 };
  const shallow: Flow = {
    ...radio,
    version: 2,
    access: radio.access.slice(0, 1),
    checks: radio.checks.filter(({ access }) => access !== 'chassis-out'),
    remedies: radio.remedies.filter(({ access }) => access !== 'chassis-out'),
  };
  const flat: Flow = {
    ...radio,
    version: 2,
    access: [],
    checks: radio.checks.filter(({ access }) => access === 'outside'),
    remedies: radio.remedies.filter(({ access }) => access === 'outside'),
  };
  const deep = (): Talk => {
    const talk = proven('joint-look', 'dial-lamp');
    talk.as(asker).taps('opened');
    expect(talk.kase.world.open).toEqual(['back-off', 'chassis-out']);
    return talk;
  };

  test('that are no longer named may be off; they are named again when the flow has them back', () => {
    const talk = deep().corrects(shallow);
    talk.as(asker).asks('where');
    expect(talk.kase.world).toMatchObject({ open: ['back-off'], lost: ['chassis-out'], charged: true });
    talk.corrects(three).as(asker).asks('where');
    expect(talk.kase.world).toMatchObject({ open: ['back-off', 'chassis-out'], lost: [] });
  });

  test('of which none is named any more: nothing is switched on before somebody says that all is closed', () => {
    const talk = deep().corrects(flat);
    talk.as(asker).asks('where');
    expect(talk.kase.world).toMatchObject({ open: [], lost: ['back-off', 'chassis-out'] });
    expect(sentences(talk)).toContain('treat it as charged');
    for (const volts of proof) talk.as(asker).measures(volts);
    expect(talk.ask).toMatchObject({
      step: 'shut',
      how: ['Put back whatever else was taken off or out, too: “back off” and “chassis out”.'],
    });
    talk.as(asker).taps('shut');
    expect(talk.kase.world).toMatchObject({ open: [], lost: [] });
    expect(talk.ask).toMatchObject({ step: 'dial-lamp' });
  });

  test('count as open for whoever stops, goes to people, or reads the card', () => {
    const stopped = deep().corrects(flat).as(asker).asks('stop');
    expect(sentences(stopped)).toContain('It is still open');
    const handed = deep().corrects(flat).as(asker).asks('person');
    const handover = handed.sent.find((one) => one.kind === 'handover');
    expect(handover?.words).toContain('It is still open');
    expect(handover?.card).toContain('The instructions no longer name “back off” and “chassis out”');
  });
});

describe('where the guide is gone', () => {
  const kettle = { ...radio, flow: 'kettle', title: 'Kettle', noun: 'kettle' };

  test('no case goes on by another one, in whatever state it is', () => {
    const resting = underWay('drain');
    resting.as(asker).taps('done');
    const stopped = underWay('drain');
    stopped.as(asker).asks('stop');
    const doubtful = underWay('drain');
    doubtful.as(asker).says('maybe it smoked a little?');
    for (const talk of [underWay('dial-lamp'), proven('lead-look'), resting, stopped]) {
      const { rest } = talk.kase;
      talk.corrects(kettle).as(asker).says('hello');
      expect(talk.kase).toMatchObject({ state: 'with people', question: null, rest: null });
      expect(talk.events.at(-2)).toMatchObject({ kind: 'handed-over', reason: 'no-guide', by: 'desk' });
      if (rest) expect(talk.sent).toContainEqual({ kind: 'unremind', key: rest.key });
      expect(JSON.stringify(talk.sent).toLowerCase()).not.toContain('kettle');
    }
    doubtful.corrects(kettle).as(asker).says('hello');
    expect(doubtful.kase).toMatchObject({ state: 'with people', question: { kind: 'flag', step: 'smoke' } });
    doubtful.as(asker).asks('why');
    doubtful.as(asker).taps('no');
    expect(doubtful.kase).toMatchObject({ state: 'with people', flags: [] });
  });

  test('people work on it: they take it on, advise, clear, settle, and cannot hand it back', () => {
    const talk = underWay('dial-lamp').corrects(kettle);
    talk.as(asker).says('hello');
    talk.as(mender).does({ what: 'take', hands: false });
    talk.as(mender).does({ what: 'advise', words: 'Bring it on Saturday.' });
    talk.as(mender).does({ what: 'result', step: 'dial-lamp', answer: 'yes' });
    talk.as(moderator).does({ what: 'clear', tier: 'live', reason: 'we talked' });
    talk.as(moderator).does({ what: 'back' });
    expect(talk.kase.state).toBe('with people');
    talk.as(mender).does({ what: 'settle', outcome: 'Repairable' });
    expect(talk.kase.outcome).toMatchObject({ outcome: 'Repairable' });
    talk.as(asker).asks('again');
    expect(talk.kase).toMatchObject({ state: 'with people', handover: { reason: 'no-guide' } });
  });

  test('a case goes on where it was once the guide is back', () => {
    const talk = underWay('dial-lamp').corrects(kettle);
    talk.as(asker).says('hello');
    talk
      .corrects({ ...radio, version: 2 })
      .as(moderator)
      .does({ what: 'back' });
    expect(talk.kase).toMatchObject({ state: 'asking', follows: 2, question: { step: 'dial-lamp' } });
    expect(talk.kase.answers).toHaveLength(2);
  });

  test('the card names what it can by its ids, the kind of appliance, too', () => {
    const talk = proven('lead-look');
    talk.as(asker).taps('yes');
    talk.corrects(kettle).as(asker).asks('card');
    const card = sentences(talk);
    for (const line of [
      'Job card: table radio',
      'About the appliance, “kind”: solid',
      'Check “lead look”: yes',
    ])
      expect(card).toContain(line);
    expect(card).toContain('Open: back off.');
    expect(card).toContain('Not proven discharged');
  });
});

test('every kind of answer can be said without the flow that asked for it', () => {
  const stamp = { seq: 1, at: 0, by: 'asker', level: 'new' } as const;
  const answers: Answer[] = [
    { ...stamp, kind: 'complaint-stated', complaint: 'no-sound' },
    { ...stamp, kind: 'complaint-stated', complaint: 'other' },
    { ...stamp, kind: 'detail-stated', detail: 'power-lead', choice: 'two-pins' },
    { ...stamp, kind: 'level-stated', person: 'asker', stated: 'handy' },
    { ...stamp, kind: 'meter-stated', person: 'asker', has: true },
    { ...stamp, kind: 'answered', step: 'torch-test', outcome: 'faint-image' },
    { ...stamp, kind: 'read', step: 'main-rail', value: 4.97, typed: '4,97v' },
    { ...stamp, kind: 'set-aside', step: 'torch-test', why: 'unsure' },
    { ...stamp, kind: 'set-aside', step: 'new-board', why: 'too-dear' },
    { ...stamp, kind: 'part-ordered', step: 'new-board', days: 5 },
    { ...stamp, kind: 'part-arrived', step: 'new-board' },
    { ...stamp, kind: 'remedy-done', step: 'new-board' },
    { ...stamp, kind: 'tested', result: 'no', remedies: ['new-board'] },
    { ...stamp, kind: 'tested', result: 'no', remedies: [] },
  ];
  expect(answers.map((answer) => answerWords(answer, noGuide('torch')))).toEqual([
    'Complaint: “no sound”',
    'Complaint: something else',
    'About the appliance, “power lead”: two pins',
    'Has worked inside unplugged things',
    'Has a multimeter',
    'Check “torch test”: faint image',
    'Check “main rail”: 4.97',
    '“torch test”: not sure',
    '“new board”: too dear',
    'Part ordered: “new board”',
    'Part is here: “new board”',
    'Done: “new board”',
    'Tried after “new board”: no change',
    'Tried: no change',
  ]);
});

test('events about things that no flow has fold like any others', () => {
  const stamp = { at: 1, by: 'asker' } as const;
  const events: Event[] = [
    { ...stamp, seq: 1, kind: 'opened', words: 'x', place: '' },
    { ...stamp, seq: 2, kind: 'flow-taken', flow: 'constructor', version: 1 },
    { ...stamp, seq: 3, kind: 'proposed', complaints: ['__proto__'] },
    { ...stamp, seq: 4, level: 'new', kind: 'answered', step: 'toString', outcome: '__proto__' },
    { ...stamp, seq: 5, kind: 'stage-opened', stage: 'hasOwnProperty' },
    {
      ...stamp,
      seq: 6,
      kind: 'flow-changed',
      flow: 'constructor',
      version: 2,
      dropped: [4, 99],
      gone: ['valueOf'],
      open: [],
      ended: false,
    },
    { ...stamp, seq: 7, kind: 'undone', undone: 4, again: true },
  ];
  const kase = fold(emptyCase('thread'), events);
  expect(kase).toMatchObject({ answers: [], again: null, world: { open: [], lost: ['hasOwnProperty'] } });
});
