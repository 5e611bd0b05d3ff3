import { PassThrough } from 'node:stream';
import { describe, expect, it } from 'vitest';
import { moment } from '../../../adapters/terminal/clock.ts';
import type { Outbound } from '../../../shared/outbound.ts';
import { NOON, type Script, SETTLED, STANDBY, stage, TORCH } from './examples.ts';

/** Whole conversations as they stand on the screen. */

const GREETING = `This is Mendthread, a desk that helps to repair things.
What is wrong? Say it in your own words: which appliance, and what you see, hear
or smell.
`;

const script: Script = (inbound) => {
  if (inbound.kind === 'opened')
    return [
      { kind: 'say', words: 'A torch will tell us more.' },
      { ...TORCH, hazards: [], how: [], tools: [], minutes: 0 },
    ];
  if (inbound.kind === 'chose' && inbound.of === 'q1')
    return [{ kind: 'amend', key: 'q1', number: 3, title: 'Torch', words: 'Yes, a faint image' }, STANDBY];
  if (inbound.kind === 'measured') return [SETTLED];
  return [{ kind: 'say', words: 'I did not understand that.' }];
};

const TORCH_ASKED = `
A torch will tell us more.

Step 3 · Look for a faint picture with a torch

Can you see a faint picture?

Answer with a number:
  1  Yes, a faint image
  2  No, completely black

u not sure · x can't do this · w why? · s where are we? · z undo
p ask a person · q stop
`;

