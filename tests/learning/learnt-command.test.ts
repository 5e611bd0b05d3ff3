import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { Advice } from '../../src/advice.ts';
import { tablesOf } from '../../src/core/step.ts';
import { memoryJournal } from '../../src/journal/memory.ts';
import { erase } from '../../src/keeping/erase.ts';
import { replayCommand } from '../../src/keeping/replay.ts';
import { reportOf } from '../../src/keeping/report.ts';
import { sweep } from '../../src/keeping/retention.ts';
import { decided } from '../../src/learning/decided.ts';
import { digestOf } from '../../src/learning/digest.ts';
import { followBook, teacher } from '../../src/learning/in-use.ts';
import type { Learnt } from '../../src/learning/learnt.ts';
import { memoryBook } from '../../src/learning/store.ts';
import { allSettled } from '../../src/outcomes/all-settled.ts';
import { createRuntime } from '../../src/runtime/runtime.ts';
import { scoresCommand } from '../../src/scores/scores-command.ts';
import { people, radio, settings } from '../core/example-flow.ts';
import { day0 } from './communities.ts';
import { courseOf, type LearningDesk, learningDesk, settle } from './learnt-desk.ts';

/** The whole way: cases are settled, people look and accept, the desk goes by it, and its journals say so. */

let journal: ReturnType<typeof memoryJournal>;
let book: ReturnType<typeof memoryBook>;
let desk: LearningDesk;
let folder: string;
beforeEach(async () => {
  journal = memoryJournal();
  book = memoryBook();
  desk = learningDesk(journal, book);
  folder = await mkdtemp(join(tmpdir(), 'learnt-'));
});
afterEach(() => rm(folder, { recursive: true }));
const file = (name: string): string => join(folder, name);

/** Silent radios: nearly always the joint, which the file holds for rare. */
async function fill(to = journal, count = 80, prefix = 'p'): Promise<void> {
  for (let i = 0; i < count; i++)
    await settle(to, {
      thread: `${prefix}:${i}`,
      asker: `asker-${i}`,
      fault: i % 8 === 0 ? 'latched' : 'joint',
      seen: [['dial-lamp', 'yes']],
    });
}
const json = async (...args: readonly string[]) =>
  JSON.parse((await desk.learnt(...args, '--json')).text) as {
    flow: string;
    cases: number;
    others: { from: string; cases: number }[];
    accepted: { numbers: string; by: string; inUse: boolean } | null;
    proposals: { id: string; clear: boolean; cases: unknown; distribution: unknown }[];
  }[];

describe('learnt show', () => {
  test('says that nothing is settled, as long as it is so', async () => {
    expect((await desk.learnt('show')).text).toContain('No case is settled yet');
    expect((await desk.learnt('history')).text).toBe('Nothing has been decided yet.');
  });

  test('has what is clearly off beside the file’s numbers, with intervals, and the cases where they are wanted', async () => {
    await fill();
    const { text } = await desk.learnt('show');
    expect(text).toContain('table-radio: 80 confirmed cases here');
    expect(text).toContain('In use: the file’s numbers.');
    expect(text).toMatch(
      /faults\/silent {2}\*\n {4}What it is, when people say “It lights up, but it is silent” \(80 cases here\)/,
    );
    expect(text).toMatch(/A cracked joint +\d+\.\d % +\d+\.\d % +\d+\.\d % to \d+\.\d % +70\.0 +\*/);
    expect(text).not.toContain('p:1');
    const [clear] = await json('show', radio.flow);
    const [all] = await json('show', radio.flow, '--all');
    expect(clear?.proposals.every((one) => one.clear)).toBe(true);
    expect(all?.proposals.length).toBeGreaterThan(clear?.proposals.length ?? 0);
    expect((await desk.learnt('show', '--cases')).text).toContain('cases: p:0, p:1,');
  });

  test('counts nothing that a demonstration, a guess or an open case says', async () => {
    await fill(journal, 8);
    const shown = courseOf({ thread: 'p:demo', fault: 'joint' }).map((event) => ({
      ...event,
      demonstration: true as const,
    }));
    const guess = courseOf({ thread: 'p:guess', fault: 'joint' }).map((event) =>
      event.kind === 'settled' ? { ...event, by: 'desk' } : event,
    );
    for (const [thread, events] of [
      ['p:demo', shown],
      ['p:guess', guess],
    ] as const)
      await journal.append({ thread, inbound: 'a', after: 0, events, outbound: [], state: 'settled' });
    expect((await json('show'))[0]?.cases).toBe(8);
  });
});

