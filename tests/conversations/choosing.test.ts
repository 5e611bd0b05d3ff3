import { expect, test } from 'vitest';
import { unchosen } from '../../src/core/unchosen.ts';
import { parseFlow } from '../../src/flows.ts';
import { createLibrary } from '../../src/library/library.ts';
import { people, radio, settings } from '../core/example-flow.ts';
import { flowOf, lamp as lampText } from '../desk-lamp.ts';
import { newTalk } from './thread.ts';

/** Which appliance it is: asked before anything else, and nothing is taken without a tap. */

const lamp = flowOf(parseFlow(lampText, 'lamp'));
const oven = { ...lamp, flow: 'hot-box', title: 'Hot box', noun: 'hot box', names: ['hot box'], access: [] };
const closed = { ...oven, never_open: { why: 'It bites.', who: 'Only a licensed person opens it.' } };
const general = {
  ...radio,
  flow: 'any',
  title: 'Something else',
  noun: 'appliance',
  general: 'mains' as const,
};
const ada = { ...people.asker, name: 'Ada', level: 'new' as const };

const open = () => {
  const library = createLibrary([general, closed, lamp, radio]);
  const talk = newTalk({ flow: unchosen, settings: { ...settings, library } });
  return { talk, asker: talk.as(ada) };
};

test('words that name the appliance and state the complaint are asked about once, and one tap answers both', () => {
  const { talk, asker } = open();
  asker.says('My radio lights up but is silent');
  expect(talk.kase.flow).toBeNull();
  expect(talk.ask).toMatchObject({ step: 'appliance', question: 'Do I understand you right?' });
  expect(talk.ask?.plan).toBeUndefined();
  expect(talk.ask?.choices.map(({ id }) => id)).toEqual([
    'table-radio/silent',
    'table-radio',
    'none',
    'danger',
  ]);
  asker.taps('table-radio/silent');
  expect(talk.kase).toMatchObject({ flow: 'table-radio', version: radio.version });
  expect(talk.kase.answers).toMatchObject([{ kind: 'complaint-stated', complaint: 'silent' }]);
  expect(talk.ask?.step).not.toBe('complaint');
});

test('words that name none are answered with the way on, and the name typed then counts', () => {
  const { talk, asker } = open();
  asker.says('it is broken, please help');
  expect(talk.ask?.question).toBe('What kind of appliance is it?');
  expect(talk.ask?.choices.map(({ id }) => id)).toEqual(['any', 'danger']);
  asker.says('a readng lamp');
  expect(talk.ask?.choices.map(({ id }) => id)).toContain(lamp.flow);
  expect(talk.kase.flow).toBeNull();
  asker.taps(lamp.flow);
  expect(talk.kase.flow).toBe(lamp.flow);
});

test('an appliance that nobody knows goes the general way', () => {
  const { talk, asker } = open();
  asker.says('my juicer drips');
  asker.taps('any');
  expect(talk.kase.flow).toBe('any');
  expect(talk.ask?.step).toBe('complaint');
});

test('the wrong appliance can be left at the complaint, and by undo; what was answered about it is gone', () => {
  const { talk, asker } = open();
  asker.says('radio');
  asker.taps('table-radio');
  expect(talk.ask?.choices).toContainEqual({ id: 'another', label: 'It is another appliance' });
  asker.taps('another');
  expect(talk.kase).toMatchObject({ flow: null, answers: [] });
  asker.says('the radio is silent');
  asker.taps('table-radio/silent');
  asker.asks('undo');
  expect(talk.kase).toMatchObject({ flow: 'table-radio', answers: [] });
  asker.asks('undo');
  expect(talk.kase.flow).toBeNull();
  expect(talk.ask?.step).toBe('appliance');
});

test('what is never opened is said so before anything is asked about it', () => {
  const { talk, asker } = open();
  asker.says('hot box');
  asker.taps('hot-box');
  const [first] = talk.sent.filter(({ kind }) => kind !== 'amend');
  expect(first).toEqual({
    kind: 'warn',
    word: 'WARNING',
    instruction: 'Please leave your hot box closed, whatever else we try.',
    words: 'It bites. Only a licensed person opens it.',
  });
});

test('danger comes before the appliance', () => {
  const { talk, asker } = open();
  asker.says('there is smoke coming out of my radio!');
  expect(talk.sent[0]).toMatchObject({ kind: 'warn' });
  expect(talk.kase.flow).toBeNull();
  expect(talk.kase.state).toBe('with people');
});

test('who cannot say what it is gets the general ways, and then a person, with a card that plans nothing', () => {
  const { talk, asker } = open();
  asker.says('desk lamp or radio');
  expect(talk.ask?.choices.map(({ id }) => id)).toEqual([lamp.flow, 'table-radio', 'none', 'danger']);
  asker.asks('unsure');
  expect(talk.ask?.choices.map(({ id }) => id)).toEqual(['any', 'danger']);
  asker.asks('unsure');
  expect(talk.kase.state).toBe('with people');
  asker.asks('card');
  const card = talk.sent.map((one) => (one.kind === 'say' ? one.words : '')).join('\n');
  expect(card).toContain('Job card: Appliance not known yet');
  expect(card).not.toContain('Likely causes');
});

test('where, why and a late tap do no harm before the appliance is known', () => {
  const { talk, asker } = open();
  asker.says('radio');
  const key = talk.ask?.key;
  asker.asks('where');
  expect(talk.sent.map(({ kind }) => kind)).not.toContain('show');
  asker.asks('why');
  expect(talk.sent[0]).toMatchObject({ kind: 'say' });
  asker.taps('none');
  asker.taps('table-radio', key);
  expect(talk.kase.flow).toBeNull();
  expect(talk.sent[0]).toMatchObject({ kind: 'whisper' });
});
