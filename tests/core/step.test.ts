import { describe, expect, test } from 'vitest';
import type { Event } from '../../shared/case.ts';
import type { Inbound } from '../../shared/inbound.ts';
import { emptyCase, fold } from '../../src/core/reduce.ts';
import { step } from '../../src/core/step.ts';
import { following, newTalk, type Talk, type Voice } from '../conversations/thread.ts';
import { people, radio, settings } from './example-flow.ts';

/** What single turns do. Whole conversations stand in `tests/conversations/`, the gate in `safety.test.ts`. */

const asker = { ...people.asker, level: 'handy' as const };
const { mender, moderator, stranger } = people;

/** A conversation up to the first step of these. */
function underWay(...steps: readonly string[]): Talk {
  const talk = newTalk({ settings: following(...steps) });
  for (const answer of ['silent', 'solid']) {
    if (talk.events.length === 0) talk.as(asker).says('it lights up but is silent');
    talk.as(asker).taps(answer);
  }
  return talk;
}
/** With the radio open, at the first question of the proof. */
function atProof(...steps: readonly string[]): Talk {
  const talk = underWay(...steps);
  for (const answer of ['light', 'yes', 'unplugged']) talk.as(asker).taps(answer);
  talk.later(20).rings();
  talk.as(asker).taps('opened');
  return talk;
}
const kinds = (talk: Talk): string[] => talk.sent.map(({ kind }) => kind);

describe('the complaint', () => {
  test('"no, something else" to a single guess offers them all', () => {
    const talk = newTalk();
    talk.as(asker).says('it hums');
    expect(talk.ask?.choices.map(({ id }) => id)).toEqual(['hums', 'other', 'danger']);
    talk.as(asker).taps('other');
    expect(talk.ask?.choices.map(({ id }) => id)).toEqual(['silent', 'hums', 'dead', 'other', 'danger']);
    talk.as(asker).taps('other');
    expect(talk.kase.answers).toMatchObject([{ complaint: 'other' }]);
  });

  test('with one complaint in the flow, something else is something else', () => {
    const one = { ...radio, complaints: radio.complaints.slice(0, 1) };
    const talk = newTalk({ flow: one });
    talk.as(asker).says('what');
    talk.as(asker).taps('other');
    expect(talk.kase.answers).toMatchObject([{ complaint: 'other' }]);
  });

  test('more words make another guess', () => {
    const talk = newTalk();
    talk.as(asker).says('hello');
    expect(talk.ask?.choices).toHaveLength(5);
    talk.as(asker).says('it seems dead');
    expect(talk.ask?.choices.map(({ id }) => id)).toEqual(['dead', 'other', 'danger']);
  });

  test('"it is different now" after a remedy asks for it again', () => {
    const talk = underWay('settings', 'dial-lamp');
    talk.as(asker).taps('different');
    expect(talk.ask).toMatchObject({ step: 'complaint', question: 'What does your radio do now?' });
  });
});

describe('free words', () => {
  test.each(['constructor', '__proto__', 'toString', 'hasOwnProperty', '\u0000', '{}', '🦉'.repeat(3000)])(
    'whatever is typed (%#) is taken as words, at worst',
    (words) => {
      const talk = underWay('dial-lamp');
      talk.as(asker).says(words);
      expect(talk.kase.question).toMatchObject({ step: 'dial-lamp' });
      expect(kinds(talk)).toEqual(['say']);
    },
  );

  test('"change 1" asks the first answer again', () => {
    const talk = underWay('dial-lamp');
    talk.as(asker).says('change 2');
    expect(talk.ask).toMatchObject({ step: 'kind' });
    talk.as(asker).says('change 9');
    expect(talk.kase.answers).toHaveLength(1);
  });

  test('an "ok" is asked back before live work, and a "yes" is not', () => {
    const at = (): Talk => {
      const talk = newTalk({ settings: following('rail') });
      const trained = talk.as({ ...asker, level: 'trained' });
      trained.says('it lights up but is silent');
      for (const answer of ['silent', 'solid', 'light', 'yes', 'unplugged']) trained.taps(answer);
      talk.later(20).rings();
      trained.taps('opened');
      for (const volts of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) trained.measures(volts);
      return talk;
    };
    const loose = at();
    loose.as({ ...asker, level: 'trained' }).says('ok');
    expect(loose.kase).toMatchObject({ question: { kind: 'live' }, guess: 'agreed', world: { live: null } });
    const plain = at();
    plain.as({ ...asker, level: 'trained' }).says('Yes');
    expect(plain.kase.question).toMatchObject({ kind: 'check', step: 'rail' });
  });

  test.each([
    '0.2 V ac',
    '0,2 V~',
    'about 0.2 V',
    '0.2 A',
    'under 10 V',
    'nothing',
    'OL',
    'beep',
    '0.2 or 0.3 V',
  ])('“%s” proves nothing', (typed) => {
    const talk = atProof('lead-look');
    talk.as(asker).measures('1.55 V');
    talk.as(asker).says(typed);
    expect(talk.kase.world.readings).toHaveLength(1);
    expect(talk.kase.question).toMatchObject({ kind: 'prove', step: 'big-can' });
  });

  test('a reading over the range is the highest band', () => {
    const talk = atProof('speaker-ohms');
    for (const volts of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) talk.as(asker).measures(volts);
    talk.as(asker).says('OL');
    expect(talk.kase.answers.at(-1)).toMatchObject({ kind: 'answered', outcome: 'broken' });
  });
});