describe('what is accepted', () => {
  const received = (thread: string, more: object, n: number) => ({
    id: `m${n}`,
    thread,
    at: day0 + n,
    by: { ...people.asker, level: 'handy' as const },
    ...more,
  });

  test('leads new cases and those under way, and their journals say by which numbers', async () => {
    await fill();
    const learning = await followBook(book, { flows: [radio], settings }, () => undefined);
    const runtime = createRuntime({
      journal,
      ...learning.taught,
      now: () => day0,
      moved: () => false,
      adapters: [],
      notify: () => undefined,
    });
    learning.follow(runtime.use);
    let n = 0;
    const says = (thread: string, content: object) =>
      runtime.receive(received(thread, content, ++n) as Parameters<typeof runtime.receive>[0]);
    const numbersIn = async (thread: string) =>
      (await journal.read(thread)).events.flatMap((event) =>
        event.kind === 'numbers-taken' ? [event.numbers] : [],
      );
    await says('test:before', { kind: 'opened', words: 'it is silent', place: '' });
    expect(await numbersIn('test:before')).toEqual([]);

    const { text } = await desk.learnt('accept', radio.flow, '--by', 'Maren');
    const [shown] = await json('show', radio.flow);
    const numbers = shown?.accepted?.numbers as string;
    expect(text).toContain(`numbers ${numbers}.`);
    expect(shown?.accepted).toMatchObject({ by: 'Maren', inUse: true });
    await learning.look();
    await says('test:after', { kind: 'opened', words: 'it is silent', place: '' });
    expect(await numbersIn('test:after')).toEqual([numbers]);
    await says('test:before', { kind: 'said', words: 'hello?' });
    expect(await numbersIn('test:before')).toEqual([numbers]);

    const kase = await runtime.caseOf('test:after');
    const joint = radio.faults.findIndex(({ id }) => id === 'joint');
    const learnt = tablesOf(runtime.flowOf(kase), settings).prior[joint] as number;
    expect(learnt).toBeGreaterThan(1.5 * (tablesOf(radio, settings).prior[joint] as number));

    await desk.learnt('withdraw', radio.flow, '--by', 'Maren');
    await learning.look();
    await says('test:after', { kind: 'said', words: 'and now?' });
    expect(await numbersIn('test:after')).toEqual([numbers, 'file']);
    learning.stop();
    await runtime.stop();
  });

  test('is by name, and of the others the older ones stay', async () => {
    await fill();
    await desk.learnt('accept', radio.flow, 'faults/silent', '--by', 'Maren');
    const used = async () => [
      ...(decided(await book.read(0))
        .learnt.get(radio.flow)
        ?.distributions.map(({ kind }) => kind) ?? []),
    ];
    expect(await used()).toEqual(['faults']);
    await desk.learnt('accept', radio.flow, 'complaints', '--by', 'Maren');
    expect(await used()).toEqual(['faults', 'complaints']);
    expect((await desk.learnt('show')).text).toMatch(/ {2}file +in use +learnt/);
    await expect(desk.learnt('accept', radio.flow, 'faults/nonsense', '--by', 'M')).rejects.toThrow(
      /“faults\/nonsense”.*show table-radio --all/s,
    );
    expect(await used()).toHaveLength(2);
  });

  test('is nothing where the cases do not speak against the file', async () => {
    await fill(journal, 1);
    await expect(desk.learnt('accept', radio.flow, '--by', 'Maren')).rejects.toThrow(/nothing to accept/);
    expect(await book.read(0)).toEqual([]);
  });

  test('beside another version of the file is not used, and said to be so', async () => {
    await fill();
    await desk.learnt('accept', radio.flow, '--by', 'Maren');
    const corrected = learningDesk(journal, book, { flows: [{ ...radio, version: 2 }] });
    expect((await corrected.learnt('show')).text).toMatch(
      /In use: the file’s numbers\. Numbers [0-9a-f]{12} were accepted beside version 1, and the file is version 2 now/,
    );
  });

  test('is scored beside the file’s own numbers', async () => {
    await fill();
    await desk.learnt('accept', radio.flow, '--by', 'Maren');
    const used = teacher({ flows: [radio], settings })(decided(await book.read(0)).learnt);
    const out: string[] = [];
    await scoresCommand([], {
      cases: allSettled(journal, [radio]),
      flows: [radio],
      settings,
      learnt: ({ flow: id }) => {
        const flow = used.flows.find((one) => one.flow === id);
        return flow && tablesOf(flow, settings);
      },
      out: (line) => void out.push(line),
      err: () => undefined,
    });
    expect(out.join('\n')).toMatch(/the file’s numbers at the end +80/);
    expect(out.at(-1)).toContain('The desk goes by learnt numbers.');
  });

  test('comes along in a report, and the replay goes by it', async () => {
    await fill();
    await desk.learnt('accept', radio.flow, '--by', 'Maren');
    const entries = await book.read(0);
    const learnt = decided(entries).learnt.get(radio.flow);
    const numbers = learnt ? digestOf(learnt) : '';
    const course = courseOf({ thread: 'p:x', fault: 'joint' }).slice(0, 4);
    const taken = { kind: 'numbers-taken', by: 'desk', at: day0, seq: 5, numbers } as const;
    const replayed = async (lines: readonly string[]): Promise<string> => {
      const out: string[] = [];
      await writeFile(file('report'), `${lines.join('\n')}\n`);
      const code = await replayCommand([file('report')], {
        flows: [radio],
        out: (line) => void out.push(line),
        err: (line) => void out.push(line),
      });
      expect(code).toBe(0);
      return out.join('\n');
    };
    const given = { settings, now: () => day0 };
    const withNumbers = reportOf('p:x', [...course, taken], false, given, entries);
    expect(withNumbers.join('\n')).not.toContain('Maren');
    const told = await replayed(withNumbers);
    expect(told).toContain(`It goes by learnt numbers ${numbers}, which came along.`);
    expect(told).toContain(`numbers taken. numbers “${numbers}”`);
    const without = await replayed(reportOf('p:x', [...course, taken], false, given, []));
    expect(without).toContain('which are not here');
    const belief = (text: string): string => /Belief:\n(.*?)\n\n/s.exec(text)?.[1] ?? '';
    expect(belief(told)).not.toBe(belief(without));
    expect(belief(without)).toBe(belief(await replayed(reportOf('p:x', course, false, given))));

    // Numbers of nothing, made up by whoever sends the report.
    const zeros = JSON.parse(JSON.stringify(learnt), (key, value) => (key === 'mean' ? 0 : value)) as Learnt;
    const forged = { ...taken, numbers: digestOf(zeros) };
    const accepted = { kind: 'accepted', at: day0, by: 'x', flow: radio.flow, learnt: zeros } as const;
    const lies = await replayed(
      reportOf('p:x', [...course, forged], false, given, [{ n: 1, decision: accepted }]),
    );
    expect(lies).toContain('which do not fit the flow here');
    expect(belief(lies)).toBe(belief(without));
  });
});

