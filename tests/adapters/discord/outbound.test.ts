import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { askBody } from '../../../adapters/discord/ask.ts';
import type { Body } from '../../../adapters/discord/body.ts';
import { readId } from '../../../adapters/discord/ids.ts';
import { bodies, modal } from '../../../adapters/discord/outbound.ts';
import { cardText, cut, parts, plain } from '../../../adapters/discord/text.ts';
import { Control, FormName } from '../../../shared/inbound.ts';
import { Ask, BenchAct, Form, Outbound } from '../../../shared/outbound.ts';
import { RedFlag } from '../../../shared/red-flag.ts';
import { isEmpty, messageProblems, modalProblems } from '../../platforms/discord/limits.ts';
import { pingsIn } from '../../platforms/discord/pings.ts';
import { schemaProblems } from '../../platforms/discord/schemas.ts';
import { hostile } from './hostile.ts';

const thread = 'discord:1400000000000000001';

const word = fc.oneof(
  fc.string({ unit: 'binary', minLength: 1, maxLength: 200 }),
  fc.string({ unit: 'grapheme', minLength: 1, maxLength: 60 }),
  fc.constantFrom(...hostile),
);
const text = fc
  .array(word, { minLength: 1, maxLength: 5 })
  .map((some) => some.join(' '))
  .filter((some) => some !== '');
const list = fc.array(text, { maxLength: 4 });
const id = fc.oneof(
  fc.stringMatching(/^[a-z][a-z0-9-]{0,30}$/),
  text.map((some) => some.slice(0, 200)),
);
const number = fc.oneof(fc.integer({ min: 0, max: 1e6 }), fc.double({ min: 0, max: 1e9, noNaN: true }));
const signal = fc.constantFrom('DANGER', 'WARNING', 'CAUTION', 'NOTICE');
const marked = fc.option(fc.constant('demonstration' as const), { nil: undefined });
const controls = fc.subarray([...Control.options]);
/** What a flow's file allows of a hazard. */
const hazard = fc.record({ word: signal, text: text.map((some) => `a${some}`.slice(0, 600)) });

const ask = fc
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