describe('who answers', () => {
  test('a stranger is thanked and not counted, and opens nothing in somebody else’s thread', () => {
    for (const content of [
      { kind: 'chose', answer: 'yes' },
      { kind: 'said', words: 'yes' },
      { kind: 'opened', words: 'yes', place: '' },
      { kind: 'asked', what: 'undo' },
      { kind: 'acted', act: { what: 'take', hands: true } },
    ] as const) {
      const talk = underWay('dial-lamp');
      const before = talk.kase;
      talk.as(stranger).sends(content);
      expect([content.kind, talk.kase]).toEqual([content.kind, before]);
      expect(talk.sent).toMatchObject([{ kind: 'whisper', to: 'stranger' }]);
    }
  });

  test('a mender’s very first word counts by the level that the platform vouches for', () => {
    const talk = underWay('dial-lamp');
    talk.as(mender).does({ what: 'result', step: 'knob-feel', answer: 'yes' });
    expect(talk.kase.answers.at(-1)).toMatchObject({ by: 'mender', level: 'trained' });
    const other = underWay('dial-lamp');
    other.as(mender).does({ what: 'advise', words: 'Try the knob.' });
    expect(other.sent).toEqual([{ kind: 'say', words: 'mender: Try the knob.' }]);
  });

  test.each(['constructor', '__proto__', 'hasOwnProperty'])('somebody called %s is somebody', (id) => {
    const talk = underWay('dial-lamp');
    talk.as({ id, name: id, roles: ['mender'] }).taps('yes');
    expect(talk.kase.answers.at(-1)).toMatchObject({ by: id, level: 'handy' });
    talk.as({ id, name: id, roles: [] }).taps('yes');
    expect(talk.sent.filter(({ kind }) => kind !== 'bench').map(({ kind }) => kind)).toEqual(['whisper']);
  });

  test('the role is looked at for every act', () => {
    const talk = underWay('dial-lamp');
    const before = talk.kase;
    talk.as(asker).does({ what: 'settle', outcome: 'Fixed' });
    talk.as(asker).does({ what: 'clear', tier: 'live', reason: 'I can do it' });
    expect(talk.kase).toEqual(before);
  });

  test('a change of the platform’s word in the middle of the proof begins it again', () => {
    const talk = atProof('lead-look');
    for (const volts of ['1.55 V', '0.3 V', '0.1 V']) talk.as(asker).measures(volts);
    talk.as({ ...asker, level: 'trained' }).measures('1.55 V');
    expect(talk.kase.world).toMatchObject({ proof: null, readings: [] });
    expect(talk.ask).toMatchObject({ step: 'known-source-before' });
  });

  test('only the owner or a moderator has a case forgotten, and then no word of theirs is left in it', () => {
    const talk = newTalk();
    talk.as({ ...asker, name: 'Quillon' }).says('maybe Quillon saw smoke?');
    talk.as(mender).asks('forget');
    expect(talk.kase.words).toHaveLength(1);
    talk.as({ ...asker, name: 'Quillon' }).asks('forget');
    expect(JSON.stringify(talk.kase)).not.toContain('Quillon');
    expect(talk.kase.state).toBe('settled');
  });
});