describe('a conversation at the terminal', () => {
  it('reads calmly from the greeting to the job card', async () => {
    const { input, written, terminal } = await stage(script);
    input.end('no picture, but sound\n\n7\nblue smoke\u001b[A?\n1\n4.97 V\n');
    await terminal.ended;
    expect(written()).toBe(`${GREETING}
> no picture, but sound
${TORCH_ASKED}
>${' '}

> 7

Please answer with a number from 1 to 2, or in your own words.

> blue smoke?

I did not understand that.

> 1

Noted: Yes, a faint image

Step 7 · Measure the standby voltage

What does the meter show?

Type the number that you read, in V d.c., for example: 4.97 V
Or, if you cannot read the exact number, answer with a letter:
  a)  Under 1 V
  b)  1 V to 4.5 V
  c)  4.5 V or more

u not sure · x can't do this · q stop

> 4.97 V

Good: it works again.

# Job card

- Outcome: Fixed

This terminal keeps nothing: copy what you still need.
`);
  });

  it('leaves politely when the input ends, and does not promise what it cannot keep', async () => {
    const { input, written, terminal } = await stage(script);
    input.end('no picture');
    await terminal.ended;
    expect(written()).toBe(`${GREETING}
> no picture
${TORCH_ASKED}
>${' '}

This terminal keeps nothing: next time, begin again with what is wrong.
`);
  });

  it('lets somebody go who says nothing', async () => {
    const { input, written, terminal } = await stage(script);
    input.write('quit\n');
    await terminal.ended;
    expect(written()).toBe(`${GREETING}\n> quit\n\nGoodbye.\n`);
  });

  it('does not repeat what a real terminal shows while it is typed', async () => {
    const input = Object.assign(new PassThrough(), { isTTY: true });
    const { written, terminal } = await stage(script, { input });
    input.end('quit\n');
    await terminal.ended;
    expect(written()).toBe(`${GREETING}\n> \nGoodbye.\n`);
  });

  it('ends after "stop", but not before a question that the desk still has', async () => {
    const still: Script = (inbound) =>
      inbound.kind === 'asked' ? [{ ...TORCH, key: 'unplug', title: 'Before you go' }] : script(inbound);
    const asked = await stage(still);
    asked.input.end('no picture\nq\n1\n');
    await asked.terminal.ended;
    expect(asked.received.map(({ kind }) => kind)).toEqual(['opened', 'asked', 'chose']);
    const silent = await stage(script);
    silent.input.write('no picture\nq\n1\n');
    await silent.terminal.ended;
    expect(silent.received.map(({ kind }) => kind)).toEqual(['opened', 'asked']);
  });

  it('keeps the prompt whole when a message comes in between, and shows a question again for "?"', async () => {
    const { input, written, terminal, send } = await stage(() => []);
    input.write('no picture\n');
    await until(() => written().endsWith('\n> no picture\n\n> '));
    await send({ kind: 'say', words: 'The time is over.' });
    await until(() => written().endsWith('> \n\nThe time is over.\n\n> '));
    await send(STANDBY);
    await until(() => written().endsWith('q stop\n\n> '));
    const before = written().length;
    input.write('?\n');
    await until(() => written().slice(before).endsWith('q stop\n\n> '));
    expect(written().slice(before)).toMatch(/^\?\n\nStep 7 · Measure the standby voltage\n/);
    await terminal.stop();
  });

  it('takes no number for a question that was answered, and shows it no more', async () => {
    const { input, written, received, terminal } = await stage((inbound) =>
      inbound.kind === 'opened'
        ? [TORCH]
        : inbound.kind === 'chose'
          ? [{ kind: 'amend', key: 'q1', number: 3, title: 'Torch', words: 'Yes, a faint image' }]
          : [{ kind: 'say', words: 'We are waiting.' }],
    );
    input.end('no picture\n1\n77\n?\n');
    await terminal.ended;
    expect(received.at(-1)).toMatchObject({ kind: 'said', words: '77' });
    expect(written()).toContain('\n> 77\n\nWe are waiting.\n');
    expect(written()).toContain('\n> ?\n\nThere is no question open just now.\n');
  });

  it('calls nobody, and says so when people are to take over', async () => {
    const { input, written, terminal } = await stage(() => [
      { kind: 'handover', reason: 'asked', danger: false, words: 'People take over.', card: '# Job card' },
    ]);
    input.write('a person please\n');
    await terminal.ended;
    expect(written()).toMatch(
      /This terminal calls nobody and keeps nothing: copy the job card, and take it to\none of these people\.\n$/,
    );
  });

  it('tells of a desk that failed, in one sentence, and goes on', async () => {
    const { input, written, received, terminal } = await stage((inbound) => {
      if (inbound.kind === 'opened') return [TORCH];
      throw new Error('secret detail');
    });
    input.end('no picture\n1\n');
    await terminal.ended;
    expect(received).toHaveLength(2);
    expect(written()).toContain(
      '\n> 1\n\nSomething went wrong on our side, and this was not taken in. Please send it\nagain.\n\n> ',
    );
    expect(written()).not.toContain('secret');
  });

  it('says that a skipped wait is a demonstration before it skips it', async () => {
    let now = NOON;
    const due = NOON + 30 * 60_000;
    const remind: Outbound = { kind: 'remind', key: 'k', due, reason: 'it has to lose its charge.' };
    const { input, written, terminal, send } = await stage(
      (inbound) => (inbound.kind === 'opened' ? [remind] : [SETTLED]),
      {
        skipWaits: true,
        now: () => now,
        moved: () => now !== NOON,
        async advance(minutes) {
          now += minutes * 60_000;
          await send({ kind: 'say', words: 'The time is over.', mark: 'demonstration' });
        },
      },
    );
    input.end('no picture\n');
    await terminal.ended;
    const flat = written().replace(/\s+/g, ' ');
    expect(flat).toContain(
      `If this window stays open, the desk comes back ${moment(due, NOON)} (in 30 min). ` +
        '[Demonstration only: the wait of 30 min is skipped, and the clock moved to the time of its end, ' +
        `${moment(due, NOON)}. No real time has passed. This proves nothing: nothing is safe to touch because of it.] ` +
        '[Demonstration: the clock was moved. This proves nothing about safety.] The time is over. > ',
    );
    for (const line of written().split('\n')) expect(line.length).toBeLessThanOrEqual(80);
  });

  it('says nothing of the time to come once the case has ended', async () => {
    const { input, written, terminal } = await stage(() => [
      SETTLED,
      { kind: 'remind', key: 'k', due: NOON + 1e9, reason: 'the follow-up.' },
    ]);
    input.end('no picture\n');
    await terminal.ended;
    expect(written()).not.toContain('comes back');
  });

  it('begins at once with the words of the command line', async () => {
    const { input, written, terminal } = await stage(script, { firstWords: 'no picture' });
    input.end();
    await terminal.ended;
    expect(written().startsWith(`${TORCH_ASKED.trimStart()}\n> `)).toBe(true);
  });

  it('uses the screen that there is, and no more than eighty columns of it', async () => {
    for (const [width, used] of [
      [200, 80],
      [40, 40],
      [0, 80],
    ] as const) {
      const { input, written, terminal } = await stage(() => [{ kind: 'say', words: 'word '.repeat(100) }], {
        width,
      });
      input.end(`${'long '.repeat(60)}\n`);
      await terminal.ended;
      const longest = Math.max(
        ...written()
          .split('\n')
          .map((line) => line.length),
      );
      expect(longest).toBeLessThanOrEqual(used);
      expect(longest).toBeGreaterThan(used - 6);
    }
  });
});

async function until(condition: () => boolean): Promise<void> {
  for (let tries = 0; tries < 200 && !condition(); tries += 1)
    await new Promise((resolve) => setTimeout(resolve, 2));
  expect(condition()).toBe(true);
}
