import { expect, test } from 'vitest';
import { people } from '../core/example-flow.ts';
import { following, newTalk, type Talk } from './thread.ts';

/** What people say among themselves in a thread in which the desk is one voice of several. */

const cleo = { ...people.asker, name: 'Cleo' };
const mo = { ...people.mender, name: 'Mo' };
const passer = { ...people.stranger, name: 'Somebody' };

const begun = (): Talk => {
  const talk = newTalk({ settings: following('dial-lamp', 'knob-feel', 'settings') });
  talk.as(cleo).says('It lights up but is silent');
  talk.as(cleo).taps('silent');
  talk.as(cleo).taps('solid');
  return talk;
};

test('somebody else’s chatter is left alone; an answer of theirs is thanked for in private', () => {
  const talk = begun();
  talk.as(passer).says('I had one of those once, lovely sound');
  expect(talk.sent).toEqual([]);
  talk.as(passer).says('yes');
  expect(talk.sent).toMatchObject([{ kind: 'whisper', to: passer.id }]);
  talk.as(passer).says('is that smoke coming out of it?');
  expect(talk.sent).not.toEqual([]);
});

test('what was said to somebody else is no answer, stays for the job card, and danger in it is heard', () => {
  const talk = begun();
  const question = talk.kase.question;
  talk.as(cleo).sends({ kind: 'said', words: 'yes', aside: true });
  expect(talk.sent).toEqual([]);
  expect(talk.kase.question).toEqual(question);
  talk.as(cleo).sends({ kind: 'said', words: 'it fell off the shelf last week', aside: true });
  talk.as(cleo).asks('card');
  expect(talk.sent[0]).toMatchObject({ words: expect.stringContaining('fell off the shelf') });
  talk.as(cleo).sends({ kind: 'said', words: 'there is smoke coming out', aside: true });
  expect(talk.kase.state).toBe('with people');
});

test('a bare yes just after a mender spoke is asked back before it counts', () => {
  const talk = begun();
  talk.as(mo).says('did you leave it on overnight?');
  expect(talk.sent).toEqual([]);
  talk.as(cleo).says('yes');
  expect(talk.sent).toMatchObject([{ kind: 'say', words: expect.stringContaining('Is that right?') }]);
  expect(talk.kase.question?.step).toBe('dial-lamp');
  talk.as(cleo).says('yes');
  expect(talk.kase.answers.at(-1)).toMatchObject({ step: 'dial-lamp', outcome: 'yes' });
});

test('an owner who talks with a mender is not told that they were not understood', () => {
  const talk = begun();
  talk.as(mo).says('which village are you in?');
  talk.as(cleo).says('Larkholm, by the mill');
  expect(talk.sent).toEqual([]);
  talk.later(11);
  talk.as(cleo).says('Larkholm, by the mill');
  expect(talk.sent).toMatchObject([{ kind: 'say' }]);
});

test('with people, the owner is told once that they read it, and menders never', () => {
  const talk = begun();
  talk.as(cleo).asks('person');
  talk.as(mo).says('I am in on Saturday');
  expect(talk.sent.filter(({ kind }) => kind === 'say')).toEqual([]);
  talk.as(cleo).says('thank you');
  expect(talk.sent.filter(({ kind }) => kind === 'say')).toHaveLength(1);
  talk.as(cleo).says('I can come at ten');
  expect(talk.sent.filter(({ kind }) => kind === 'say')).toEqual([]);
});
