import { describe, expect, test } from 'vitest';
import type { Person } from '../../shared/person.ts';
import { fold, number } from '../../src/core/reduce.ts';
import { step } from '../../src/core/step.ts';
import { settledCase } from '../../src/outcomes/settled.ts';
import { following, newTalk, type Talk, type Voice } from '../conversations/thread.ts';
import { people, radio } from './example-flow.ts';

/** What the desk asks by itself: at what time, how often, and what comes of the answers. Its clock begins at 09:00 UTC. */

const asker: Person = { ...people.asker, level: 'handy' };
const { mender, moderator, stranger } = people;
const minute = 60_000;
const day = 24 * 60 * minute;

/** At the first step of these, a minute after nine. */
function underWay(...steps: readonly string[]): Talk {
  const talk = newTalk({ settings: following(...steps) });
  const voice = talk.as(asker);
  voice.says('it lights up but is silent');
  for (const answer of ['silent', 'solid']) voice.taps(answer);
  return talk;
}
/** With the remedy inside put: the back is off, and it is proven dead. */
function inside(): Talk {
  const talk = underWay('reseat');
  const voice = talk.as(asker);
  for (const answer of ['light', 'yes', 'unplugged']) voice.taps(answer);
  talk.later(20).rings();
  voice.taps('opened');
  for (const volts of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) voice.measures(volts);
  return talk;
}
function ordered(): Talk {
  const talk = underWay('new-speaker');
  const voice = talk.as(asker);
  for (const answer of ['young', 'light', 'yes', 'unplugged']) voice.taps(answer);
  talk.later(20).rings();
  voice.taps('opened');
  for (const volts of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) voice.measures(volts);
  return voice.taps('ordered');
}
/** It works after the settings, and is settled. */
const mended = (): Talk => {
  const talk = underWay('settings');
  return talk.as(asker).taps('works');
};
const settledAs = (outcome: 'Repairable' | 'End of life' | 'Unknown' | 'Fixed'): Talk => {
  const talk = underWay('settings');
  talk.as(asker).asks('person');
  return talk.as(mender).does({ what: 'settle', outcome });
};
/** The clock goes on to the case's timer, and it rings. */
function due(talk: Talk, late = 0): Talk {
  const at = talk.kase.rest?.due ?? talk.kase.followUp?.due;
  if (at == null) throw new Error('No timer is left.');
  return talk.later((at - talk.at) / minute + late).rings();
}
const timers = ({ kase }: Talk): number[] =>
  [kase.rest?.due, kase.followUp?.due].filter((one): one is number => one != null);
const ids = (talk: Talk): string[] => talk.ask?.choices.map(({ id }) => id) ?? [];
const said = (talk: Talk): string =>
  talk.sent.flatMap((one) => (one.kind === 'say' || one.kind === 'whisper' ? [one.words] : [])).join(' ');
const desk = (talk: Talk, key: string): Talk =>
  talk.as({ id: 'desk', name: 'a timer', roles: [] }).sends({ kind: 'rang', key });

