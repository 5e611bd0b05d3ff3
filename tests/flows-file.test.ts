import { mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { parseDocument, visit } from 'yaml';
import { formatProblem, formatProblems } from '../src/files/file-problem.ts';
import { flowSchemaText } from '../src/flow-schema.ts';
import { parseFlow, readFlows } from '../src/flows.ts';
import { flowsCommand } from '../src/flows-command.ts';
import { settings } from './core/example-flow.ts';
import { brokenLamp, changed, flowOf, lamp, saidOf } from './desk-lamp.ts';

const core = async () => settings;

describe('a good flow file', () => {
  it('becomes a flow with its defaults filled in', () => {
    const parsed = parseFlow(lamp, 'lamp');
    const flow = flowOf(parsed);
    expect(flow.faults.map(({ id }) => id)).toEqual(['bulb', 'plug-fuse', 'lead', 'something-else']);
    expect(flow.checks[0]).toMatchObject({ wait_minutes: 0, people: 1, hazards: [], power: 'on' });
    expect(flow.checks[1]?.reading).toMatchObject({ meter: 0.01, outliers: 0.03 });
    expect(parsed).toHaveProperty('advice', []);
  });

  it('may use "&" and "*" for words that come again', () => {
    const source = changed(
      ['source: invented for the tests\n', 'source: &same invented for the tests\n'],
      ['source: invented for the tests\ndetails', 'source: *same\ndetails'],
    );
    expect(flowOf(parseFlow(source, 'lamp')).complaints[1]?.source).toBe('invented for the tests');
  });
});

describe('a flow file with many mistakes', () => {
  it('is told about each of them, once, in the order of the file', () => {
    expect(saidOf(brokenLamp)).toEqual([
      '5:1  unknown name "titel"; write "title"',
      '9:8  mains: "yes" is not true or false; write true or false',
      '13:23  groups > supply > entry 2: unknown fault "leed"; write "lead"',
      '20:13  complaints > no-light > words > entry 1: unknown idea "sound"; write "light" or "flicker"',
      '26:15  complaints > flickers > likely: unknown fault "bulp"; write "bulb"',
      '37:16  details > bulb-kind > choices > built-in > label: two answers read "One that screws  in" (first on line 35); give each its own',
      '43:27  details > bulb-kind > choices > mains-led > limit > deepest: unknown stage "outsid"; write "outside"',
      '56:13  faults > plug-fuse > weight: "2,5" is not a number; write 2.5',
      '60:5  faults > lead: a fault no remedy or referral answers; add "ends: people" (somebody else can mend it) or "ends: replace"',
      '66:13  faults > lead > marks > entry 1: unknown part or lead of the map "mains-leed"; write "mains-lead"',
      '80:5  this name stands twice in the same block; keep one of the two',
      '81:5  access > base-off > hazards: no entries; write at least 1',
      '92:25  checks > other-bulb > when > bulb-kind > entry 1: "skrew" is no answer to "bulb-kind"; write "screw"',
      '94:60  checks > other-bulb > outcomes > lights > likely > bulb: "95 %" is not a number; write 0.95',
      '109:7  checks > fuse-test > reading > expect: nothing says what the meter shows with "lead" and "something-else"; add "otherwise:", or name every fault',
      '114:49  checks > fuse-test > reading > bands > odd > below: the bands do not go up: 2 comes after 5; put the bands in order, from low to high',
      '115:52  checks > fuse-test > reading > bands > open > below: the last band has "below"; take it out: the last band takes everything above the one before',
      '117:5  checks > lead-look: a step inside without hazards; add "hazards:" with what can hurt here, or break',
      '124:12  checks > lead-look > power: live work that does not say what can bite; add "bites:" with what can bite and where it lies',
      '126:38  checks > lead-look > needs > fuse-test > outcome: "fine" is no outcome of "fuse-test"; write "good", "odd" or "open"',
      '127:5  checks > lead-look > outcomes: the outcomes sum to 1.2 for the fault "lead"; lower them to 1',
      '127:5  checks > lead-look > outcomes: the outcomes sum to 0.92 for the fault "bulb" (and 2 more faults) and none takes the rest; raise them to 1, or write "rest: true" in place of one "likely"',
      '143:21  remedies > new-bulb > part > price > low: the low price 12 is above the high one, 6; change the two round',
      '161:17  remedies > new-lead > hazards > entry 1 > word: "DANGR" is not possible here; write "DANGER"',
      '168:53  sheet > lead-look > jumps > entry 1 > to: the step "fuse-test" does not come later in the sheet; jump forwards only, to a step further down',
      '175:51  map > parts > bulb > x: the part "bulb" lies outside the map (90 to 110 of 100); move it, make it smaller, or make the map larger',
      '179:50  map > leads > mains-lead > from: unknown part "plugg"; write "plug"',
      '183:11  closing > entry 1: a sign that cannot be seen (U+200E) stands in this text; type the text again',
    ]);
  });

  it('has its name in front of every line', () => {
    const parsed = parseFlow(brokenLamp, 'flows/lamp.yaml');
    const problems = 'problems' in parsed ? parsed.problems : [];
    expect(formatProblems(problems).split('\n')[0]).toBe(
      'flows/lamp.yaml:5:1  unknown name "titel"; write "title"',
    );
  });
});

describe('YAML that cannot be read', () => {
  it.each([
    ['a tab', 'a:\n\tb: 1\n', '2:1  a tab at the beginning of a line; indent with spaces'],
    ['an open quotation mark', 'a: "x\n', 'something is missing here'],
    [
      'two colons',
      'flow: x\ntitle: Lamp: small\n',
      '2:8  two colons on one line; put text that holds ": " in quotes',
    ],
    ['a reserved sign', 'title: @home\n', '1:8  text cannot begin with this sign; put the text in quotes'],
    ['a second document', 'a: 1\n---\nb: 2\n', '2:1  a second file begins here ("---")'],
    ['a tag', 'title: !lamp x\n', '1:8  a word that begins with "!" is an instruction'],
    ['an alias without its anchor', 'title: *lamp\n', 'a "*" names a "&" that does not exist'],
    ['a ring of aliases', 'a: &a [*a, *a]\n', 'nested too deeply'],
    ['very deep brackets', '['.repeat(20_000), 'nested too deeply'],
    ['more than 1 MB', `# ${'x'.repeat(1_000_000)}\n`, 'the file is larger than 1 MB'],
  ])('%s is a problem with a place', (_, source, said) => {
    expect(saidOf(source).join('\n')).toContain(said);
  });

  it('aliases that would blow up are refused at once', () => {
    const levels = Array.from(
      { length: 12 },
      (_, i) => `a${i}: &a${i} [${`*a${i - 1}, `.repeat(i === 0 ? 0 : 12)}x]`,
    );
    expect(saidOf(levels.join('\n'))).toEqual([
      expect.stringContaining('nested too deeply, or repeats itself'),
    ]);
  });

  it('one slip of the pen is one problem, however often the reader stumbles over it', () => {
    expect(saidOf('- a\nb: c\n')).toHaveLength(1);
  });

  it('a slip that leaves the rest clear hides no other problem and invents none', () => {
    const source = changed(
      ['title: Desk lamp', 'title: Lamp: small'],
      ['cures: { bulb: 0.98 }', 'cures: { blub: 0.98 }'],
    );
    expect(saidOf(source)).toEqual([
      expect.stringContaining('two colons on one line'),
      expect.stringContaining('unknown fault "blub"'),
    ]);
  });

  it('an empty file is called so', () => {
    expect(saidOf('')).toEqual(['1:1  the file is empty; copy a file like it and change that']);
  });
});

describe('one value of the wrong kind', () => {
  const places = pathsIn(parseDocument(lamp).toJS());

  it('is one problem, wherever it stands, and nothing else is held against the file', () => {
    const wrong = places.flatMap((path) => {
      const document = parseDocument(lamp);
      const value: unknown = document.toJS() && valueAt(document.toJS(), path);
      document.setIn(path, document.createNode(otherKind(value)));
      const all = saidOf(document.toString());
      return all.length === 1 ? [] : [[path.join(' > '), ...all]];
    });
    expect(places.length).toBeGreaterThan(300);
    expect(wrong).toEqual([]);
  });

  function pathsIn(data: unknown, path: readonly (string | number)[] = []): (string | number)[][] {
    if (typeof data !== 'object' || data === null) return [[...path]];
    const inner = Object.entries(data).flatMap(([key, value]) =>
      pathsIn(value, [...path, Array.isArray(data) ? Number(key) : key]),
    );
    return path.length === 0 ? inner : [[...path], ...inner];
  }

  function valueAt(data: unknown, path: readonly (string | number)[]): unknown {
    return path.reduce((at, part) => (at as Record<string | number, unknown>)[part], data);
  }

  function otherKind(value: unknown): unknown {
    if (Array.isArray(value) || typeof value === 'number' || typeof value === 'boolean') return 'some words';
    return typeof value === 'string' ? [[1]] : 7;
  }
});

describe('any text at all', () => {
  const lines = lamp.split('\n');
  const anyLine = fc.nat(lines.length - 1);
  const piece = fc.constantFrom(
    '  ',
    '- ',
    ': ',
    '"',
    '{',
    '}',
    '[',
    ']',
    '&a ',
    '*a',
    '#',
    '\t',
    '|',
    '0',
    '-1',
    '.nan',
    'null',
    '__proto__: 1',
    'constructor',
    '<<: *a',
    '? ',
  );
  const edit = fc.oneof(
    fc.record({ kind: fc.constant('drop' as const), line: anyLine }),
    fc.record({ kind: fc.constant('double' as const), line: anyLine, to: anyLine }),
    fc.record({ kind: fc.constant('insert' as const), line: anyLine, column: fc.nat(80), piece }),
    fc.record({ kind: fc.constant('cut' as const), line: anyLine, column: fc.nat(80), count: fc.nat(6) }),
  );

  function edited(edits: readonly (typeof edit extends fc.Arbitrary<infer E> ? E : never)[]): string {
    const text = [...lines];
    for (const one of edits) {
      const line = text[one.line] ?? '';
      if (one.kind === 'drop') text[one.line] = '';
      else if (one.kind === 'double') text[one.to] = line;
      else if (one.kind === 'insert')
        text[one.line] = line.slice(0, one.column) + one.piece + line.slice(one.column);
      else text[one.line] = line.slice(0, one.column) + line.slice(one.column + one.count);
    }
    return text.join('\n');
  }

  function expectAnAnswer(source: string): void {
    const parsed = parseFlow(source, 'lamp');
    const count = source.split('\n').length;
    if ('flow' in parsed) return;
    expect(parsed.problems.length).toBeGreaterThan(0);
    for (const { line, column, problem, instead } of parsed.problems) {
      expect(line).toBeGreaterThanOrEqual(1);
      expect(line).toBeLessThanOrEqual(count);
      expect(column).toBeGreaterThanOrEqual(1);
      expect(problem).not.toBe('');
      expect(instead).not.toBe('');
      expect(`${problem} ${instead}`).not.toMatch(/undefined|\[object/);
    }
  }

  it('gives a flow, or problems with a line, after any edits to a good file', () => {
    fc.assert(
      fc.property(fc.array(edit, { minLength: 1, maxLength: 4 }), (edits) => expectAnAnswer(edited(edits))),
      {
        seed: 17,
        numRuns: 400,
      },
    );
  }, 60_000);

  it('gives a flow, or problems with a line, after any value was changed for another', () => {
    const value = fc.constantFrom<unknown>(
      null,
      true,
      0,
      -1,
      1.5,
      1e12,
      '',
      'x',
      'otherwise',
      'outside',
      'base-off',
      'bulb',
      [],
      [1],
      {},
      { id: 'x' },
      ['bulb', 'bulb'],
    );
    fc.assert(
      fc.property(fc.array(fc.tuple(fc.nat(10_000), value), { minLength: 1, maxLength: 3 }), (swaps) => {
        const document = parseDocument(lamp);
        for (const [place, other] of swaps) {
          const values: { set(value: unknown): void }[] = [];
          visit(document, {
            Pair: (_, pair) =>
              void values.push({
                set: (v) => {
                  pair.value = document.createNode(v);
                },
              }),
            Seq: (_, seq) =>
              void seq.items.forEach((_item, i) => {
                values.push({ set: (v) => seq.set(i, v) });
              }),
          });
          values[place % values.length]?.set(other);
        }
        expectAnAnswer(document.toString());
      }),
      { seed: 18, numRuns: 400 },
    );
  }, 60_000);

  it('gives problems for what is no flow at all', () => {
    fc.assert(fc.property(fc.string({ unit: 'binary', maxLength: 200 }), expectAnAnswer), {
      seed: 19,
      numRuns: 300,
    });
  });
});

describe('a folder of flows', () => {
  const made: string[] = [];
  async function folder(files: Readonly<Record<string, string | Uint8Array>>): Promise<string> {
    const dir = await mkdtemp(join(tmpdir(), 'flows-'));
    made.push(dir);
    for (const [name, text] of Object.entries(files)) await writeFile(join(dir, name), text);
    return dir;
  }
  afterEach(async () => {
    vi.restoreAllMocks();
    for (const dir of made.splice(0)) await rm(dir, { recursive: true });
  });
  const said = async (dir: string): Promise<string[]> => {
    const read = await readFlows(dir);
    return 'problems' in read
      ? read.problems.map((problem) => formatProblem(problem).replace(`${dir}/`, ''))
      : [];
  };
  const floorLamp = lamp.replace('flow: desk-lamp', 'flow: floor-lamp');

  it('is read in the order of its names', async () => {
    const dir = await folder({
      'floor-lamp.yaml': floorLamp,
      'desk-lamp.yaml': lamp,
      'README.md': '# no flow',
    });
    const read = await readFlows(dir);
    expect('flows' in read && read.flows.map(({ flow }) => flow)).toEqual(['desk-lamp', 'floor-lamp']);
    expect(read).toHaveProperty('advice', []);
  });

  it('gives the problems of all its files at once', async () => {
    const dir = await folder({
      'a.yaml': lamp.replace('title', 'titel'),
      'b.yaml': lamp,
      'c.yaml': lamp.replace('noun', 'nuon'),
      'd.yaml': new Uint8Array([0x66, 0xff, 0xfe]),
      'e.yml': lamp,
    });
    expect(await said(dir)).toEqual([
      'a.yaml:5:1  unknown name "titel"; write "title"',
      'c.yaml:6:1  unknown name "nuon"; write "noun"',
      'd.yaml:1:1  the file is not plain text; save it as text in UTF-8',
      'e.yml:1:1  this file is not read; let its name end with ".yaml"',
    ]);
  });

  it('gives the advice of its files, also where a file and its flow have two names', async () => {
    const dir = await folder({ 'lamp.yaml': lamp });
    const read = await readFlows(dir);
    expect('advice' in read && read.advice.map(formatProblem)).toEqual([
      `${dir}/lamp.yaml:1:1  the flow in it is called "desk-lamp"; give both the same name`,
    ]);
  });

  it('has each flow once', async () => {
    const dir = await folder({ 'a.yaml': lamp, 'b.yaml': lamp });
    expect(await said(dir)).toEqual([
      `b.yaml:1:1  the flow "desk-lamp" is also in ${dir}/a.yaml; rename one of them`,
    ]);
  });

  it('that is empty or not there is a problem', async () => {
    const dir = await folder({});
    expect(await said(dir)).toEqual([
      `${dir}:1:1  no flow in this folder; add a file whose name ends with ".yaml"`,
    ]);
    expect(await said(join(dir, 'none'))).toEqual([
      `${dir}/none:1:1  the folder cannot be read (ENOENT); check its name`,
    ]);
  });

  it('with a file of more than 1 MB is not read into memory', async () => {
    const dir = await folder({ 'a.yaml': 'x'.repeat(1_000_001) });
    expect(await said(dir)).toEqual([
      'a.yaml:1:1  the file is larger than 1 MB; keep it to text, without pictures',
    ]);
  });

  it('is checked from the command line, with the exit code and one line when all is well', async () => {
    const dir = await folder({ 'desk-lamp.yaml': lamp });
    const out = vi.spyOn(console, 'log').mockImplementation(() => {});
    expect(await flowsCommand(['check'], core, dir)).toBe(0);
    expect(out.mock.calls).toEqual([
      ['1 flow without problems: desk-lamp (4 faults, 3 checks, 3 remedies).'],
    ]);
  });

  it('is checked from the command line, with problems', async () => {
    const dir = await folder({ 'a.yaml': brokenLamp, 'b.yaml': lamp });
    const err = vi.spyOn(console, 'error').mockImplementation(() => {});
    expect(await flowsCommand(['check', join(dir, 'a.yaml')], core, dir)).toBe(1);
    expect(err.mock.calls[0]?.[0]).toContain(`${dir}/a.yaml:5:1  unknown name "titel"; write "title"`);
    expect(err.mock.calls[1]).toEqual(['28 problems in 1 file.']);
  });

  it('gets its schema from the command line', async () => {
    const dir = await folder({});
    await mkdir(join(dir, 'flows'));
    vi.spyOn(console, 'log').mockImplementation(() => {});
    expect(await flowsCommand(['schema'], core, join(dir, 'flows'))).toBe(0);
    expect(await readFile(join(dir, 'flows/flow.schema.json'), 'utf8')).toBe(flowSchemaText());
  });

  it('is left alone by a command that is not known', async () => {
    const err = vi.spyOn(console, 'error').mockImplementation(() => {});
    expect(await flowsCommand(['chek'], core)).toBe(2);
    expect(await flowsCommand([], core)).toBe(2);
    expect(err.mock.calls[0]?.[0]).toContain('npm run flows -- check');
  });
});