const form = fc
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
const outbound: fc.Arbitrary<Outbound> = fc.oneof(
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

const shownText = ({ content = '', embeds = [] }: Body): string =>
  [content, ...embeds.flatMap(({ title, description, footer }) => [title, description, footer?.text])].join(
    '\n',
  );

describe('any message at all', () => {
  test('stays within the published limits and the API’s own description, and shows something', () => {
    fc.assert(
      fc.property(outbound, (one) => {
        for (const body of bodies(one, thread)) {
          expect([...messageProblems(body), ...schemaProblems('message', body)]).toEqual([]);
          // What replaces a message may clear its boxes and buttons; what is new has to show something.
          expect(isEmpty(body)).toBe(false);
        }
      }),
      { seed: 201, numRuns: 1500 },
    );
  });

  test('calls nobody, and holds no link, no mention and no turned writing', () => {
    fc.assert(
      fc.property(outbound, (one) => {
        for (const body of bodies(one, thread)) {
          expect(body.allowed_mentions).toEqual({ parse: [], replied_user: false });
          expect(pingsIn(body)).toEqual([]);
          // The bench names the thread and the time it waits since, in Discord's own marks.
          const ours = /<#1400000000000000001>|<t:\d+:R>/g;
          const said = shownText(body).replace(ours, '');
          expect(said).not.toMatch(
            /@(?:everyone|here)|(?<!\\)<[@#:/t]|\w:\/\/|\bdiscord(?:app)?\.\w|\b(?:mailto|tel|sms):/i,
          );
          expect(said).not.toMatch(/[\u202a-\u202e\u2066-\u2069]/);
          expect(said).not.toMatch(/(?<!\\)\]\(/);
        }
      }),
      { seed: 202, numRuns: 1000 },
    );
  });

  test('keeps its hazards whole where the flow file’s own limit holds, whatever else is said', () => {
    fc.assert(
      fc.property(
        ask,
        fc.array(fc.record({ word: signal, text: fc.stringMatching(/^[a-z][a-z ]{1,300}[a-z]$/) }), {
          minLength: 1,
          maxLength: 3,
        }),
        (one, hazards) => {
          const [first] = (askBody({ ...one, hazards }).embeds ?? []).filter(
            ({ color }) => color !== undefined,
          );
          for (const { word: signalWord, text: words } of hazards)
            expect(first?.description).toContain(`**${signalWord}** ${words}`);
        },
      ),
      { seed: 203, numRuns: 300 },
    );
  });

  test('keeps its question, and no answer or control is lost', () => {
    fc.assert(
      fc.property(ask, (one) => {
        const body = askBody(one);
        const inside = (body.components ?? []).flatMap(({ components }) => components);
        const options = inside.flatMap((part) => (part.type === 3 ? part.options : []));
        const buttons = inside.flatMap((part) => (part.type === 2 ? [readId(part.custom_id)] : []));
        const answers = buttons.filter((tapped) => tapped?.kind === 'answer' || tapped?.kind === 'place');
        expect(Math.max(options.length, answers.length)).toBe(Math.min(one.choices.length, 25));
        const shown = ['unsure', 'cannot', 'why', 'where', 'undo', 'person', 'stop'] as const;
        for (const control of shown.filter((name) => one.controls.includes(name)))
          expect(buttons).toContainEqual({ kind: 'control', control });
        const question = plain(one.question);
        if (question.length < 600) expect(shownText(body)).toContain(`**${question}**`);
      }),
      { seed: 204, numRuns: 500 },
    );
  });
});

test('any form stays within the limits of a modal, and every field keeps its id', () => {
  fc.assert(
    fc.property(form, (one) => {
      const shown = modal(one, thread);
      expect([...modalProblems(shown as never), ...schemaProblems('modal', shown)]).toEqual([]);
      expect(shown.components.map(({ component }) => component.custom_id)).toEqual(
        one.fields.map((field) => field.id),
      );
      expect(readId(shown.custom_id)).toMatchObject({ kind: 'form', form: one.form, thread });
    }),
    { seed: 205, numRuns: 800 },
  );
});

describe('text', () => {
  const any = fc.oneof(text, fc.string({ unit: 'binary', maxLength: 6000 }));

  test('is cut to its length, never within a sign', () => {
    fc.assert(
      fc.property(any, fc.integer({ min: 1, max: 4000 }), (some, most) => {
        const short = cut(some, most);
        expect(short.length).toBeLessThanOrEqual(most);
        if (some.length <= most) expect(short).toBe(some);
        else expect(some.startsWith(short.slice(0, -1))).toBe(true);
        if (some.isWellFormed()) expect(short.isWellFormed()).toBe(true);
      }),
      { seed: 206, numRuns: 1000 },
    );
  });

  test('in parts is within the length, in order, and loses nothing but space between them', () => {
    fc.assert(
      fc.property(any, fc.integer({ min: 20, max: 2000 }), (some, most) => {
        const found = parts(some, most);
        for (const part of found) expect(part.length).toBeLessThanOrEqual(most);
        expect(found.join('').replace(/\s/g, '')).toBe(some.replace(/\s/g, ''));
        if (some.isWellFormed()) for (const part of found) expect(part.isWellFormed()).toBe(true);
      }),
      { seed: 207, numRuns: 1000 },
    );
  });

  test.each([
    ['1. one', '1\\. one'],
    ['- one', '\\- one'],
    ['a-b 1.5 V', 'a-b 1.5 V'],
    ['**x** [y](z)', '\\*\\*x\\*\\* \\[y\\](z)'],
    ['> no', '\\> no'],
    ['# no', '\\# no'],
  ])('%s stands as it was written', (written, sent) => {
    expect(plain(written)).toBe(sent);
  });

  test('of a job card keeps its headings, lists and stress', () => {
    expect(cardText('# Job card\n\n- **Fault:** it *hums*\n## Next')).toBe(
      '### Job card\n\n- **Fault:** it \\*hums\\*\n### Next',
    );
  });
});