describe('after a remedy that nobody told of', () => {
  test('it is asked once more after a day, at a civil hour, with the very same answers', () => {
    const talk = underWay('settings');
    const first = talk.ask;
    expect(talk.sent.at(-1)).toMatchObject({ kind: 'remind', later: true, due: day + 10 * 60 * minute });
    due(talk);
    expect(said(talk)).toMatch(/^Did you get to it\?/);
    expect(talk.ask).toMatchObject({ key: first?.key, how: first?.how, hazards: first?.hazards });
    expect(ids(talk)).toEqual([...(first?.choices.map(({ id }) => id) ?? []), 'quiet']);
  });

  test('a second time after three more days, and then never', () => {
    const talk = due(underWay('settings'));
    expect(timers(talk)).toEqual([4 * day + 10 * 60 * minute]);
    due(talk);
    expect(said(talk)).toContain('the last time I ask by myself');
    expect(talk.ask?.step).toBe('settings');
    expect(timers(talk)).toEqual([]);
    expect(talk.kase).toMatchObject({ state: 'asking', question: { kind: 'do' } });
  });

  test('an answer in time takes the timer back, and a late one counts like any other', () => {
    const talk = underWay('settings', 'dial-lamp');
    const { key } = talk.kase.followUp ?? {};
    talk.as(asker).taps('no');
    expect(talk.sent).toContainEqual({ kind: 'unremind', key });
    const late = due(underWay('settings', 'dial-lamp'));
    late.as(asker).taps('no');
    expect(late.kase.answers.at(-1)).toMatchObject({ kind: 'tested', result: 'no', remedies: ['settings'] });
  });

  test('nobody is asked after a check', () => {
    expect(timers(underWay('dial-lamp'))).toEqual([]);
  });

  test('whether it works is asked after, too', () => {
    const talk = underWay('drain');
    talk.as(asker).taps('done');
    talk.later(30).rings();
    expect(talk.ask?.phase).toBe('test');
    due(talk);
    expect(ids(talk)).toEqual(['works', 'no', 'different', 'quiet']);
  });

  test('of a step inside it is asked whether it was done, and nobody is led back inside', () => {
    const talk = due(inside());
    expect(talk.ask).toMatchObject({ phase: 'follow-up', step: 'reseat', how: [], hazards: [], tools: [] });
    expect(talk.ask?.question).toContain('keep your hands out');
    expect(ids(talk)).toEqual(['done', 'anew', 'quiet']);
    talk.as(asker).taps('anew');
    expect(talk.ask).toMatchObject({ step: 'unplug' });
    const done = due(inside());
    done.as(asker).taps('done');
    expect(done.kase.answers.at(-1)).toMatchObject({ kind: 'remedy-done', step: 'reseat' });
  });

  test('where the gate lets it pass no more, it is said in words, with nothing to do', () => {
    const remedies = radio.remedies.map((one) =>
      one.id === 'settings' ? { ...one, least: 'trained' as const } : one,
    );
    const talk = newTalk({ settings: following('settings'), flow: { ...radio, remedies } });
    const trained = talk.as({ ...asker, level: 'trained' });
    trained.says('it lights up but is silent');
    for (const answer of ['silent', 'solid']) trained.taps(answer);
    expect(talk.ask?.step).toBe('settings');
    talk.as({ ...asker, level: 'new' }).says('hello');
    due(talk);
    expect(talk.sent.map(({ kind }) => kind)).toEqual(['say', 'remind']);
    expect(said(talk)).toContain('“undo” takes the last answer back');
  });

  test.each<[string, (voice: Voice) => Talk]>([
    ['who stops', (voice) => voice.asks('stop')],
    ['who asks for a person', (voice) => voice.asks('person')],
    ['in danger', (voice) => voice.says('smoke is coming out')],
    ['in doubt about danger', (voice) => voice.says('maybe it smoked a little?')],
    ['who takes it back', (voice) => voice.says('change 1')],
    ['whose case is forgotten', (voice) => voice.asks('forget')],
    ['whose thread is gone', (voice) => voice.sends({ kind: 'changed', what: 'gone' })],
  ])('nobody is asked %s', (_, acts) => {
    const talk = underWay('settings');
    const { key } = talk.kase.followUp as { key: string };
    acts(talk.as(asker));
    expect(talk.sent).toContainEqual({ kind: 'unremind', key });
    const { kase } = talk;
    desk(talk.later(2 * 24 * 60), key);
    expect(talk.sent).toEqual([]);
    expect(talk.kase).toEqual(kase);
  });
});

