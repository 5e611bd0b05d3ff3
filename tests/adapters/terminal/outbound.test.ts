import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { duration, moment } from '../../../adapters/terminal/clock.ts';
import { render } from '../../../adapters/terminal/outbound.ts';
import { columns } from '../../../adapters/terminal/wrap.ts';
import { type Form, Outbound } from '../../../shared/outbound.ts';
import { ask, NOON, PAGE, SETTLED, STANDBY, TORCH } from './examples.ts';

const screen = (outbound: Outbound, changes = {}) => render(outbound, { ...PAGE, ...changes }).join('\n');

describe('a job card that was asked for', () => {
  it('is wrapped as Markdown, lines under their marker', () => {
    expect(screen({ kind: 'say', words: `# Job card\n\n- ${'word '.repeat(20).trim()}` })).toBe(
      `# Job card\n\n- ${'word '.repeat(15).trim()}\n  ${'word '.repeat(5).trim()}`,
    );
  });
});

describe('a question on the screen', () => {
  it('has its hazards first and apart, then what to do, what it takes, what is asked, and what can be answered', () => {
    expect(screen(TORCH)).toBe(
      `
Step 3 · Look for a faint picture with a torch

  !  WARNING: Keep the back on. Mains voltage inside can kill, even with the set
  !  switched off.
  !  NOTICE: Do not press on the panel.

  1. Darken the room and switch the set on.
  2. Hold a bright torch close to the screen, at a slant, and look along its
     beam for something that moves or for letters.

You need: a torch, a dark room.
Takes about 3 min of work.

Can you see a faint picture?

Answer with a number:
  1  Yes, a faint image
  2  No, completely black

u not sure · x can't do this · w why? · s where are we? · z undo
p ask a person · q stop`.trimStart(),
    );
  });

  it('takes numbers as readings and gives the choices letters where a reading is wanted', () => {
    expect(screen({ ...STANDBY, mark: 'demonstration', minutes: 2, wait: 30 })).toBe(
      `
Step 7 · Measure the standby voltage
[Demonstration: the clock was moved. This proves nothing about safety.]

Takes about 2 min of work, then 30 min of waiting.

What does the meter show?

Type the number that you read, in V d.c., for example: 4.97 V
Or, if you cannot read the exact number, answer with a letter:
  a)  Under 1 V
  b)  1 V to 4.5 V
  c)  4.5 V or more

u not sure · x can't do this · q stop`.trimStart(),
    );
  });

  it('is short when there is little to say', () => {
    expect(
      screen(
        ask({
          choices: [],
          number: 0,
          photo: 'the whole board',
          notes: ['A strip is a row of small lamps.'],
        }),
      ),
    ).toBe(
      `
Look for a faint picture with a torch

Note: A strip is a row of small lamps.

Photo: the whole board (Keep it; this terminal cannot send one.)

Can you see a faint picture?

Answer in your own words.`.trimStart(),
    );
  });

  it('wears the colours of ANSI Z535 where colour is on', () => {
    // ANSI Z535.4: DANGER white on red, WARNING black on orange, CAUTION black on yellow, NOTICE white on blue.
    // The numbers are those of the xterm 256-colour table, from memory.
    const hazards = (['DANGER', 'WARNING', 'CAUTION', 'NOTICE'] as const).map((word) => ({
      word,
      text: 'Hot.',
    }));
    const lines = render(ask({ hazards }), { ...PAGE, colour: true });
    expect(lines.slice(2, 6)).toEqual([
      '  !  \u001b[1;38;5;231;48;5;160m DANGER \u001b[0m Hot.',
      '  !  \u001b[1;38;5;16;48;5;208m WARNING \u001b[0m Hot.',
      '  !  \u001b[1;38;5;16;48;5;226m CAUTION \u001b[0m Hot.',
      '  !  \u001b[1;38;5;231;48;5;25m NOTICE \u001b[0m Hot.',
    ]);
  });
});