describe('what is left out', () => {
  /** Everything that is shown, to the last digit. */
  const figures = async (of: LearningDesk) => (await of.learnt('show', '--all', '--cases', '--json')).text;

  test('an excluded case is taken out exactly, as if it had never been, and included again comes back exactly', async () => {
    await fill();
    const before = await figures(desk);
    await settle(journal, { thread: 'p:joke', fault: 'speaker', complaint: 'dead' });
    const with_ = await figures(desk);
    expect(with_).not.toBe(before);
    expect((await desk.learnt('exclude', 'p:joke', '--by', 'Maren', '--why', 'a joke')).text).toContain(
      'Nothing is learnt from case p:joke any more.',
    );
    expect(await figures(desk)).toBe(before);
    await expect(desk.learnt('exclude', 'p:joke', '--by', 'M', '--why', 'x')).rejects.toThrow(/already/);
    await expect(desk.learnt('exclude', 'p:nobody', '--by', 'M', '--why', 'x')).rejects.toThrow(/no case/);
    await desk.learnt('include', 'p:joke', '--by', 'Maren');
    expect(await figures(desk)).toBe(with_);
    await expect(desk.learnt('include', 'p:joke', '--by', 'M')).rejects.toThrow(/not left out/);
    const { text } = await desk.learnt('history');
    expect(text.split('\n').map((line) => line.replace(/^ +/, ''))).toEqual([
      '1  2026-01-01 00:00 UTC  Maren: left out case p:joke: a joke',
      '2  2026-01-01 00:00 UTC  Maren: took case p:joke in again',
    ]);
  });

  test('nothing is learnt from the cases of people who were erased or gave theirs up; words that only grew old change nothing', async () => {
    await fill();
    const before = await figures(desk);
    await settle(journal, { thread: 'p:erased', asker: 'bea', fault: 'speaker' });
    await settle(journal, { thread: 'p:given-up', asker: 'cy', fault: 'speaker' });
    const { mark } = await journal.read('p:given-up');
    const seq = (mark?.seq ?? 0) + 1;
    await journal.append({
      thread: 'p:given-up',
      inbound: 'forget',
      after: seq - 1,
      events: [{ kind: 'forgotten', seq, at: day0, by: 'cy' }],
      outbound: [],
      state: 'settled',
    });
    const now = (): number => day0 + 1;
    await erase(journal, 'bea', { now, forgetCached: async () => 'gone' });
    expect(await figures(desk)).toBe(before);
    const much = 86_400_000 * 100;
    expect(await sweep(journal, { now: day0 + much, days: 1, limit: 1000 })).toBeGreaterThan(50);
    expect(await figures(desk)).toBe(before);
    // A mender whose words went is not whose case it is, also where the words grew old besides.
    await erase(journal, 'mender', { now, forgetCached: async () => 'gone' });
    expect(await figures(desk)).toBe(before);
  });

  test('a case that was taken up again counts no more, and anew once it is settled', async () => {
    await fill();
    const before = await figures(desk);
    await settle(journal, { thread: 'p:again', fault: 'speaker' });
    const { mark } = await journal.read('p:again');
    const seq = (mark?.seq ?? 0) + 1;
    const append = (
      n: number,
      events: Parameters<typeof journal.append>[0]['events'],
      state: 'asking' | 'settled',
    ) => journal.append({ thread: 'p:again', inbound: `i${n}`, after: n - 1, events, outbound: [], state });
    await append(seq, [{ kind: 'taken-up-again', seq, at: day0, by: 'ada' }], 'asking');
    expect(await figures(desk)).toBe(before);
    const settled = { kind: 'settled', outcome: 'Fixed', fault: 'knob', barrier: null } as const;
    await append(seq + 1, [{ ...settled, seq: seq + 1, at: day0, by: 'mender' }], 'settled');
    expect((await json('show'))[0]?.cases).toBe(81);
  });
});

