import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { askBody } from '../../../adapters/discord/ask.ts';
import type { Body } from '../../../adapters/discord/body.ts';
import { readId } from '../../../adapters/discord/ids.ts';
import { bodies, modal } from '../../../adapters/discord/outbound.ts';
import { cardText, parts, plain } from '../../../adapters/discord/text.ts';
import { cut } from '../../../adapters/words.ts';
import { isEmpty, messageProblems, modalProblems } from '../../platforms/discord/limits.ts';
import { pingsIn } from '../../platforms/discord/pings.ts';
import { schemaProblems } from '../../platforms/discord/schemas.ts';
import { ask, form, outbound, signal, text } from '../outbounds.ts';

const thread = 'discord:1400000000000000001';

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
        const danger = one.choices.some(({ id }) => id === 'danger');
        const answers = buttons.filter(
          (tapped) =>
            (tapped?.kind === 'answer' && (danger || tapped.answer !== 'danger')) || tapped?.kind === 'place',
        );
        expect(
          danger || buttons.some((tapped) => tapped?.kind === 'answer' && tapped.answer === 'danger'),
        ).toBe(true);
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
      '### Job card\n- **Fault:** it \\*hums\\*\n### Next',
    );
  });
});
