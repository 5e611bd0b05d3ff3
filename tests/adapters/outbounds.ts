import fc from 'fast-check';
import { Control, FormName } from '../../shared/inbound.ts';
import { Ask, BenchAct, Form, Outbound } from '../../shared/outbound.ts';
import { RedFlag } from '../../shared/red-flag.ts';
import { hostile } from './hostile.ts';

/** Any message at all: any words, any script, any length, and words that mean harm. */

const word = fc.oneof(
  fc.string({ unit: 'binary', minLength: 1, maxLength: 200 }),
  fc.string({ unit: 'grapheme', minLength: 1, maxLength: 60 }),
  fc.constantFrom(...hostile),
);
export const text = fc
  .array(word, { minLength: 1, maxLength: 5 })
  .map((some) => some.join(' '))
  .filter((some) => some !== '');
const list = fc.array(text, { maxLength: 4 });
const id = fc.oneof(
  fc.stringMatching(/^[a-z][a-z0-9-]{0,30}$/),
  text.map((some) => some.slice(0, 200)),
);
const number = fc.oneof(fc.integer({ min: 0, max: 1e6 }), fc.double({ min: 0, max: 1e9, noNaN: true }));
export const signal = fc.constantFrom('DANGER', 'WARNING', 'CAUTION', 'NOTICE');
const marked = fc.option(fc.constant('demonstration' as const), { nil: undefined });
const controls = fc.subarray([...Control.options]);
/** What a flow's file allows of a hazard. */
const hazard = fc.record({ word: signal, text: text.map((some) => `a${some}`.slice(0, 600)) });

export const ask = fc
  .record({
    mark: marked,
    kind: fc.constant('ask'),
    key: id,
    step: id,
    phase: fc.constantFrom(...Ask.shape.phase.options),
    number: fc.nat(),
    title: text,
    hazards: fc.array(hazard, { maxLength: 4 }),
    how: list,
    notes: list,
    question: text,
    tools: list,
    minutes: number,
    wait: number,
    choices: fc.array(fc.record({ id, label: text }), { maxLength: 40 }),
    controls,
    reading: fc.option(fc.record({ unit: text, example: text }), { nil: undefined }),
    photo: fc.option(text, { nil: undefined }),
    plan: fc.option(
      fc.record({
        cost: number,
        minutes: number,
        wait: number,
        money: number,
        chance: fc.double({ min: 0, max: 1, noNaN: true }),
        currency: fc.constantFrom('GBP', 'EUR'),
      }),
      { nil: undefined },
    ),
  })
  .map((one) => Ask.parse(one));

export const form = fc
  .record({
    mark: marked,
    kind: fc.constant('form'),
    key: id,
    to: fc.constant('discord:1'),
    form: fc.constantFrom(...FormName.options),
    title: text,
    fields: fc.uniqueArray(
      fc.record({
        id: fc.constantFrom('reading', 'words', 'step', 'answer', 'tier', 'reason'),
        label: text,
        kind: fc.constantFrom('line', 'words', 'choice'),
        example: fc.oneof(text, fc.constant('')),
        optional: fc.option(fc.constant(true), { nil: undefined }),
        options: fc.array(fc.record({ id, label: text }), { minLength: 1, maxLength: 40 }),
      }),
      { minLength: 1, maxLength: 5, selector: (field) => field.id },
    ),
  })
  .map((one) => Form.parse(one));

const make = (shape: Record<string, fc.Arbitrary<unknown>>) =>
  fc.record({ mark: marked, ...shape }).map((one) => Outbound.parse(one));
export const outbound: fc.Arbitrary<Outbound> = fc.oneof(
  ask,
  make({
    kind: fc.constant('say'),
    words: text,
    list: fc.option(list, { nil: undefined }),
    numbered: fc.option(fc.constant(true), { nil: undefined }),
  }),
  make({
    kind: fc.constant('say'),
    words: text.map((some) => `# Job card\n\n- **${some}**\n## More\n${some.repeat(20)}`),
  }),
  make({
    kind: fc.constant('warn'),
    word: signal,
    flag: fc.option(fc.constantFrom(...RedFlag.options), { nil: undefined }),
    instruction: text,
    words: fc.oneof(text, fc.constant('')),
  }),
  make({
    kind: fc.constant('show'),
    alt: text,
    picture: fc.constant({ flow: 'radio', suspects: [], marks: [] }),
  }),
  make({
    kind: fc.constant('paper'),
    words: text,
    card: text.map((some) => `# Job card\n\n- **${some}**\n## More\n${some.repeat(20)}`),
  }),
  form,
  make({ kind: fc.constant('whisper'), to: fc.constant('discord:1'), words: text }),
  make({
    kind: fc.constant('amend'),
    key: id,
    number: fc.nat(),
    title: text,
    words: text,
    by: fc.option(text, { nil: undefined }),
  }),
  make({
    kind: fc.constant('bench'),
    key: id,
    state: fc.constantFrom('waiting', 'taken', 'left', 'alert'),
    danger: fc.boolean(),
    title: text,
    words: text,
    since: fc.integer({ min: 0, max: 4e12 }),
    card: fc.oneof(text, fc.constant('')),
    acts: fc.subarray([...BenchAct.options]),
  }),
  make({ kind: fc.constant('remind'), key: id, due: fc.maxSafeInteger(), reason: text }),
  make({ kind: fc.constant('unremind'), key: id }),
  make({
    kind: fc.constant('handover'),
    reason: fc.constantFrom('asked', 'stuck'),
    danger: fc.boolean(),
    words: text,
    card: text,
  }),
  make({
    kind: fc.constant('settle'),
    outcome: fc.constant('Unknown'),
    fault: fc.constant(null),
    belief: fc.constant(null),
    words: text,
    card: text,
  }),
);