describe('between two communities', () => {
  const elsewhere = async (count = 60): Promise<LearningDesk> => {
    const theirs = memoryJournal();
    await fill(theirs, count, 'q');
    return learningDesk(theirs, memoryBook(), { name: 'Sallowford' });
  };
  const counted = async () => {
    const [one] = await json('show', radio.flow, '--all');
    return JSON.stringify(one?.proposals.map(({ distribution }) => distribution));
  };

  test('counts go over in a file without cases, beside the own, and the same file counts once', async () => {
    await fill(journal, 20);
    const alone = await counted();
    const other = await elsewhere();
    expect((await other.learnt('export', radio.flow, '--out', file('theirs.yaml'))).text).toContain(
      '60 cases',
    );
    const text = await readFile(file('theirs.yaml'), 'utf8');
    expect(text).not.toMatch(/q:|asker|Wilhelmina|Quillon/);
    expect(text).toContain('from: Sallowford');
    expect((await other.learnt('export', '--all')).text).toBe(text.trimEnd());

    expect((await desk.learnt('import', file('theirs.yaml'), '--by', 'Maren')).text).toContain(
      '60 cases in 1 flow',
    );
    const both = await counted();
    expect(both).not.toBe(alone);
    expect((await desk.learnt('show')).text).toContain(
      '20 confirmed cases here, 60 from Sallowford (2026-01-01)',
    );
    await expect(desk.learnt('import', file('theirs.yaml'), '--by', 'Maren')).rejects.toThrow(/in already/);
    expect(await counted()).toBe(both);
    // What they pass on is their own: ours does not come back.
    expect((await desk.learnt('export', radio.flow)).text).toMatch(/cases: 20\n/);
  });

  test('what a community sends later takes the place of what it sent before', async () => {
    const first = await elsewhere(30);
    const later = learningDesk(memoryJournal(), memoryBook());
    await first.learnt('export', '--all', '--out', file('first.yaml'));
    const text = (await readFile(file('first.yaml'), 'utf8')).replace('2026-01-01', '2025-12-01');
    await writeFile(file('older.yaml'), text);
    await later.learnt('import', file('older.yaml'), '--by', 'Maren');
    await later.learnt('import', file('first.yaml'), '--by', 'Maren');
    expect((await later.learnt('show')).text).toContain('30 from Sallowford (2026-01-01);');
    await writeFile(file('oldest.yaml'), text.replace('2025-12-01', '2025-11-01'));
    await expect(later.learnt('import', file('oldest.yaml'), '--by', 'M')).rejects.toThrow(/Newer counts/);
  });

  test.each<[string, (text: string) => string, RegExp]>([
    ['its own counts', (text) => text.replace('Sallowford', 'Millbrook'), /would count twice/],
    ['a flow that is not here', (text) => text.replaceAll('table-radio', 'wall-clock'), /No flow of these/],
    [
      'other names throughout',
      () =>
        'learnt_counts: 1\nfrom: X\nday: 2026-01-01\nflows:\n  table-radio:\n    cases: 3\n    faults: {moody: {ghost: 3}}\n',
      /none of the names.*table-radio\/faults\/moody\/ghost/s,
    ],
    ['huge numbers', (text) => text.replace(/joint: [\d.]+/, 'joint: 9e99'), /\.yaml:\d+:\d+ .*joint/s],
    ['more faults than cases', (text) => text.replace(/cases: \d+/, 'cases: 2'), /more than the cases/],
    ['a day that is still to come', (text) => text.replace('2026-01-01', '2036-01-01'), /still to come/],
    [
      'a bomb of aliases',
      () =>
        `a: &a [${'x,'.repeat(9)}x]\n${'bcdefgh'
          .split('')
          .map((c, i) => `${c}: &${c} [${`*${'abcdefgh'[i]},`.repeat(9)}x]`)
          .join('\n')}\n`,
      /nested too deeply, or repeats itself/,
    ],
    ['signs that nobody sees', (text) => text.replace('Sallowford', '"Sallow\\u202eford"'), /cannot be seen/],
    ['no YAML at all', () => '\u0001PNG', /\.yaml:1:1/],
    ['nothing', () => '', /\.yaml:1:1/],
  ])('a file with %s is refused politely, and nothing of it is kept', async (_, spoilt, why) => {
    const other = await elsewhere(20);
    await other.learnt('export', '--all', '--out', file('good.yaml'));
    await writeFile(file('bad.yaml'), spoilt(await readFile(file('good.yaml'), 'utf8')));
    const refused = desk.learnt('import', file('bad.yaml'), '--by', 'Maren');
    await expect(refused).rejects.toThrow(Advice);
    await expect(refused).rejects.toThrow(why);
    expect(await book.read(0)).toEqual([]);
  });

  test('names that a flow here does not have are passed over, and told', async () => {
    const other = await elsewhere(20);
    await other.learnt('export', '--all', '--out', file('good.yaml'));
    const text = (await readFile(file('good.yaml'), 'utf8')).replace(/latched:/, 'loose-screw:');
    await writeFile(file('newer.yaml'), text);
    await desk.learnt('import', file('newer.yaml'), '--by', 'Maren');
    expect(desk.warned.join()).toContain('table-radio/faults/silent/loose-screw');
    await expect(desk.learnt('import', file('missing.yaml'), '--by', 'M')).rejects.toThrow(/cannot be read/);
  });
});

