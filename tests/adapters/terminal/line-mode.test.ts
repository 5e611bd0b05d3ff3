import { PassThrough } from 'node:stream';
import { describe, expect, it } from 'vitest';
import type { Inbound } from '../../../shared/inbound.ts';
import type { Outbound } from '../../../shared/outbound.ts';
import { ask, NOON, type Script, SETTLED, STANDBY, stage, TORCH } from './examples.ts';

/** The line mode for programs, through streams in memory, against a desk that answers by a script. */

const COMPLAINT = ask({ key: 'q0', step: 'complaint', phase: 'intake', number: 1, title: 'What you see' });

/** Three questions and the end. */
const script: Script = (inbound) => {
  if (inbound.kind === 'opened') return [{ kind: 'say', words: 'Hello.' }, COMPLAINT];
  if (inbound.kind === 'chose' && inbound.of === 'q0') return [TORCH];
  if (inbound.kind === 'chose' && inbound.of === 'q1') return [{ kind: 'say', words: 'Thanks.' }, STANDBY];
  if (inbound.kind === 'measured') return [SETTLED];
  return [{ kind: 'say', words: 'Noted.' }];
};

const lines = (written: string): { kind?: string; key?: string; error?: string }[] =>
  written
    .split('\n')
    .filter((line) => line !== '')
    .map((line) => JSON.parse(line));

/** Kind and key of each line, errors as they are. */
const outline = (written: string) =>
  lines(written).map((line) => line.error ?? [line.kind, line.key].join(' ').trim());

const contents = (received: readonly Inbound[]) =>
  received.map(({ id: _id, thread: _thread, at: _at, by: _by, ...content }) => content);

const json = { json: true } as const;