describe('the other messages', () => {
  it('a warning is loud and gives its instruction before anything else', () => {
    expect(
      screen({
        kind: 'warn',
        word: 'DANGER',
        instruction: 'Pull the plug out of the wall now.',
        words: 'Smoke was mentioned.\nNothing goes on before this is clear.',
      }),
    ).toBe(
      [
        '!'.repeat(80),
        '  !  DANGER: Pull the plug out of the wall now.',
        '  !',
        '  !  Smoke was mentioned.',
        '  !  Nothing goes on before this is clear.',
        '!'.repeat(80),
      ].join('\n'),
    );
  });

  it('a saying may carry a list', () => {
    expect(screen({ kind: 'say', words: 'Have ready:', list: ['a meter', 'a cross-head screwdriver'] })).toBe(
      'Have ready:\n\n  - a meter\n  - a cross-head screwdriver',
    );
  });

  it('a picture becomes bars for what is suspected', () => {
    const suspects = [
      { fault: 'led', name: 'Backlight', share: 0.5 },
      { fault: 'cap', name: 'A capacitor of the supply board that has dried out', share: 0.25 },
      { fault: 'else', name: 'Something else', share: 0.004 },
    ];
    expect(
      screen({ kind: 'show', alt: 'The board, from behind.', picture: { flow: 'x', suspects, marks: [] } }),
    ).toBe(
      [
        'Most likely now:',
        '',
        `  Backlight                                  50 % ${'='.repeat(14)}`,
        `  A capacitor of the supply board that has   25 % ${'='.repeat(7)}`,
        '  dried out',
        '  Something else                             <1 %',
      ].join('\n'),
    );
  });

  it('a reminder says when the desk comes back, and what has to be true for it', () => {
    expect(
      screen({ kind: 'remind', key: 'k', due: NOON + 30 * 60_000, reason: 'the parts lose their charge.' }),
    ).toBe('If this window stays open, the desk comes back at 12:30 (in 30 min).');
    expect(screen({ kind: 'remind', key: 'k', due: NOON, reason: 'now.' })).toContain(
      'comes back in a moment.',
    );
    expect(screen({ kind: 'remind', key: 'k', due: Number.MAX_SAFE_INTEGER, reason: 'x' })).toContain(
      'much later',
    );
  });

  it('a whisper or a form for somebody else is not shown, a timer taken back neither', () => {
    const form = {
      kind: 'form',
      key: 'f',
      form: 'reading',
      title: 'Reading',
      fields: [{ id: 'reading', label: 'Volts', kind: 'line', example: '5 V' }],
    } satisfies Omit<Form, 'to'>;
    expect(screen({ kind: 'whisper', to: 'p1', words: 'Only you.' })).toBe('Only you.');
    expect(screen({ kind: 'whisper', to: 'p2', words: 'Only you.', mark: 'demonstration' })).toBe('');
    expect(screen({ ...form, to: 'p1' })).toBe('Reading\n\nVolts (for example: 5 V)');
    expect(screen({ ...form, to: 'p2' })).toBe('');
    expect(screen({ kind: 'unremind', key: 'k' })).toBe('');
  });

  it('the end and a handover show the job card under the words', () => {
    const end = 'Good: it works again.\n\n# Job card\n\n- Outcome: Fixed';
    expect(screen(SETTLED)).toBe(end);
    expect(screen({ ...SETTLED, mark: 'demonstration' })).toBe(
      `[Demonstration: the clock was moved. This proves nothing about safety.]\n${end}`,
    );
    expect(
      screen({
        kind: 'handover',
        reason: 'asked',
        danger: false,
        words: 'A person takes over.',
        card: '# Job card',
      }),
    ).toBe('A person takes over.\n\n# Job card');
  });

  it('a changed message becomes one short line', () => {
    expect(
      screen({
        kind: 'amend',
        key: 'q1',
        number: 3,
        title: 'Torch',
        words: 'Nilo: Yes,\u001b[2J a faint image',
      }),
    ).toBe('Noted: Nilo: Yes, a faint image');
  });
});