describe('one tap', () => {
  test('stops the asking, and the question stays open', () => {
    const talk = due(underWay('settings'));
    talk.as(asker).taps('quiet');
    expect(talk.kase).toMatchObject({ quiet: true, question: { kind: 'do', step: 'settings' } });
    expect(timers(talk)).toEqual([]);
    expect(talk.sent.map(({ kind }) => kind)).toEqual(['say', 'unremind']);
    talk.as(asker).taps('quiet');
    expect(talk.events.filter(({ kind }) => kind === 'follow-ups-refused')).toHaveLength(1);
    talk.as(asker).taps('works');
    expect(talk.kase.state).toBe('settled');
    expect(timers(talk)).toEqual([]);
  });

  test('or so many words, before it was ever asked', () => {
    const talk = underWay('settings');
    talk.as(asker).says('please do not ask me again');
    expect(talk.kase).toMatchObject({ quiet: true, followUp: null, question: { step: 'settings' } });
    talk.as(asker).taps('works');
    expect(timers(talk)).toEqual([]);
  });

  test('and whoever takes the case up again may be asked again', () => {
    const talk = mended();
    talk.as(asker).says('no more reminders');
    talk.as(asker).asks('again');
    expect(talk.kase.quiet).toBe(false);
    expect(timers(talk)).toHaveLength(1);
  });

  test('of somebody else does not count', () => {
    const talk = due(underWay('settings'));
    talk.as(stranger).taps('quiet');
    expect(talk.kase.quiet).toBe(false);
  });
});

describe('a part that was ordered', () => {
  test('is asked after at a civil hour five days later, and then, unanswered, once more', () => {
    const talk = ordered();
    expect(timers(talk)).toEqual([5 * day + 10 * 60 * minute]);
    expect(ids(talk)).toEqual(['arrived', 'not-yet', 'wrong-part']);
    due(talk);
    expect(said(talk)).toContain('The part should be here by now.');
    expect(said(talk)).not.toContain('time is over');
    expect(talk.ask?.question).toBe('Is it here, and are its numbers the same as on the old one?');
    expect(ids(talk)).toEqual(['arrived', 'not-yet', 'wrong-part', 'quiet']);
    expect(timers(talk)).toEqual([8 * day + 10 * 60 * minute]);
    due(talk);
    expect(talk.ask).toMatchObject({ step: 'new-speaker', phase: 'part' });
    expect(said(talk)).toContain('after it I wait for your word');
    expect(timers(talk)).toEqual([]);
    expect(talk.kase.question?.kind).toBe('arrival');
  });

  test('that is not here yet is asked after in three days; after the second time it waits for a word', () => {
    const talk = due(ordered());
    talk.as(asker).taps('not-yet');
    expect(talk.kase).toMatchObject({ state: 'resting', rest: { due: 8 * day + 10 * 60 * minute } });
    due(talk);
    expect(Object.values(talk.kase.chased)).toEqual([2]);
    talk.as(asker).taps('not-yet');
    expect(said(talk)).toContain('I wait for your word');
    expect(timers(talk)).toEqual([]);
    expect(talk.kase).toMatchObject({ state: 'asking', question: { kind: 'arrival' } });
    talk
      .later(30 * 24 * 60)
      .as(asker)
      .taps('arrived');
    expect(talk.kase.answers.at(-1)).toMatchObject({ kind: 'part-arrived' });
  });

  test('is not asked after sooner because somebody says early that it is not here', () => {
    const talk = ordered();
    talk.later(60).as(asker).taps('not-yet');
    expect(timers(talk)).toEqual([5 * day + 10 * 60 * minute]);
    talk
      .later(4 * 24 * 60)
      .as(asker)
      .taps('not-yet');
    expect(timers(talk)).toEqual([talk.at + 3 * day]);
  });

  test('comes before whatever else the plan would like to know', () => {
    const talk = newTalk({ settings: following('new-speaker', 'dial-lamp') });
    const voice = talk.as(asker);
    voice.says('it lights up but is silent');
    for (const answer of ['silent', 'solid', 'young', 'light', 'yes', 'unplugged']) voice.taps(answer);
    talk.later(20).rings();
    voice.taps('opened');
    for (const volts of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) voice.measures(volts);
    voice.taps('ordered');
    voice.asks('person');
    talk.as(moderator).does({ what: 'back' });
    expect(talk.ask).toMatchObject({ phase: 'part', step: 'new-speaker' });
  });

  test('is waited for without a timer by who does not want to be asked', () => {
    const talk = ordered();
    talk.as(asker).says('stop asking me');
    expect(talk.sent).toContainEqual({ kind: 'unremind', key: 'part:new-speaker' });
    expect(talk.kase).toMatchObject({ state: 'asking', rest: null, question: { kind: 'arrival' } });
    talk.as(asker).taps('not-yet');
    expect(timers(talk)).toEqual([]);
    talk.as(asker).taps('arrived');
    expect(talk.kase.answers.at(-1)).toMatchObject({ kind: 'part-arrived' });
  });

  test('and was refused before it was ordered is not asked after at all', () => {
    const talk = underWay('new-speaker');
    talk.as(asker).says('do not ask me again');
    const voice = talk.as(asker);
    for (const answer of ['young', 'light', 'yes', 'unplugged']) voice.taps(answer);
    talk.later(20).rings();
    voice.taps('opened');
    for (const volts of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) voice.measures(volts);
    voice.taps('ordered');
    expect(talk.ask).toMatchObject({ phase: 'part' });
    expect(timers(talk)).toEqual([]);
  });

  test('and is the wrong one may be had right, once', () => {
    const talk = due(ordered());
    talk.as(asker).taps('wrong-part');
    expect(talk.kase.question).toMatchObject({ kind: 'unplug', toward: 'new-speaker' });
    const voice = talk.as(asker);
    voice.taps('unplugged');
    talk.later(20).rings();
    voice.taps('opened');
    for (const volts of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) voice.measures(volts);
    expect(talk.kase.question).toMatchObject({ kind: 'part', step: 'new-speaker' });
    voice.taps('ordered');
    due(talk);
    voice.taps('wrong-part');
    expect(talk.kase.question?.toward).not.toBe('new-speaker');
    expect(talk.kase.question?.step).not.toBe('new-speaker');
  });

  test('and is the wrong one is known afterwards', () => {
    const talk = due(ordered());
    talk.as(asker).taps('wrong-part');
    talk.as(asker).asks('person');
    talk.as(mender).does({ what: 'settle', outcome: 'Repairable' });
    expect(settledCase(talk.kase, radio)).toMatchObject({ wrong_parts: ['new-speaker'], parts: [] });
  });
});

