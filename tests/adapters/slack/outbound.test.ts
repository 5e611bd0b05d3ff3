import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { askBody } from '../../../adapters/slack/ask.ts';
import { readForm, readTap } from '../../../adapters/slack/ids.ts';
import { body, replyBody, view } from '../../../adapters/slack/outbound.ts';
import { fitted, packed, written } from '../../../adapters/slack/text.ts';
import { cut } from '../../../adapters/words.ts';
import { pings, wrongMessage, wrongView } from '../../platforms/slack/limits.ts';
import { ask, form, outbound, text } from '../outbounds.ts';

const thread = 'slack:C00000001/1900000001.000001';
const link = 'https://example.org/archives/C00000001/p1900000001000001';

/** Every text of a message, as Slack would read it. */
function texts(part: unknown): string[] {
  if (typeof part === 'string') return [];
  if (Array.isArray(part)) return part.flatMap(texts);
  if (typeof part !== 'object' || part === null) return [];
  const { text: words, ...rest } = part as { text?: unknown };
  return [...(typeof words === 'string' ? [words] : texts(words)), ...Object.values(rest).flatMap(texts)];
}

describe('any message at all', () => {
  test('stays within the published limits', () => {
    fc.assert(
      fc.property(outbound, (one) => {
        const made = body(one, thread, link);
        if (made !== null) expect(wrongMessage(made as never)).toEqual([]);
      }),
      { seed: 301, numRuns: 1500 },
    );
  });

  test('calls nobody, and holds no link, no mention and no turned writing but its own', () => {
    fc.assert(
      fc.property(outbound, (one) => {
        const made = body(one, thread, link);
        if (made === null) return;
        expect(pings(made as never)).toEqual([]);
        const said = texts(made)
          .join('\n')
          .replaceAll(`<${link}|to the thread>`, '')
          .replace(/<!date\^\d+\^[^>]*>/g, '');
        expect(said).not.toMatch(/<[!@#]|\w:\/\//);
        expect(said).not.toMatch(/[\u202a-\u202e\u2066-\u2069]/);
      }),
      { seed: 302, numRuns: 1000 },
    );
  });

  test('keeps its answers and controls, each with what it means', () => {
    fc.assert(
      fc.property(ask, (one) => {
        const elements = askBody(one).blocks.flatMap((block) =>
          block.type === 'actions' ? block.elements : [],
        );
        const values = elements.flatMap((element) =>
          element.type === 'button' ? [element.value] : element.options.map((option) => option.value),
        );
        const taps = values.map(readTap);
        const answers = taps.filter((tap) => tap?.t === 'answer' && tap.answer !== 'danger');
        const offered = one.choices.filter(({ id }) => id !== 'danger').length;
        expect(answers.length).toBeGreaterThanOrEqual(Math.min(offered, 24));
        for (const control of ['unsure', 'cannot', 'why', 'where', 'undo', 'person', 'stop'] as const)
          if (one.controls.includes(control)) expect(taps).toContainEqual({ t: 'control', control });
        expect(taps.some((tap) => tap?.t === 'answer' && tap.answer === 'danger')).toBe(true);
      }),
      { seed: 303, numRuns: 500 },
    );
  });
});

test('any form stays within the limits of a view, and says what it was opened for', () => {
  fc.assert(
    fc.property(form, (one) => {
      const shown = view(one, thread);
      expect(wrongView(shown as never)).toEqual([]);
      expect(readForm(shown.private_metadata)).toMatchObject({ thread, form: one.form });
    }),
    { seed: 304, numRuns: 800 },
  );
});

test('any answer about all cases stays within the limits', () => {
  const reply = fc.record({
    words: text,
    cases: fc.array(fc.record({ thread: fc.constant(thread), words: text, danger: fc.boolean() }), {
      maxLength: 20,
    }),
    confirm: fc.record({ label: text }),
  });
  fc.assert(
    fc.property(reply, (one) => {
      expect(wrongMessage(replyBody(one) as never)).toEqual([]);
      expect(pings(replyBody(one) as never)).toEqual([]);
    }),
    { seed: 305, numRuns: 300 },
  );
});

describe('text', () => {
  test('is cut to its length, escaped, and never within a sign or an escape', () => {
    fc.assert(
      fc.property(text, fc.integer({ min: 8, max: 3000 }), (some, most) => {
        const short = fitted(some, most);
        expect(short.length).toBeLessThanOrEqual(most);
        expect(short).not.toMatch(/[<>]|&(?!(?:amp|lt|gt);)/);
        expect(cut(some, most).length).toBeLessThanOrEqual(most);
      }),
      { seed: 306, numRuns: 1000 },
    );
  });

  test('in portions keeps every line, in order', () => {
    fc.assert(
      fc.property(fc.array(fc.stringMatching(/^[a-z ]{1,60}[a-z]$/), { maxLength: 60 }), (lines) => {
        const portions = packed(lines, 300);
        expect(portions.join('\n')).toBe(lines.join('\n'));
        for (const portion of portions) expect(portion.length).toBeLessThanOrEqual(300);
      }),
      { seed: 307 },
    );
  });

  // Escapes and marks by https://docs.slack.dev/messaging/formatting-message-text.
  test.each([
    ['&lt;b&gt; &amp;amp;', '<b> &amp;'],
    ['<@UBOT00001> undo', 'undo'],
    ['ask <@U00000002> or <@U3|mo>', 'ask @somebody or @mo'],
    ['see <#C1|help> and <https://example.org|this>', 'see #help and this'],
    ['<!channel> <!subteam^S1|@menders>', '@menders'],
    ['<https://example.org/a?b=1&amp;c>', 'https://example.org/a?b=1&c'],
  ])('%s is read as %s', (sent, read) => {
    expect(written(sent, 'UBOT00001')).toBe(read);
  });
});
