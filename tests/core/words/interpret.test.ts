import { describe, expect, test } from 'vitest';
import type { Question } from '../../../shared/case.ts';
import { choicesOf } from '../../../src/core/answer.ts';
import { keyed } from '../../../src/core/next.ts';
import { emptyCase } from '../../../src/core/reduce.ts';
import { interpret } from '../../../src/core/words/interpret.ts';
import { radio, settings } from '../example-flow.ts';

/** Sentences in place of numbers. How people write: common practice, no source. */

const read = (words: string, kind: Question['kind'], step: string, guess: string | null = null) => {
  const kase = { ...emptyCase('thread'), guess };
  const offered = kind === 'complaint' ? { offered: ['silent'] } : {};
  const question = keyed({ kind, step, ...offered }, kase, radio);
  return interpret(words, question, choicesOf(question, kase, radio, settings), kase, radio);
};

describe('a control in a sentence', () => {
  test.each([
    'hm, not sure',
    'no idea sorry',
    'I really don’t know',
    'dunno',
    'not sure if it turns',
    'no clue',
  ])('"%s" is not sure', (words) => {
    expect(read(words, 'check', 'knob-feel')).toEqual({ kind: 'control', control: 'unsure' });
  });

  test('it is the answer "I do not know" where that is one', () => {
    expect(read('no idea', 'detail', 'kind')).toEqual({ kind: 'choice', id: 'not-known', sure: true });
  });

  test.each([
    'a person please',
    'can I talk to somebody',
    'I want to speak to a real person',
    'is there a human here',
  ])('"%s" asks for a person', (words) => {
    expect(read(words, 'check', 'knob-feel')).toEqual({ kind: 'control', control: 'person' });
  });

  test.each(['somebody', 'somebody can help me lift it', 'I need a second person', 'people'])(
    '"%s" hands nothing over',
    (words) => {
      expect(read(words, 'detail', 'weight')).not.toMatchObject({ control: 'person' });
    },
  );

  test('a sentence that begins with why asks why, but not where the complaint is told as one', () => {
    expect(read('why is it done like that?', 'check', 'knob-feel')).toEqual({
      kind: 'control',
      control: 'why',
    });
    expect(read('why is it so silent', 'complaint', 'complaint')).not.toMatchObject({ kind: 'control' });
  });
});

describe('yes and no at the head of a sentence', () => {
  test('is the one answer that begins so, to be asked back', () => {
    expect(read('no it wont move', 'check', 'knob-feel')).toEqual({ kind: 'choice', id: 'no', sure: false });
    expect(read('yes a bit', 'check', 'knob-feel')).toEqual({ kind: 'choice', id: 'yes', sure: false });
  });

  test('"no" to "does it work now?" is "as before", unless something changed', () => {
    expect(read('no', 'test', 'test')).toEqual({ kind: 'choice', id: 'no', sure: true });
    expect(read('no still silent', 'test', 'test')).toEqual({ kind: 'choice', id: 'no', sure: false });
    expect(read('no but now it hums', 'test', 'test')).not.toMatchObject({ id: 'no' });
  });

  test.each([
    'its still not working',
    "it doesn't work",
    'still dead',
    'no change at all',
    'it did not help',
    'same problem',
  ])('"%s" to "does it work now?" is "as before", to be asked back', (words) => {
    expect(read(words, 'test', 'test')).toEqual({ kind: 'choice', id: 'no', sure: false });
  });

  test.each([
    'it works',
    'not working, and it hums now',
    'it does not work but the light is on',
    'the light is not broken',
  ])('"%s" to "does it work now?" is not "as before"', (words) => {
    expect(read(words, 'test', 'test')).not.toMatchObject({ id: 'no' });
  });

  test('is never enough where somebody has to have done something for their safety', () => {
    expect(read('yes but I have nobody here', 'live', 'rail')).toEqual({ kind: 'nothing' });
    expect(read('yes nearly', 'shut', 'shut')).toEqual({ kind: 'nothing' });
    expect(read('yes nearly', 'open', 'back-off')).toEqual({ kind: 'nothing' });
  });

  test('says nothing about the complaint, which is told in such words', () => {
    expect(read('no sound but it lights up', 'complaint', 'complaint')).toEqual({ kind: 'nothing' });
  });
});

describe('a number', () => {
  test('is the answer in that place, to be asked back, where no answer speaks of that number', () => {
    expect(read('2', 'detail', 'kind')).toEqual({ kind: 'choice', id: 'glass', sure: false });
    expect(read('9', 'detail', 'kind')).toEqual({ kind: 'nothing' });
    expect(read('10', 'detail', 'age')).not.toMatchObject({ sure: true });
  });

  test('is a reading where one is wanted', () => {
    expect(read('2', 'prove', 'big-can')).toEqual({ kind: 'reading' });
  });
});

test('a guess that was denied is no guess any more', () => {
  expect(read('yes', 'check', 'knob-feel', 'no')).toEqual({ kind: 'confirm', yes: true });
  expect(read('yes', 'check', 'knob-feel', '')).toEqual({ kind: 'choice', id: 'yes', sure: true });
});