describe('waiting', () => {
  const drained = (): Talk => {
    const talk = underWay('drain', 'settings');
    talk.as(asker).taps('done');
    return talk;
  };

  test('a timer that comes before its time is set again', () => {
    const talk = drained();
    const due = talk.kase.rest?.due;
    talk.later(10).rings();
    expect(talk.sent).toEqual([expect.objectContaining({ kind: 'remind', key: 'wait:drain', due })]);
    expect(talk.kase.state).toBe('resting');
  });

  test('a timer that comes late says so', () => {
    const talk = drained();
    talk.later(30 + 90).rings();
    expect(talk.sent[0]).toHaveProperty('words', expect.stringContaining('1 h 30 min late'));
  });

  test('a timer for nothing does nothing', () => {
    const talk = drained();
    const before = talk.kase;
    talk.as(people.stranger).sends({ kind: 'rang', key: 'discharge' });
    expect(talk.kase).toEqual(before);
    expect(talk.sent).toEqual([]);
    const nobody = newTalk().rings();
    expect(nobody.events).toEqual([]);
  });

  test('whoever comes when the time is over ends the wait, and the timer is taken back', () => {
    const talk = drained();
    talk.later(31).as(asker).says('hello');
    expect(kinds(talk)).toEqual(['unremind', 'ask', 'remind']);
    expect(talk.ask).toMatchObject({ phase: 'test' });
  });

  test('what a mender adds ends no wait', () => {
    const talk = drained();
    talk.as(mender).does({ what: 'result', step: 'knob-feel', answer: 'yes' });
    expect(talk.kase).toMatchObject({ state: 'resting', rest: { key: 'wait:drain' }, question: null });
    const charged = atProof('lead-look');
    for (const volts of ['1.55 V', '60 V']) charged.as(asker).measures(volts);
    charged.as(mender).does({ what: 'result', step: 'knob-feel', answer: 'yes' });
    expect(charged.kase).toMatchObject({ state: 'resting', rest: { key: 'discharge' } });
  });

  test('an undo ends a wait for what was taken back, and begins a wait for the charge from the plug again', () => {
    const talk = drained();
    talk.as(asker).asks('undo');
    expect(talk.kase).toMatchObject({ state: 'asking', rest: null });
    expect(talk.ask).toMatchObject({ phase: 'do', step: 'drain' });
    const charged = atProof('lead-look');
    for (const volts of ['1.55 V', '60 V']) charged.as(asker).measures(volts);
    charged.as(asker).asks('undo');
    expect(charged.kase).toMatchObject({
      state: 'asking',
      rest: null,
      world: { unplugged: null, proof: null },
    });
    for (let turn = 0; turn < 5 && charged.kase.question?.kind !== 'unplug'; turn++) {
      charged.as(asker).taps(charged.ask?.choices[0]?.id ?? '');
    }
    charged.as(asker).taps('unplugged');
    expect(charged.kase).toMatchObject({ state: 'resting', rest: { key: 'discharge' } });
    expect(charged.kase.rest?.due).toBe((charged.kase.world.unplugged?.at ?? 0) + 20 * 60_000);
  });

  test('a mender who takes a waiting case on is not interrupted by its timer', () => {
    const talk = drained();
    const key = talk.kase.rest?.key ?? '';
    talk.as(mender).does({ what: 'take', hands: false });
    expect(kinds(talk)).toContain('unremind');
    talk.later(30).as(stranger).sends({ kind: 'rang', key });
    expect(talk.kase.state).toBe('with people');
  });

  test('a reading that comes a day later proves nothing', () => {
    const talk = atProof('lead-look');
    for (const volts of ['1.55 V', '0.3 V', '0.1 V']) talk.as(asker).measures(volts);
    talk
      .later(24 * 60)
      .as(asker)
      .measures('1.55 V');
    expect(talk.kase.world.proof).toBeNull();
    expect(talk.ask).toMatchObject({ step: 'unplug' });
  });
});