describe('the line mode', () => {
  it('takes a whole file at once and answers each line against the question that it follows', async () => {
    const { input, received, written, terminal } = await stage(script, json);
    input.end(
      'no picture\n{"choose":"black"}\n{"choose":"faint"}\n{"measure":"4.97 V"}\n{"say":"too late"}\n',
    );
    await terminal.ended;
    expect(contents(received)).toEqual([
      { kind: 'opened', words: 'no picture', place: 'terminal' },
      { kind: 'chose', answer: 'black', of: 'q0' },
      { kind: 'chose', answer: 'faint', of: 'q1' },
      { kind: 'measured', reading: '4.97 V' },
    ]);
    expect(lines(written())).toEqual([
      { kind: 'say', words: 'Hello.' },
      COMPLAINT,
      TORCH,
      { kind: 'say', words: 'Thanks.' },
      STANDBY,
      SETTLED,
    ]);
    expect(written().endsWith('}\n')).toBe(true);
  });

  it('sends a full envelope, and says so when the clock was moved', async () => {
    let now = NOON;
    const { input, received, terminal } = await stage(script, {
      ...json,
      now: () => now,
      advance: async (minutes) => {
        now += minutes * 60_000;
      },
      moved: () => now !== NOON,
    });
    input.end('no picture\n{"advance":45}\n{"choose":"why"}\n');
    await terminal.ended;
    const by = { id: 'p1', name: 'Nilo', level: 'new', roles: [] };
    expect(received).toEqual([
      { id: 'in-1', thread: 't1', at: NOON, by, kind: 'opened', words: 'no picture', place: 'terminal' },
      {
        id: 'in-2',
        thread: 't1',
        at: NOON + 45 * 60_000,
        by,
        demonstration: true,
        kind: 'asked',
        what: 'why',
      },
    ]);
  });

  it('goes on after lines that it cannot use', async () => {
    const { input, written, received, terminal } = await stage(script, json);
    input.end('{"choose":"black"}\n{"say":\nno picture\n{"advance":-1}\n{"choose":"black"}\n');
    await terminal.ended;
    expect(outline(written())).toEqual([
      'No case is open yet: say first what is wrong, as {"say":"text"} or plain text.',
      expect.stringMatching(/^This is not one JSON object in one line\. Accepted is /),
      'say',
      'ask q0',
      '"advance" takes a number of minutes above 0 and up to 527040.',
      'ask q1',
    ]);
    expect(received).toHaveLength(2);
  });

  it('copes with a byte order mark, CRLF, blank lines, no last line end, and characters cut in two', async () => {
    const { input, received, terminal } = await stage(script, json);
    const bytes = Buffer.from(
      '\ufeff{"say":"écran noir"}\r\n\r\n  \r\n{"choose":"black"}\r\n{"say":"später"}',
    );
    for (const byte of bytes) input.write(Buffer.from([byte]));
    input.end();
    await terminal.ended;
    expect(contents(received)).toEqual([
      { kind: 'opened', words: 'écran noir', place: 'terminal' },
      { kind: 'chose', answer: 'black', of: 'q0' },
      { kind: 'said', words: 'später' },
    ]);
  });

  it('does not keep a line without end in memory, and knows it as too long', async () => {
    const { input, received, written, terminal } = await stage(script, json);
    for (let chunk = 0; chunk < 200; chunk += 1) input.write('x'.repeat(10_000));
    input.end('\nno picture\n');
    await terminal.ended;
    expect(outline(written())).toEqual(['A line of text takes at most 20000 characters.', 'say', 'ask q0']);
    expect(received).toHaveLength(1);
  });

  it('writes nothing at all when the input is empty', async () => {
    const { input, written, terminal } = await stage(script, json);
    input.end();
    await terminal.ended;
    expect(written()).toBe('');
  });

  it('opens the case with the words of the command line', async () => {
    const { input, received, terminal } = await stage(script, { ...json, firstWords: 'no picture' });
    input.end('{"choose":"black"}\n');
    await terminal.ended;
    expect(contents(received)).toEqual([
      { kind: 'opened', words: 'no picture', place: 'terminal' },
      { kind: 'chose', answer: 'black', of: 'q0' },
    ]);
  });

  it('tells of a desk that failed, and still opens the case with the next line', async () => {
    let fails = true;
    const failing: Script = (inbound) => {
      if (fails) {
        fails = false;
        throw new Error('no room on the disk');
      }
      return script(inbound);
    };
    const { input, received, written, terminal } = await stage(failing, json);
    input.end('no picture\nno picture\n');
    await terminal.ended;
    expect(outline(written())).toEqual([
      'Something went wrong on our side, and this was not taken in. Please send it again.',
      'say',
      'ask q0',
    ]);
    expect(received.map(({ kind }) => kind)).toEqual(['opened', 'opened']);
  });

  it('waits for what is still to be delivered where the desk acknowledges first', async () => {
    let open = Promise.resolve();
    let send: (outbound: Outbound) => Promise<string>;
    const late: Script = (inbound) => {
      open = new Promise((resolve) => {
        setTimeout(async () => {
          for (const outbound of script(inbound)) await send(outbound);
          resolve();
        }, 20);
      });
      return [];
    };
    const built = await stage(late, { ...json, drained: () => open });
    send = built.send;
    built.input.end('no picture\n{"choose":"black"}\n{"choose":"faint"}\n');
    await built.terminal.ended;
    expect(outline(built.written())).toEqual(['say', 'ask q0', 'ask q1', 'say', 'ask q2']);
    expect(built.received.map((inbound) => (inbound.kind === 'chose' ? inbound.of : ''))).toEqual([
      '',
      'q0',
      'q1',
    ]);
  });

  it('prints a message once, however often it is delivered, and counts its references', async () => {
    const { written, terminal } = await stage(script, json);
    const deliver = (id: string) =>
      terminal.deliver({ id, thread: 't1', outbound: { kind: 'say', words: id } });
    expect(await Promise.all([deliver('a'), deliver('b'), deliver('a')])).toEqual(['1', '2', '1']);
    await terminal.stop();
    expect(lines(written())).toEqual([
      { kind: 'say', words: 'a' },
      { kind: 'say', words: 'b' },
    ]);
  });

  it('ends when a handover comes on its own, after what follows it', async () => {
    const { written, terminal, send } = await stage(script, json);
    send({
      kind: 'handover',
      reason: 'stuck',
      danger: false,
      words: 'People take over.',
      card: '# Job card',
    });
    send({ kind: 'say', words: 'Until then.' });
    await terminal.ended;
    expect(outline(written())).toEqual(['handover', 'say']);
  });

  it('does not end while a question follows the handover', async () => {
    const handover: Outbound = { kind: 'handover', reason: 'refused', danger: false, words: 'x', card: 'x' };
    const { input, written, terminal } = await stage(
      (inbound) => (inbound.kind === 'opened' ? [handover, TORCH] : script(inbound)),
      json,
    );
    input.end('no picture\n{"choose":"faint"}\n');
    await terminal.ended;
    expect(outline(written())).toEqual(['handover', 'ask q1', 'say', 'ask q2']);
  });

  it('ends quietly when nobody reads it any more', async () => {
    const output = new PassThrough();
    const { input, received, terminal } = await stage(script, { ...json, output });
    output.destroy(Object.assign(new Error('write EPIPE'), { code: 'EPIPE' }));
    input.write('no picture\n');
    await terminal.ended;
    expect(received).toEqual([]);
    expect(await terminal.deliver({ id: 'x', thread: 't1', outbound: TORCH })).toBe('1');
  });

  it('does not wait for a reader that went away in the middle of a message', async () => {
    const output = new PassThrough({ highWaterMark: 1 });
    const { input, received, terminal } = await stage(script, { ...json, output });
    output.pause();
    input.write('no picture\n');
    while (received.length === 0) await new Promise((resolve) => setImmediate(resolve));
    await new Promise((resolve) => setTimeout(resolve, 20));
    output.destroy();
    await terminal.ended;
    expect(received).toHaveLength(1);
  });

  it('does not hide any other trouble of the output', async () => {
    const output = new PassThrough();
    const { terminal } = await stage(script, { ...json, output });
    output.destroy(Object.assign(new Error('no space left'), { code: 'ENOSPC' }));
    await expect(terminal.ended).rejects.toThrow('no space left');
  });

  it('stops when it is told to, after the turn that is under way', async () => {
    const { input, received, written, terminal } = await stage(script, json);
    input.write('no picture\n{"choose":"black"}\n');
    while (received.length === 0) await new Promise((resolve) => setImmediate(resolve));
    await terminal.stop();
    await terminal.ended;
    expect(received).toHaveLength(1);
    expect(outline(written())).toEqual(['say', 'ask q0']);
  });
});

