import { describe, expect, it } from 'vitest';
import { addressed, hear, looksLikeReading, type Scene } from '../../../adapters/terminal/inbound.ts';
import { choiceKey, controlShown, controlTyped } from '../../../adapters/terminal/keys.ts';
import { Control, Inbound } from '../../../shared/inbound.ts';
import type { Ask, Form } from '../../../shared/outbound.ts';
import { ask, NOON, STANDBY, TORCH } from './examples.ts';

const scene = (open: Ask | null, changes: Partial<Scene> = {}): Scene => ({
  opened: true,
  ask: open,
  asks: new Map(open ? [[open.key, open]] : []),
  form: null,
  ...changes,
});
const message = (content: object) => ({ kind: 'message', message: content });

describe('the first line', () => {
  const unopened = scene(null, { opened: false });

  it('opens the case with what was said, cleaned of arrow keys and the like', () => {
    expect(hear(' black screen\u001b[A, but sound ', unopened)).toEqual(
      message({ kind: 'opened', words: 'black screen, but sound', place: 'terminal' }),
    );
  });

  it('is asked for when a control comes instead, and nobody is kept who wants to leave', () => {
    expect(hear('undo', unopened)).toEqual({
      kind: 'problem',
      sentence: 'Please say first what is wrong, in your own words.',
    });
    expect(hear('q', unopened)).toEqual({ kind: 'leave' });
    expect(hear('  ', unopened)).toEqual({ kind: 'nothing' });
  });
});

describe('a line under a question', () => {
  it.each(['1', '1.', '1)', 'faint', 'Yes, a faint image', 'YES, A FAINT IMAGE'])(
    '"%s" picks the choice',
    (line) => {
      expect(hear(line, scene(TORCH))).toEqual(message({ kind: 'chose', answer: 'faint', of: 'q1' }));
    },
  );

  it.each(['0', '3', '27'])('the number %s, which is not there, is met with the range', (line) => {
    expect(hear(line, scene(TORCH))).toEqual({
      kind: 'problem',
      sentence: 'Please answer with a number from 1 to 2, or in your own words.',
    });
  });

  it('with one answer only has no range to speak of', () => {
    expect(hear('2', scene(ask({ choices: [{ id: 'done', label: 'Yes, done' }] })))).toEqual({
      kind: 'problem',
      sentence: 'The only number here is 1. Answer with it, or in your own words.',
    });
  });

  it.each(['there is a faint glow', '12 V', 'yes'])('"%s" is said', (line) => {
    expect(hear(line, scene(TORCH))).toEqual(message({ kind: 'said', words: line }));
  });

  it('can be a letter, a word or a label for what is always in reach', () => {
    const typed: Record<string, Control> = {
      u: 'unsure',
      'Not sure': 'unsure',
      x: 'cannot',
      'can’t': 'cannot',
      'why?': 'why',
      s: 'where',
      'where are we?': 'where',
      Z: 'undo',
      person: 'person',
      'q stop': 'stop',
      stop: 'stop',
      card: 'card',
      again: 'again',
      mine: 'mine',
      forget: 'forget',
    };
    for (const [line, what] of Object.entries(typed))
      expect(hear(line, scene(TORCH)), line).toEqual(message({ kind: 'asked', what }));
  });

  it('shows the question once more for a question mark', () => {
    expect(hear('?', scene(TORCH))).toEqual({ kind: 'repeat' });
    expect(hear('?', scene(null))).toEqual({
      kind: 'problem',
      sentence: 'There is no question open just now.',
    });
  });

  it('is refused when it is longer than a message may be', () => {
    expect(hear('x'.repeat(20_000), scene(TORCH)).kind).toBe('message');
    expect(hear('x'.repeat(20_001), scene(TORCH))).toEqual({
      kind: 'problem',
      sentence: 'That is longer than 20000 characters: please say it in fewer words.',
    });
  });
});

describe('a line under a question for a reading', () => {
  it.each([
    '4.97',
    '4,97v',
    '1',
    '2',
    '-0.02 V',
    '~ 12 kohm',
    '230 V AC',
    'OL',
    '5 volts dc',
    '2k7',
    '.5 mA',
    '45 °C',
  ])('"%s" is measured', (line) => {
    expect(hear(line, scene(STANDBY))).toEqual(message({ kind: 'measured', reading: line }));
  });

  it.each(['b', 'b)', 'B', 'low', '1 V to 4.5 V'])('"%s" picks a band', (line) => {
    expect(hear(line, scene(STANDBY))).toEqual(message({ kind: 'chose', answer: 'low', of: 'q2' }));
  });

  it.each(['under 5 V', '5 V at first, then 0', '3 long beeps', 'd'])('"%s" is said', (line) => {
    expect(hear(line, scene(STANDBY))).toEqual(message({ kind: 'said', words: line }));
  });

  it('is judged quickly even when it was made to be slow', () => {
    const before = performance.now();
    for (const part of ['kv', 'kohm', '1 ', '1,1', 'milli', 'r1'])
      looksLikeReading(`1${part.repeat(60)}!`.slice(-60));
    for (const part of ['kv', 'kohm', '1 ', '1,1', 'milli', 'r1'])
      looksLikeReading(`1${part.repeat(28)}`.slice(0, 60));
    expect(performance.now() - before).toBeLessThan(100);
  });
});

describe('a line under a form', () => {
  const form: Omit<Form, 'form'> = {
    kind: 'form',
    key: 'f',
    to: 'p1',
    title: 't',
    fields: [{ id: 'words', label: 'l', kind: 'line', example: '' }],
  };

  it('fills it', () => {
    expect(hear('about 5', scene(TORCH, { form: { ...form, form: 'reading' } }))).toEqual(
      message({ kind: 'measured', reading: 'about 5' }),
    );
    expect(hear('it smokes', scene(TORCH, { form: { ...form, form: 'reading' } }))).toEqual(
      message({ kind: 'said', words: 'it smokes' }),
    );
    expect(hear('look at F1', scene(TORCH, { form: { ...form, form: 'advise' } }))).toEqual(
      message({ kind: 'acted', act: { what: 'advise', words: 'look at F1' } }),
    );
    expect(hear('1', scene(TORCH, { form: { ...form, form: 'advise' } }))).toEqual(
      message({ kind: 'acted', act: { what: 'advise', words: '1' } }),
    );
  });
});

describe('keys', () => {
  it('of choices are never those of controls', () => {
    const many = Array.from({ length: 40 }, (_, at) => choiceKey(STANDBY, at));
    expect(new Set(many).size).toBe(40);
    expect(many.filter((key) => controlTyped(key) !== null)).toEqual([]);
  });

  it('of controls differ from each other, and what is shown can be typed', () => {
    for (const control of Control.options) expect(controlTyped(controlShown(control))).toBe(control);
    const first = Control.options.map((control) => controlShown(control).split(' ')[0]);
    expect(new Set(first).size).toBe(Control.options.length);
  });
});

describe('a message on its way', () => {
  it('is what the desk accepts', () => {
    const by = { id: 'p1', name: 'Nilo', roles: [] };
    const envelope = { id: 'i', thread: 't', at: NOON, by, demonstration: true } as const;
    for (const line of ['faint', 'words', 'undo', '4.97 V']) {
      const heard = hear(line, scene(line === '4.97 V' ? STANDBY : ask()));
      if (heard.kind !== 'message') throw new Error(line);
      expect(Inbound.parse(addressed(heard.message, envelope))).toEqual({ ...heard.message, ...envelope });
    }
  });
});