describe('with people, settled, and back again', () => {
  test('what is with people stays on their list, whatever the asker says', () => {
    const talk = underWay('dial-lamp');
    talk.as(asker).says('smoke is coming out of it');
    for (const what of ['stop', 'again', 'undo', 'person', 'unsure', 'why'] as const)
      talk.as(asker).asks(what);
    talk.as(asker).sends({ kind: 'changed', what: 'gone' });
    talk.as(asker).measures('0.3 V');
    expect(talk.kase).toMatchObject({ state: 'with people', stopped: false, handover: { danger: true } });
  });

  test('a stopped case that is handed over is no longer stopped', () => {
    const talk = underWay('dial-lamp');
    talk.as(asker).asks('stop');
    talk.as(asker).says('smoke is coming out of it');
    talk.as(asker).measures('0.3 V');
    expect(talk.kase).toMatchObject({ state: 'with people', stopped: false });
  });

  test('a case that works again and is taken up once more asks whether it works', () => {
    const worked = (): Talk => {
      const talk = underWay('settings', 'dial-lamp');
      talk.as(asker).taps('works');
      expect(talk.kase.outcome).toMatchObject({ outcome: 'Fixed' });
      return talk;
    };
    const talk = worked();
    talk.as(asker).asks('again');
    expect(talk.kase).toMatchObject({ state: 'asking', outcome: null });
    expect(talk.ask).toMatchObject({ phase: 'test' });
    const taken = worked();
    taken.as(mender).does({ what: 'take', hands: false });
    taken.as(mender).does({ what: 'back' });
    expect(taken.kase).toMatchObject({ state: 'asking', outcome: null });
    expect(taken.ask).toMatchObject({ phase: 'test' });
  });

  test('a moderator who lifts a sign of danger is answered', () => {
    const talk = underWay('dial-lamp');
    talk.as(asker).says('smoke is coming out of it');
    talk.as(moderator).does({ what: 'unflag', flag: 'smoke', reason: 'a toaster' });
    expect(talk.sent).toMatchObject([
      { kind: 'whisper', to: 'moderator' },
      { kind: 'bench', danger: false, state: 'waiting' },
    ]);
  });

  test('people talk among themselves while a doubt is open', () => {
    const talk = underWay('dial-lamp');
    talk.as(asker).asks('person');
    talk.as(mender).says('could it catch fire?');
    talk.as(mender).says('change 1');
    talk.as(mender).says('let us see on Saturday');
    expect(talk.kase).toMatchObject({ question: { kind: 'flag', step: 'flames' }, state: 'with people' });
    expect(talk.kase.answers).toHaveLength(2);
  });
});

describe('a message that could not be delivered', () => {
  const desk = { id: 'desk', name: 'desk', roles: [] };
  const astray = { kind: 'changed', what: 'undelivered' } as const;

  test('hands the case over, so that somebody looks, and ends its wait; the desk joins nothing', () => {
    const talk = underWay('drain');
    talk.as(asker).taps('done');
    const { people: before } = talk.kase;
    talk.as(desk).sends(astray);
    expect(talk.events.at(-1)).toMatchObject({ kind: 'handed-over', reason: 'undelivered', by: 'desk' });
    expect(talk.kase).toMatchObject({ state: 'with people', rest: null, people: before });
    expect(talk.sent.map(({ kind }) => kind)).toEqual(['handover', 'unremind', 'bench']);
    expect(talk.sent[0]).toHaveProperty('words', expect.stringContaining('could not be delivered'));
  });

  test('wakes a stopped case, and leaves a doubt open', () => {
    const stopped = underWay('drain').as(asker).asks('stop');
    stopped.as(desk).sends(astray);
    expect(stopped.kase).toMatchObject({ state: 'with people', stopped: false });
    const doubtful = underWay('drain').as(asker).says('maybe it smoked a little?');
    doubtful.as(desk).sends(astray);
    expect(doubtful.kase).toMatchObject({ state: 'with people', question: { kind: 'flag', step: 'smoke' } });
  });

  test('is nothing to a case that is with people, settled or not there', () => {
    const handed = underWay('drain').as(asker).asks('person');
    const settled = underWay('settings').as(asker).taps('works');
    for (const talk of [handed, settled, newTalk()]) {
      const before = talk.kase;
      talk.as(desk).sends(astray);
      expect([talk.kase, talk.sent]).toEqual([before, []]);
    }
  });

  test('does not stop everything by the words of the message that was lost', () => {
    const talk = underWay('drain')
      .as(desk)
      .sends({ ...astray, words: 'Did smoke come out of it?' });
    expect(talk.kase).toMatchObject({ flags: [], handover: { reason: 'undelivered', danger: false } });
  });

  test('is told by the desk alone', () => {
    for (const person of [asker, mender, stranger]) {
      const talk = underWay('drain').as(person).sends(astray);
      expect(talk.kase.state).toBe('asking');
    }
  });
});

