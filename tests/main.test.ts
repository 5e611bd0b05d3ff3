import { spawn } from 'node:child_process';
import { mkdtemp, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { Outbound } from '../shared/outbound.ts';

/** The program as it is started from outside. */
function run(args: readonly string[], input = '', env: Record<string, string> = {}) {
  return new Promise<{ code: number | null; out: string; err: string }>((resolve) => {
    const child = spawn(process.execPath, [join(import.meta.dirname, '..', 'src', 'main.ts'), ...args], {
      env: { ...process.env, COMMUNITY_FILE: '', ...env },
    });
    let out = '';
    let err = '';
    child.stdout.on('data', (data) => {
      out += data;
    });
    child.stderr.on('data', (data) => {
      err += data;
    });
    child.on('close', (code) => resolve({ code, out, err }));
    child.stdin.end(input);
  });
}

const lines = (...objects: readonly unknown[]): string =>
  objects.map((o) => `${JSON.stringify(o)}\n`).join('');

describe('the program', () => {
  it('leads a line-mode conversation from a complaint to a settled case', async () => {
    const { code, out, err } = await run(
      ['chat', '--json', '--level', 'handy'],
      lines(
        { say: 'there is sound but no picture' },
        { choose: 'sound-no-picture' },
        { choose: 'none' },
        { choose: 'led' },
        { choose: 'done' },
        { advance: 30 },
        { choose: 'works' },
      ),
    );
    expect(err).toBe('');
    const messages = out
      .trim()
      .split('\n')
      .map((line) => Outbound.parse(JSON.parse(line)));
    expect(messages.flatMap((one) => (one.kind === 'ask' ? [one.step] : []))).toEqual([
      'complaint',
      'guarantee',
      'panel-kind',
      'drain',
      'test',
    ]);
    expect(messages.at(-1)).toMatchObject({ kind: 'settle', outcome: 'Fixed', fault: 'latched' });
    // The wait was skipped, so everything after it says so.
    expect(messages.at(-1)).toMatchObject({ mark: 'demonstration' });
    expect(code).toBe(0);
  });

  it('answers bad input with an error line and goes on', async () => {
    const { code, out } = await run(['chat', '--json'], '{"choose":\n{"shout":"x"}\nno picture but sound\n');
    const [first, second, third] = out
      .trim()
      .split('\n')
      .map((line) => JSON.parse(line));
    expect(first.error).toMatch(/\S/);
    expect(second.error).toMatch(/shout/);
    expect(third).toMatchObject({ kind: 'ask', step: 'complaint' });
    expect(code).toBe(0);
  });

  it('leaves politely at the end of input', async () => {
    const { code, out, err } = await run(['start'], 'my telly is dark\n');
    expect(out).toContain('keeps nothing');
    expect(err).toBe('');
    expect(code).toBe(0);
  });

  it('names every problem of the community file at the start', async () => {
    const file = join(await mkdtemp(join(tmpdir(), 'community-')), 'community.yaml');
    await writeFile(file, 'name: Table\ncurrency: pounds\nhuor: 10\n');
    const { code, out, err } = await run(['chat', '--json'], 'hello\n', { COMMUNITY_FILE: file });
    expect(code).toBe(1);
    expect(out).toBe('');
    for (const part of ['currency', 'huor', 'country', 'people', ':2:', ':3:']) expect(err).toContain(part);
    expect(err).not.toContain('    at ');
  });

  it.each([
    [['sing'], 'no command sing'],
    [['chat', '--level', 'wizard'], '--level is one of'],
    [['chat', '--louder'], '--louder'],
    [['rehearse'], 'flat-panel-tv'],
    [['rehearse', 'flat-panel-tv', '--cases', 'many'], '--cases'],
    [['flows', 'dance'], 'flows -- check'],
  ] as const)('says what is wrong with: %s', async (args, words) => {
    const { code, out, err } = await run(args);
    expect(code).toBeGreaterThan(0);
    expect(out).toBe('');
    expect(err).toContain(words);
    expect(err).not.toContain('    at ');
  });

  it('rehearses as one JSON line', async () => {
    const { code, out, err } = await run(
      ['rehearse', 'flat-panel-tv', '--cases', '3', '--level', 'new', '--json'],
      '',
    );
    expect(err).toBe('');
    const result = JSON.parse(out);
    for (const report of [result, result.sheet, result.random]) {
      for (const key of [
        'cases',
        'solved',
        'cost',
        'minutes',
        'questions',
        'waits',
        'wastedParts',
        'aboveLevel',
      ]) {
        expect(Object.keys(report[key])).toEqual(['mean', 'low', 'high']);
      }
    }
    expect(code).toBe(0);
  });
});