describe('after the end', () => {
  const after = 14 * day + 10 * 60 * minute;

  test('who was helped is asked after the follow-up time whether it still works', () => {
    const talk = mended();
    expect(timers(talk)).toEqual([after]);
    due(talk);
    expect(talk.ask).toMatchObject({ phase: 'follow-up', question: 'Does your radio still work?' });
    expect(ids(talk)).toEqual(['works', 'back', 'other', 'quiet']);
    expect(talk.kase.state).toBe('settled');
    talk.as(asker).taps('works');
    expect(talk.sent.map(({ kind }) => kind)).toEqual(['amend', 'say', 'unremind']);
    expect(talk.kase).toMatchObject({ state: 'settled', question: null });
    expect(settledCase(talk.kase, radio)).toMatchObject({
      outcome: 'Fixed',
      follow_up: { result: 'works', at: talk.at },
      settled: talk.kase.outcome?.at,
    });
    talk.as(asker).asks('card');
    expect(said(talk)).toContain('Asked again on 1970-01-15: still works');
  });

  test('and once more after the same time, if nothing was answered', () => {
    const talk = due(mended());
    const { key } = talk.ask ?? {};
    expect(timers(talk)).toEqual([2 * 14 * day + 10 * 60 * minute]);
    due(talk);
    expect(talk.ask).toMatchObject({ key, phase: 'follow-up' });
    expect(said(talk)).toContain('the last time');
    expect(timers(talk)).toEqual([]);
    talk.as(asker).taps('works');
    expect(talk.kase.followed).toMatchObject({ result: 'works' });
  });

  test('the same fault is back: the case goes on, and what was done counts as not having worked', () => {
    const talk = due(mended());
    talk.as(asker).taps('back');
    expect(talk.sent[0]).toMatchObject({ kind: 'amend', words: 'No, the same fault is back' });
    expect(talk.kase).toMatchObject({ state: 'asking', outcome: null, followed: { result: 'back' } });
    expect(talk.kase.answers.filter(({ kind }) => kind === 'tested')).toMatchObject([
      { result: 'no', remedies: ['settings'] },
    ]);
    expect(talk.kase.question).not.toBeNull();
    talk.as(asker).asks('person');
    talk.as(mender).does({ what: 'settle', outcome: 'Repairable' });
    expect(settledCase(talk.kase, radio)).toMatchObject({
      tried: [{ remedy: 'settings', worked: false }],
      follow_up: { result: 'back' },
    });
  });

  test('which can be taken back: then it is asked whether it works', () => {
    const talk = due(mended());
    talk.as(asker).taps('back');
    talk.as(asker).asks('undo');
    expect(talk.ask?.phase).toBe('test');
    expect(talk.kase.followed).toBeNull();
    talk.as(asker).taps('works');
    expect(settledCase(talk.kase, radio)).toMatchObject({ tried: [{ worked: true }], follow_up: null });
  });

  test('something else is wrong: thanks, and how a new case begins', () => {
    const talk = due(mended());
    talk.as(asker).taps('other');
    expect(said(talk)).toContain('begin a new thread');
    expect(talk.kase.state).toBe('settled');
    expect(timers(talk)).toEqual([]);
    expect(settledCase(talk.kase, radio)).toMatchObject({ outcome: 'Fixed', follow_up: { result: 'other' } });
  });

  test('what went to somebody is asked after, and who says that it is repaired is named', () => {
    const talk = due(settledAs('Repairable'));
    expect(ids(talk)).toEqual(['repaired', 'not-yet', 'given-up', 'quiet']);
    talk.as(asker).taps('repaired');
    expect(talk.kase.outcome).toMatchObject({ outcome: 'Fixed', by: 'mender' });
    // Whoever repaired it may know the fault; the owner's word that it works does not say which it was.
    expect(settledCase(talk.kase, radio)).toMatchObject({
      outcome: 'Fixed',
      confirmed: null,
      follow_up: { result: 'repaired' },
    });
    expect(settledCase(talk.kase, radio)?.said_by).toBe('asker');
    talk.as(asker).asks('card');
    expect(said(talk)).toContain(`repaired, it works, says ${asker.name}`);
    expect(said(talk)).toContain('Who says so: the owner.');
    expect(timers(talk)).toEqual([]);
  });

  test('given up, it is at the end of its life', () => {
    const talk = due(settledAs('Repairable'));
    talk.as(asker).taps('given-up');
    expect(settledCase(talk.kase, radio)).toMatchObject({ outcome: 'End of life', barrier: null });
    talk.as(asker).asks('undo');
    expect(talk.kase.outcome).toMatchObject({ outcome: 'Repairable' });
    expect(talk.ask?.phase).toBe('follow-up');
    talk.as(asker).taps('repaired');
    expect(settledCase(talk.kase, radio)).toMatchObject({ outcome: 'Fixed' });
  });

  test('not repaired yet, it is asked after once more and then no more', () => {
    const talk = due(settledAs('Repairable'));
    talk.as(asker).taps('not-yet');
    expect(said(talk)).toContain('once more in 14 days');
    expect(talk.kase.question).toBeNull();
    expect(timers(talk)).toHaveLength(1);
    due(talk);
    expect(ids(talk)).toEqual(['repaired', 'not-yet', 'given-up', 'quiet']);
    talk.as(asker).taps('not-yet');
    expect(said(talk)).toContain('no more by myself');
    expect(timers(talk)).toEqual([]);
    expect(talk.kase.question).toBeNull();
  });

  test('and whoever says so late is asked as many days later as they are told', () => {
    const talk = due(settledAs('Repairable'));
    talk.later((12 * day) / minute);
    talk.as(asker).taps('not-yet');
    expect(said(talk)).toContain('once more in 14 days');
    expect(timers(talk)).toEqual([after + (12 + 14) * day]);
    expect(talk.sent.filter(({ kind }) => kind === 'unremind')).toEqual([]);
    due(talk);
    expect(ids(talk)).toContain('repaired');
  });

  test.each(['End of life', 'Unknown'] as const)('nobody is asked after %s', (outcome) => {
    expect(timers(settledAs(outcome))).toEqual([]);
  });

  test('nobody is asked who was forgotten or erased', () => {
    const talk = mended();
    const { key } = talk.kase.followUp as { key: string };
    talk.as(asker).asks('forget');
    expect(talk.sent).toContainEqual({ kind: 'unremind', key });
    expect(timers(talk)).toEqual([]);
    const { kase } = mended();
    const erase = (person: string) =>
      fold(kase, number(kase, [{ kind: 'erased', by: 'desk', at: kase.opened, person }]));
    expect(erase('asker').followUp).toBeNull();
    expect(erase('somebody').followUp).toEqual(kase.followUp);
  });

  test('nobody is asked about what ended long ago, such as before the desk learnt to ask', () => {
    const { kase } = mended();
    const noted = (later: number) =>
      step(
        { ...kase, followUp: null },
        { id: 'x', thread: 'thread', at: kase.opened + later, by: asker, kind: 'photo', references: ['p'] },
        radio,
        following('settings'),
      );
    expect(noted(20 * day).outbound.map(({ kind }) => kind)).toEqual(['say']);
    expect(noted(13 * day).outbound.map(({ kind }) => kind)).toEqual(['say', 'remind']);
  });

  test('with the guide gone, it is still asked', () => {
    const talk = mended();
    talk.corrects({ ...radio, flow: 'kettle' });
    due(talk);
    expect(talk.ask).toMatchObject({ phase: 'follow-up', question: 'Does your table radio still work?' });
    talk.as(asker).taps('works');
    expect(talk.kase.followed).toMatchObject({ result: 'works' });
  });

  test('somebody who settles it anew is asked about the new end', () => {
    const talk = due(mended());
    talk.as(mender).does({ what: 'settle', outcome: 'Repairable' });
    expect(talk.kase.question).toBeNull();
    expect(timers(talk)).toEqual([talk.at + 14 * day]);
    due(talk);
    expect(ids(talk)).toContain('repaired');
  });
});