describe('a person who is called what the desk calls itself', () => {
  const namesake = { id: 'desk', name: 'Desk', level: 'trained' as const, roles: ['moderator' as const] };

  test('counts as a stranger, whatever the platform says of them', () => {
    const contents: Parameters<Voice['sends']>[0][] = [
      { kind: 'chose', answer: 'yes' },
      { kind: 'said', words: 'yes' },
      { kind: 'asked', what: 'forget' },
      { kind: 'acted', act: { what: 'take', hands: true } },
      { kind: 'changed', what: 'gone' },
      { kind: 'photo', references: ['p1'] },
    ];
    for (const content of contents) {
      const talk = underWay('dial-lamp');
      const before = talk.kase;
      talk.as(namesake).sends(content);
      expect([content.kind, talk.kase]).toEqual([content.kind, before]);
      const silent = content.kind === 'changed' || content.kind === 'photo';
      expect(talk.sent).toMatchObject(silent ? [] : [{ kind: 'whisper', to: 'desk' }]);
    }
  });

  test('opens no case, and is told why; danger is heard from them all the same', () => {
    const talk = newTalk().as(namesake).says('it hums');
    expect(talk.events).toEqual([]);
    expect(talk.sent).toMatchObject([{ kind: 'say', words: expect.stringContaining('my own') }]);
    const other = underWay('dial-lamp').as(namesake).says('smoke is coming out of it');
    expect(other.kase).toMatchObject({ state: 'with people', handover: { reason: 'red-flag' } });
    expect(Object.hasOwn(other.kase.people, 'desk')).toBe(false);
  });
});

describe('a look', () => {
  const looked = (...steps: readonly string[]): Talk => {
    const talk = atProof('lead-off-look', ...steps);
    for (const volts of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) talk.as(asker).measures(volts);
    return talk;
  };

  test('that could not be done is closed before anything is switched on', () => {
    const talk = looked('dial-lamp');
    talk.as(asker).asks('cannot');
    expect(talk.ask).toMatchObject({ step: 'unplug' });
    talk.as(asker).taps('unplugged');
    talk.later(20).rings();
    expect(talk.ask).toMatchObject({ step: 'shut' });
    talk.as(asker).taps('shut');
    expect(talk.ask).toMatchObject({ step: 'dial-lamp' });
  });

  test('stays on the list of things to put right until somebody is inside again', () => {
    const talk = looked('knob-feel', 'dial-lamp', 'lead-look');
    talk.as(asker).taps('no');
    for (const expected of ['knob-feel', 'dial-lamp']) {
      expect(talk.ask).toMatchObject({ step: expected });
      talk.as(asker).taps('yes');
      expect(talk.kase.world.altered).toBe('lead-off-look');
    }
    talk.as(asker).taps('unplugged');
    talk.later(20).rings();
    talk.as(asker).taps('opened');
    for (const volts of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) talk.as(asker).measures(volts);
    expect(talk.ask).toMatchObject({
      step: 'lead-look',
      how: ['Plug the tape lead in again.', expect.any(String)],
    });
    expect(talk.kase.world.altered).toBeNull();
  });

  test('is put right in an appliance that stores nothing, too', () => {
    const none = { ...radio, energy: { stores: 'none' as const } };
    const talk = newTalk({ flow: none, settings: following('lead-off-look', 'lead-look') });
    talk.as(asker).says('it lights up but is silent');
    for (const answer of ['silent', 'solid', 'light', 'unplugged', 'opened', 'no', 'unplugged', 'opened'])
      talk.as(asker).taps(answer);
    expect(talk.ask?.how[0]).toBe('Plug the tape lead in again.');
    expect(talk.kase.world.altered).toBeNull();
  });
});

describe('a proof without a meter', () => {
  const proof = ['held', 'locked'].map((id) => ({ id, name: id, how: 'So.' }));
  const energy = { stores: 'spring' as const, wait_minutes: 0, minutes: 1, proof, source: 'invented' };

  test('takes every point in so many words, and no number in their place', () => {
    const talk = newTalk({ flow: { ...radio, energy }, settings: following('lead-look') });
    talk.as(asker).says('it lights up but is silent');
    for (const answer of ['silent', 'solid', 'light', 'unplugged', 'opened']) talk.as(asker).taps(answer);
    expect(talk.ask).toMatchObject({ step: 'held' });
    talk.as(asker).measures('0');
    expect(talk.kase.world.readings).toEqual([]);
    talk.as(asker).taps('done');
    expect(talk.ask).toMatchObject({ step: 'locked' });
    talk.as(asker).taps('done');
    expect(talk.ask).toMatchObject({ step: 'lead-look' });
  });
});

