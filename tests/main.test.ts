import { spawn } from 'node:child_process';
import { mkdtemp, readFile, stat, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { Outbound } from '../shared/outbound.ts';

/** The program as it is started from outside. */
function run(args: readonly string[], input = '', env: Record<string, string> = {}) {
  return new Promise<{ code: number | null; out: string; err: string }>((resolve) => {
    const child = spawn(process.execPath, [join(import.meta.dirname, '..', 'src', 'main.ts'), ...args], {
      env: { ...process.env, COMMUNITY_FILE: '', JOURNAL_URL: 'memory:', ...env },
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
  it.each([['help'], ['--help'], ['chat', '--help'], ['start', '--help']])(
    'tells how it is used: %s %s',
    async (...args) => {
      const { code, out, err } = await run(args);
      expect({ code, err }).toEqual({ code: 0, err: '' });
      expect(out).toContain('npm run chat -- [words]');
    },
  );

  it('leads a line-mode conversation from a complaint to a settled case', async () => {
    const { code, out, err } = await run(
      ['chat', '--json', '--level', 'handy'],
      lines(
        { say: 'my telly has sound but no picture' },
        { choose: 'flat-panel-tv/sound-no-picture' },
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
      'appliance',
      'guarantee',
      'panel-kind',
      'drain',
      'test',
    ]);
    expect(messages.at(-2)).toMatchObject({ kind: 'settle', outcome: 'Fixed', fault: 'latched' });
    expect(messages.at(-1)).toMatchObject({ kind: 'remind', later: true });
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
    expect(third).toMatchObject({ kind: 'ask', step: 'appliance' });
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

describe('a desk that keeps its cases', () => {
  const place = async () => {
    const dir = await mkdtemp(join(tmpdir(), 'kept-'));
    return { dir, env: { JOURNAL_URL: `sqlite:${join(dir, 'desk.db')}` } };
  };
  const complaint = 'my telly has sound but no picture\n1\n';

  it('goes on with an open case the next time, at the same question', async () => {
    const { env } = await place();
    const first = await run(['start'], complaint, env);
    expect(first.out).toContain('Your case stays here');
    const second = await run(['start'], '1\n', env);
    expect(second.err).toBe('');
    expect(second.out).toContain('Welcome back');
    expect(second.out).toContain('guarantee');
    expect(second.out).toMatch(/Step 3/);
    const other = await run(['chat', '--new'], 'hello\n', env);
    expect(other.out).not.toContain('Welcome back');
    // The latest case is gone on with.
    expect((await run(['start'], '', env)).out).not.toContain('guarantee');
  });

  it('takes up the case that has ended, where that is wanted', async () => {
    const { env } = await place();
    const first = await run(['chat'], `my desk lamp does not light\n${'1\n'.repeat(8)}`, env);
    expect(first.out).toContain('Start with --again');
    expect((await run(['chat'], '', env)).out).not.toContain('Welcome back');
    const second = await run(['chat', '--again'], '', env);
    expect(second.out).toContain('Welcome back');
    expect(second.out).toContain('does it work now?');
  });

  it('keeps line mode only where a case is named', async () => {
    const { env } = await place();
    await run(['chat', '--json', '--case', 'a'], lines({ say: 'the telly has sound but no picture' }), env);
    const again = await run(
      ['chat', '--json', '--case', 'a'],
      lines({ choose: 'flat-panel-tv/sound-no-picture' }),
      env,
    );
    expect(JSON.parse(again.out.trim().split('\n').at(-1) ?? '')).toMatchObject({ step: 'guarantee' });
    const { env: empty } = await place();
    await run(['chat', '--json'], lines({ say: 'no picture' }), empty);
    await expect(stat(empty.JOURNAL_URL.slice('sqlite:'.length))).rejects.toThrow('ENOENT');
  });

  it('tells what it learnt, and refuses what it does not know', async () => {
    const { env } = await place();
    const shown = await run(['learnt', 'show'], '', env);
    expect(shown.out).toContain('No case is settled yet whose fault is confirmed.');
    expect(shown.code).toBe(0);
    const none = await run(['learnt', 'accept', 'kettle', '--by', 'Maren'], '', env);
    expect([none.code, none.err]).toEqual([1, expect.stringContaining('there is nothing to accept')]);
    expect((await run(['learnt', 'shew'], '', env)).code).toBe(2);
    expect((await run(['learnt', 'show'])).err).toContain('a desk in memory keeps nothing');
  });

  it('backs up, erases, restores and reports from the command line', async () => {
    const { dir, env } = await place();
    await run(['start'], 'telly has sound but no picture, said Wilhelmina\n1\n', env);
    const cases = join(dir, 'cases');
    const keys = join(dir, 'keys');
    for (const args of [
      ['backup', cases],
      ['backup', '--keys', keys],
    ])
      expect(await run(args, '', env)).toMatchObject({ code: 0, err: '' });
    const withWords = await run(['report', 'terminal/case', '--words'], '', env);
    expect(withWords.out).toContain('Wilhelmina');
    const report = await run(['report', 'terminal/case'], '', env);
    expect(report.out).not.toContain('Wilhelmina');
    const file = join(dir, 'report');
    await writeFile(file, report.out);
    expect(await run(['replay', file])).toMatchObject({ code: 0 });
    expect((await stat(join(dir, 'desk-keys.db'))).mode & 0o077).toBe(0);

    expect(await run(['erase', 'person', 'terminal'], '', env)).toMatchObject({ code: 0 });
    expect((await run(['report', 'terminal/case', '--words'], '', env)).out).not.toContain('Wilhelmina');
    for (const one of ['desk.db', 'desk-keys.db'])
      expect((await readFile(join(dir, one))).includes('Wilhelmina')).toBe(false);

    const { env: fresh } = await place();
    expect(await run(['restore', cases], '', fresh)).toMatchObject({ code: 0 });
    expect((await run(['report', 'terminal/case', '--words'], '', fresh)).out).not.toContain('Wilhelmina');
    const { env: whole } = await place();
    for (const args of [
      ['restore', '--keys', keys],
      ['restore', cases],
    ])
      expect(await run(args, '', whole)).toMatchObject({ code: 0 });
    expect((await run(['report', 'terminal/case', '--words'], '', whole)).out).toContain('Wilhelmina');
    expect(await run(['restore', cases], '', whole)).toMatchObject({ code: 1 });
  });

  it('answers for its health, counts, and stops at SIGTERM with exit code 0, its case kept', async () => {
    const { env } = await place();
    const port = 20_000 + Math.floor(Math.random() * 10_000);
    const child = spawn(process.execPath, [join(import.meta.dirname, '..', 'src', 'main.ts'), 'start'], {
      env: { ...process.env, COMMUNITY_FILE: '', HTTP_PORT: `${port}`, ...env },
    });
    const ended = new Promise<number | null>((resolve) => child.on('close', resolve));
    let out = '';
    child.stdout.on('data', (data) => {
      out += data;
    });
    child.stdin.write(complaint);
    const url = `http://127.0.0.1:${port}`;
    await expect.poll(() => out, { timeout: 20_000 }).toContain('guarantee');
    expect((await fetch(`${url}/livez`)).status).toBe(200);
    expect((await fetch(`${url}/readyz`)).status).toBe(200);
    const metrics = await (await fetch(`${url}/metrics`)).text();
    expect(metrics).toContain('mendthread_turns_total{inbound="opened",result="taken"} 1');
    expect(metrics).toMatch(/mendthread_outbox_waiting 0/);
    child.kill('SIGTERM');
    expect(await ended).toBe(0);
    expect((await run(['start'], '', env)).out).toContain('Welcome back');
  });

  it('refuses a journal of a newer program, and a wrong setting, with advice', async () => {
    const { dir, env } = await place();
    await run(['start'], complaint, env);
    const { DatabaseSync } = await import('node:sqlite');
    const database = new DatabaseSync(join(dir, 'desk.db'));
    database.exec("insert into journal_steps (number, at) values (99, 'later')");
    database.close();
    const newer = await run(['start'], '', env);
    expect(newer).toMatchObject({ code: 1 });
    expect(newer.err).toContain('Update the program');
    const wrong = await run(['start'], '', { JOURNAL_URL: 'mongo://secret@here', HTTP_PORT: '99999' });
    expect(wrong.code).toBe(1);
    for (const part of ['JOURNAL_URL', 'HTTP_PORT']) expect(wrong.err).toContain(part);
    expect(wrong.err).not.toContain('secret');
  });
});