describe('an open question after the end', () => {
  test.each([
    ['yes, still fine', 'works'],
    ['it works great', 'works'],
    ["it's broken again", 'back'],
    ['no, it does not work', 'back'],
    ['it stopped working', 'back'],
    ['the same fault is back', 'back'],
  ])('is answered in words, and asked back where they are not its own: %s', (words, result) => {
    const talk = due(mended());
    talk.as(asker).says(words);
    if (talk.kase.guess !== null) {
      expect(talk.kase.guess).toBe(result);
      talk.as(asker).says('yes');
    }
    expect(talk.kase.followed?.result).toBe(result);
  });

  test.each([
    ['it was given up', 'given-up'],
    ['the café has repaired it', 'repaired'],
    ['not yet', 'not-yet'],
    ['still waiting for the part', 'not-yet'],
  ])('and so is what became of it: %s', (words, result) => {
    const talk = due(settledAs('Repairable'));
    talk.as(asker).says(words);
    if (talk.kase.guess !== null) talk.as(asker).says('yes');
    expect(talk.kase.followed?.result).toBe(result);
  });

  test('words that say neither change nothing', () => {
    const talk = due(mended());
    talk.as(asker).says('the cat sat on it');
    expect(talk.kase).toMatchObject({ state: 'settled', followed: null, question: { kind: 'follow-up' } });
    expect(talk.sent.map(({ kind }) => kind)).toEqual(['say']);
  });

  test('“again”, “forget” and “stop” do what they always do', () => {
    const again = due(mended());
    again.as(asker).asks('again');
    expect(again.ask?.phase).toBe('test');
    expect(timers(again)).toHaveLength(1);
    const forgotten = due(mended());
    forgotten.as(asker).asks('forget');
    expect(forgotten.kase).toMatchObject({ question: null, quiet: true, outcome: { outcome: 'Fixed' } });
    const stopped = due(mended());
    stopped.as(asker).asks('stop');
    expect(stopped.kase).toMatchObject({ question: null, quiet: true, state: 'settled' });
    expect(timers(stopped)).toEqual([]);
  });

  test('no answer before the end is changed by it', () => {
    const talk = due(mended());
    const { answers } = talk.kase;
    talk.as(asker).says('change 1');
    talk.as(asker).asks('undo');
    expect(talk.kase.answers).toEqual(answers);
    expect(talk.kase.state).toBe('settled');
  });

  test('a sign of danger in the answer takes the case up, and stops everything', () => {
    const talk = due(mended());
    talk.as(asker).says('it works but there was smoke');
    expect(talk.sent[0]).toMatchObject({ kind: 'warn', flag: 'smoke' });
    expect(talk.kase).toMatchObject({ state: 'with people', outcome: null, handover: { danger: true } });
    const button = due(mended());
    button.as(asker).taps('danger');
    expect(button.kase).toMatchObject({ alarm: true, question: { kind: 'flag' } });
    const doubt = due(mended());
    doubt.as(stranger).says('maybe it smoked a little?');
    expect(doubt.kase.question).toMatchObject({ kind: 'flag', step: 'smoke' });
  });

  test('twice tapped, it is answered once; an old button is told to be late', () => {
    const talk = due(mended());
    const { key } = talk.ask as { key: string };
    talk.as(asker).taps('works', key);
    const { events } = talk;
    const count = events.length;
    talk.as(asker).taps('back', key);
    expect(talk.events).toHaveLength(count);
    const again = due(mended());
    const old = again.ask?.key as string;
    again.as(asker).asks('again');
    again.as(asker).taps('back', old);
    expect(again.sent).toMatchObject([{ kind: 'whisper', to: 'asker' }]);
  });

  test('a mender may answer it, a stranger not', () => {
    const talk = due(mended());
    talk.as(stranger).taps('back');
    expect(talk.kase.followed).toBeNull();
    talk.as(mender).taps('works');
    expect(talk.kase.followed).toMatchObject({ by: 'mender', result: 'works' });
  });

  test('why it is asked is told without any plan', () => {
    const talk = due(mended());
    talk.as(asker).asks('why');
    expect(said(talk)).toMatch(/^Only time shows whether a mend lasts\./);
    talk.as(asker).asks('unsure');
    expect(talk.kase.question?.kind).toBe('follow-up');
  });

  test('what a mender does meanwhile does not put it anew', () => {
    const talk = due(mended());
    talk.as(moderator).does({ what: 'result', step: 'knob-feel', answer: 'yes' });
    expect(talk.ask).toBeNull();
    expect(timers(talk)).toHaveLength(1);
  });
});