describe('a turn', () => {
  test('puts no question past the gate, even in a case that should not have come about', () => {
    const talk = underWay('dial-lamp');
    const smoke = { flag: 'smoke' as const, sure: true, words: 'smoke', at: talk.at };
    const astray = { ...talk.kase, state: 'asking' as const, question: null, flags: [smoke], answers: [] };
    const inbound: Inbound = {
      id: 'x',
      thread: 'thread',
      at: talk.at,
      by: asker,
      kind: 'photo',
      references: [],
    };
    const { outbound } = step(astray, inbound, radio, settings);
    expect(outbound.map(({ kind }) => kind)).toEqual(['say', 'handover', 'bench']);
    expect(outbound[1]).toMatchObject({ reason: 'refused', danger: true });
  });

  test('leaves what it was given as it was', () => {
    const talk = underWay('dial-lamp');
    const before = JSON.stringify(talk.kase);
    const inbound: Inbound = {
      id: 'x',
      thread: 'thread',
      at: talk.at,
      by: asker,
      kind: 'asked',
      what: 'undo',
    };
    const first = step(talk.kase, inbound, radio, settings);
    expect(JSON.stringify(talk.kase)).toBe(before);
    expect(step(talk.kase, inbound, radio, settings)).toEqual(first);
  });

  test('is what its events say, also when they went through a file', () => {
    const talk = atProof('lead-look');
    for (const volts of ['1.55 V', '-0.3', '0', '1.55 V']) talk.as(asker).measures(volts);
    const kept = JSON.parse(JSON.stringify(talk.events)) as Event[];
    expect(JSON.stringify(fold(emptyCase('thread'), kept))).toBe(JSON.stringify(talk.kase));
  });

  test('that asks for the question again shows it, also to somebody with a new name', () => {
    const talk = underWay('dial-lamp');
    talk.as({ ...asker, name: 'Ada' }).asks('again');
    expect(talk.ask).toMatchObject({ step: 'dial-lamp', key: talk.kase.question?.key });
  });

  test('that makes no difference keeps no event', () => {
    const talk = underWay('dial-lamp');
    const count = talk.events.length;
    for (const what of ['where', 'why', 'card', 'mine', 'again'] as const) talk.as(asker).asks(what);
    expect(talk.events).toHaveLength(count);
  });
});

describe('a proof that goes wrong', () => {
  test('the reading of the battery, sent once more, does not count for a capacitor', () => {
    const talk = atProof('lead-look');
    talk.as(asker).measures('1.55 V');
    const { question } = talk.kase;
    talk.as(asker).measures('1.55 V');
    expect(talk.kase.question).toEqual(question);
    expect(talk.kase.world.readings).toHaveLength(1);
  });

  test('a form of an earlier question does not count', () => {
    const talk = atProof('lead-look');
    const of = talk.kase.question?.key ?? '';
    talk.as(asker).measures('1.55 V');
    const inbound: Inbound = {
      kind: 'measured',
      id: 'late',
      thread: talk.kase.id,
      at: talk.kase.world.readings[0]?.at ?? 0,
      by: asker,
      reading: '0.3 V',
      of,
    };
    const late = step(talk.kase, inbound, radio, settings);
    expect(late.events).toEqual([]);
    expect(late.outbound).toMatchObject([{ kind: 'whisper', to: asker.id }]);
  });

  test('goes to people when it comes to nothing again and again', () => {
    const talk = atProof('lead-look');
    for (let time = 0; time < 10 && talk.kase.state === 'asking'; time++) {
      for (const volts of ['1.55 V', '0.3 V', '0.1 V', '9.2 V']) talk.as(asker).measures(volts);
    }
    expect(talk.kase).toMatchObject({ state: 'with people', handover: { reason: 'stuck' } });
  });
});

describe('a sign of danger in doubt', () => {
  test('is answered by typing that it was not there', () => {
    const talk = underWay('dial-lamp');
    talk.as(asker).says('maybe there was smoke?');
    expect(talk.kase.question).toMatchObject({ kind: 'flag', step: 'smoke' });
    talk.as(asker).says('no smoke');
    expect(talk.kase.flags).toEqual([]);
    expect(talk.kase.question).toMatchObject({ step: 'dial-lamp' });
  });
});