describe('the command', () => {
  test.each([
    [[]],
    [['shew']],
    [['show', 'a', 'b']],
    [['accept', 'table-radio']],
    [['accept', '--by', 'M']],
    [['accept', 'table-radio', 'complaints', '--all', '--by', 'M']],
    [['withdraw', 'table-radio', '--by', ' ']],
    [['exclude', 'p:1', '--by', 'M']],
    [['exclude', 'p:1', '--by', 'M', '--why', 'x'.repeat(501)]],
    [['export']],
    [['export', 'table-radio', '--all']],
    [['import', 'f', '--by', 'M', '--out', 'g']],
    [['history', '--all']],
    [['show', '--nonsense']],
  ])('tells its usage where it was not understood: %j', async (args) => {
    expect((await desk.learnt(...args)).code).toBe(2);
    expect(desk.warned.join('\n')).toContain('learnt show [FLOW]');
    expect(desk.said).toEqual([]);
  });

  test.each([
    [['accept', 'table-radio'], 'Say who decides it: --by NAME'],
    [['exclude', 'p:1', '--by', 'Maren'], 'Say why: --why TEXT'],
  ])('says what is missing: %j', async (args, sentence) => {
    expect((await desk.learnt(...args)).code).toBe(2);
    expect(desk.warned[0]).toContain(sentence);
  });

  test('names the flows there are where one is not, and never an escape sequence', async () => {
    await expect(desk.learnt('show', 'wall-\u001b[31mclock')).rejects.toThrow(
      /“wall-\ufffd\[31mclock”\. There are: table-radio/,
    );
    await expect(desk.learnt('withdraw', radio.flow, '--by', 'M')).rejects.toThrow(/No learnt numbers/);
  });

  test('of two who decide at once, the second decides on what the first left', async () => {
    await fill();
    await Promise.all([
      desk.learnt('accept', radio.flow, 'faults/silent', '--by', 'Maren'),
      learningDesk(journal, book).learnt('accept', radio.flow, 'complaints', '--by', 'Joost'),
    ]);
    const kinds = decided(await book.read(0))
      .learnt.get(radio.flow)
      ?.distributions.map(({ kind }) => kind);
    expect(kinds?.toSorted()).toEqual(['complaints', 'faults']);
    expect((await desk.learnt('history', radio.flow)).text.split('\n')).toHaveLength(2);
  });
});