describe('a timer', () => {
  test('of before, of another thing, or repeated, rings in vain', () => {
    const talk = underWay('settings');
    const { key } = talk.kase.followUp as { key: string };
    due(talk);
    const { kase } = talk;
    for (const old of [key, 'after:q1:1', 'after:end:0:1', '']) {
      desk(talk, old);
      expect(talk.sent).toEqual([]);
      expect(talk.kase).toBe(kase);
    }
  });

  test('that comes before its time is set again', () => {
    const talk = underWay('settings');
    const { key, due: then } = talk.kase.followUp as { key: string; due: number };
    desk(talk.later(60), key);
    expect(talk.sent).toEqual([
      { kind: 'remind', key, due: then, reason: 'to ask how it went on', later: true },
    ]);
    expect(talk.kase.chased).toEqual({});
  });

  test('that comes late says so, and waits for the morning where it is night by now', () => {
    const talk = due(underWay('settings'), 120);
    expect(said(talk)).toMatch(/^I meant to ask 2 h ago; I am sorry\./);
    const night = due(underWay('settings'), 12 * 60);
    expect(night.sent).toMatchObject([{ kind: 'remind', due: 2 * day + 10 * 60 * minute }]);
    expect(night.kase.chased).toEqual({});
    due(night);
    expect(night.ask?.step).toBe('settings');
    const part = due(ordered(), 12 * 60);
    expect(part.sent).toMatchObject([{ kind: 'remind', due: 6 * day + 10 * 60 * minute }]);
    expect(part.kase).toMatchObject({ state: 'resting', question: { kind: 'arrival' } });
    due(part);
    expect(part.ask?.question).toMatch(/^Is it here,/);
  });

  test('at night asks nothing that a corrected flow would ask instead; it waits for the morning, too', () => {
    const corrected = {
      ...radio,
      version: radio.version + 1,
      remedies: radio.remedies.filter(({ id }) => id !== 'settings'),
    };
    for (const talk of [underWay('settings', 'dial-lamp'), due(underWay('settings', 'dial-lamp'))]) {
      talk.corrects(corrected);
      due(talk, 13 * 60);
      expect(talk.sent.map(({ kind }) => kind)).toEqual(['remind']);
      expect(talk.kase.question?.step).toBe('settings');
      due(talk);
      expect(new Date(talk.at).getUTCHours()).toBe(10);
      expect(talk.ask?.step).toBe('dial-lamp');
    }
  });

  test('goes by the clocks of the community', () => {
    const { community, ...rest } = following('settings');
    const hours = { from: 17, to: 18 };
    const talk = newTalk({
      settings: { ...rest, community: { ...community, time_zone: 'Asia/Kolkata', follow_up_hours: hours } },
    });
    talk.as(asker).says('it lights up but is silent');
    for (const answer of ['silent', 'solid']) talk.as(asker).taps(answer);
    // India is 5 h 30 min ahead of UTC.
    expect(timers(talk)).toEqual([day + (11 * 60 + 30) * minute]);
  });

  test('rings on the clock of a demonstration alike', () => {
    const talk = underWay('settings');
    talk.skips(25 * 60 + 1).rings();
    expect(talk.sent).toMatchObject([
      { kind: 'say', mark: 'demonstration' },
      { kind: 'ask', mark: 'demonstration' },
      { kind: 'remind', mark: 'demonstration' },
    ]);
  });
});