describe('any message at all', () => {
  const word = fc.oneof(
    fc.string({ unit: 'binary', minLength: 1, maxLength: 200 }),
    fc.constantFrom(
      '\u001b[31m',
      '\u001b]0;x\u0007',
      'x'.repeat(500),
      '漢'.repeat(99),
      '\u202e',
      '\r',
      '| a | b |\n|---|',
      '\ud83d',
    ),
    fc.string({ unit: 'grapheme', minLength: 1 }),
  );
  const text = fc.array(word, { minLength: 1, maxLength: 6 }).map((parts) => parts.join(' '));
  const list = fc.array(text, { maxLength: 4 });
  const number = fc.oneof(fc.integer({ min: 0, max: 100_000 }), fc.double({ min: 0, max: 1e9, noNaN: true }));
  const mark = fc.constantFrom({}, { mark: 'demonstration' as const });
  const signalWord = fc.constantFrom('DANGER', 'WARNING', 'CAUTION', 'NOTICE');
  const make = (shape: Record<string, fc.Arbitrary<unknown>>) =>
    fc.tuple(mark, fc.record(shape)).map(([marked, rest]) => Outbound.parse({ ...marked, ...rest }));
  const outbound = fc.oneof(
    make({
      kind: fc.constant('ask'),
      key: text,
      step: text,
      phase: fc.constantFrom('intake', 'safety', 'check', 'do'),
      number: fc.nat(),
      title: text,
      hazards: fc.array(
        fc.record({ word: signalWord, text: text.map((words) => `a${words}`.slice(0, 600)) }),
        { maxLength: 3 },
      ),
      how: list,
      notes: list,
      question: text,
      tools: list,
      minutes: number,
      wait: number,
      choices: fc.array(fc.record({ id: text, label: text }), { maxLength: 40 }),
      controls: fc.subarray([
        'unsure',
        'cannot',
        'why',
        'where',
        'undo',
        'person',
        'stop',
        'card',
        'mine',
        'again',
        'forget',
      ]),
      reading: fc.option(fc.record({ unit: text, example: text }), { nil: undefined }),
      photo: fc.option(text, { nil: undefined }),
    }),
    make({ kind: fc.constant('say'), words: text, list }),
    make({ kind: fc.constant('warn'), word: signalWord, instruction: text, words: fc.string() }),
    make({
      kind: fc.constant('show'),
      alt: text,
      picture: fc.record({
        flow: text,
        suspects: fc.array(
          fc.record({ fault: text, name: text, share: fc.double({ min: 0, max: 1, noNaN: true }) }),
        ),
        marks: list,
      }),
    }),
    make({
      kind: fc.constant('form'),
      key: text,
      to: fc.constant('p1'),
      form: fc.constant('advise'),
      title: text,
      fields: fc.array(
        fc.record({ id: text, label: text, kind: fc.constantFrom('line', 'words', 'choice'), example: text }),
        { minLength: 1, maxLength: 5 },
      ),
    }),
    make({ kind: fc.constant('whisper'), to: fc.constant('p1'), words: text }),
    make({ kind: fc.constant('amend'), key: text, number: fc.nat(), title: text, words: text, by: text }),
    make({ kind: fc.constant('remind'), key: text, due: fc.maxSafeInteger(), reason: text }),
    make({
      kind: fc.constant('settle'),
      outcome: fc.constant('Unknown'),
      fault: fc.constant(null),
      belief: fc.constant(null),
      words: text,
      card: text,
    }),
  );

  it('stays within the columns of the screen and carries no control character', () => {
    fc.assert(
      fc.property(outbound, fc.integer({ min: 24, max: 80 }), (message, width) => {
        for (const line of render(message, { ...PAGE, width })) {
          expect(columns(line)).toBeLessThanOrEqual(width);
          expect(line).not.toMatch(/[\p{Cc}\u202a-\u202e\u2066-\u2069]/u);
        }
      }),
      { seed: 104, numRuns: 1000 },
    );
  });

  it('carries no escape sequence but the colours of the terminal itself', () => {
    const ours = new RegExp(`${'\u001b'}\\[(?:0|1|1;38;5;(?:231|16);48;5;(?:160|208|226|25))m`, 'g');
    fc.assert(
      fc.property(outbound, (message) => {
        for (const line of render(message, { ...PAGE, colour: true })) {
          const plain = line.replace(ours, '');
          expect(columns(plain)).toBeLessThanOrEqual(80);
          expect(plain).not.toMatch(/\p{Cc}/u);
        }
      }),
      { seed: 105, numRuns: 500 },
    );
  });
});

describe('times', () => {
  it.each([
    [0.4, 'less than a minute'],
    [30, '30 min'],
    [89.6, '1 h 30 min'],
    [120, '2 h'],
    [14 * 24 * 60, '14 days'],
  ])('%d minutes are %s', (minutes, words) => {
    expect(duration(minutes)).toBe(words);
  });

  it('a moment has as much of a date as is needed', () => {
    const at = (days: number) => moment(NOON + days * 24 * 3_600_000, NOON, 'UTC');
    expect([at(0), at(1), at(365)]).toEqual([
      'at 12:00',
      'on Thursday 5 June at 12:00',
      'on Thursday 3 June 2032 at 12:00',
    ]);
  });

  it('is told in the zone of the reader', () => {
    expect(moment(NOON, NOON, 'Asia/Kathmandu')).toBe('at 17:45');
  });
});