describe('skipping waits', () => {
  /** A desk with a clock and timers. */
  function clocked(rings: (key: string) => readonly Outbound[]) {
    let now = NOON;
    const timers = new Map<string, number>();
    const advanced: number[] = [];
    const desk = {
      advanced,
      send: async (_: Outbound): Promise<unknown> => undefined,
      options: {
        ...json,
        skipWaits: true,
        now: () => now,
        moved: () => now !== NOON,
        async advance(minutes: number) {
          advanced.push(minutes);
          now += minutes * 60_000;
          for (const [key, due] of timers)
            if (due <= now) {
              timers.delete(key);
              for (const outbound of rings(key)) await desk.send(outbound);
            }
        },
      },
      remind(key: string, minutes: number): Outbound {
        timers.set(key, now + minutes * 60_000);
        return { kind: 'remind', key, due: now + minutes * 60_000, reason: 'It has to lose its charge.' };
      },
      unremind(key: string): Outbound {
        timers.delete(key);
        return { kind: 'unremind', key };
      },
    };
    return desk;
  }

  it('moves the clock to each wait before the next line is read, the earliest first', async () => {
    const desk = clocked((key) => (key === 'short' ? [{ ...TORCH, mark: 'demonstration' }] : []));
    const opened: Script = (inbound) =>
      inbound.kind === 'opened'
        ? [desk.remind('long', 90), desk.remind('short', 30), desk.remind('gone', 10), desk.unremind('gone')]
        : [SETTLED];
    const built = await stage(opened, desk.options);
    desk.send = built.send;
    built.input.end('no picture\n{"choose":"faint"}\n');
    await built.terminal.ended;
    expect(desk.advanced).toEqual([30, 60]);
    expect(outline(built.written())).toEqual([
      'remind long',
      'remind short',
      'remind gone',
      'unremind gone',
      'ask q1',
      'settle',
    ]);
    expect(built.received.at(-1)).toMatchObject({ kind: 'chose', of: 'q1', demonstration: true });
  });

  it('does not run for ever when the desk only ever reminds', async () => {
    const desk = clocked(() => [desk.remind('again', 5)]);
    const built = await stage(() => [desk.remind('again', 5)], desk.options);
    desk.send = built.send;
    built.input.end('no picture\n');
    await built.terminal.ended;
    expect(desk.advanced).toHaveLength(20);
    expect(outline(built.written()).at(-1)).toBe(
      'The clock was moved many times in a row. It now waits for a word from you.',
    );
  });

  it('does not wait for the follow-up of a case that has ended', async () => {
    const desk = clocked(() => []);
    const built = await stage(() => [SETTLED, desk.remind('follow-up', 20_160)], desk.options);
    built.input.end('no picture\n');
    await built.terminal.ended;
    expect(desk.advanced).toEqual([]);
  });

  it('tells of a clock that could not be moved', async () => {
    const desk = clocked(() => {
      throw new Error('the timer failed');
    });
    const built = await stage(() => [desk.remind('wait', 5)], desk.options);
    built.input.end('no picture\n');
    await built.terminal.ended;
    expect(outline(built.written())).toEqual([
      'remind wait',
      'Something went wrong on our side while the clock was moved. Please look at the last message.',
    ]);
  });
});