describe('the hour that a person states', () => {
  test('moves what is set already, and whatever comes', () => {
    const talk = underWay('settings');
    talk.as(asker).says('please ask me at 8 pm');
    expect(said(talk)).toContain('20:00 (UTC)');
    expect(timers(talk)).toEqual([day + 20 * 60 * minute]);
    expect(talk.sent.filter(({ kind }) => kind === 'remind')).toMatchObject([
      { due: day + 20 * 60 * minute },
    ]);
    talk.as(asker).taps('works');
    expect(timers(talk)).toEqual([14 * day + 20 * 60 * minute]);
    const part = ordered();
    part.as(asker).says('not before 18:00');
    expect(timers(part)).toEqual([5 * day + 18 * 60 * minute]);
    expect(part.kase).toMatchObject({ state: 'resting', question: { kind: 'arrival' } });
  });

  test('is asked back where it may be two, and is the owner’s alone', () => {
    const talk = underWay('settings');
    talk.as(asker).says('remind me at 7');
    expect(said(talk)).toContain('Morning or evening?');
    talk.later(11).as(mender).says('ask me at 8 pm');
    expect(talk.kase.hour).toBeNull();
  });

  test('of a mender who has the appliance is none that the owner is asked at', () => {
    const talk = underWay('settings');
    talk.as(mender).does({ what: 'take', hands: true });
    talk.as(mender).does({ what: 'back' });
    talk.as(mender).says('ask me at 11 pm');
    talk.as(mender).does({ what: 'settle', outcome: 'Repairable' });
    expect(talk.kase.hour).toBeNull();
    expect(timers(talk).map((at) => new Date(at).getUTCHours())).toEqual([10]);
  });

  test('is no answer, and no answer is an hour', () => {
    const talk = underWay('speaker-ohms');
    const voice = talk.as(asker);
    for (const answer of ['light', 'yes', 'unplugged']) voice.taps(answer);
    talk.later(20).rings();
    voice.taps('opened');
    voice.says('not before 18:00');
    expect(talk.kase).toMatchObject({ hour: 18, world: { readings: [] }, question: { kind: 'prove' } });
    voice.says('1.55 V');
    expect(talk.kase).toMatchObject({ hour: 18, world: { readings: [{ value: 1.55 }] } });
  });

  test('is left to people where they talk among themselves', () => {
    const talk = underWay('settings');
    talk.as(asker).asks('person');
    talk.as(asker).says('ask me at 8 pm');
    expect(talk.kase.hour).toBeNull();
  });
});
