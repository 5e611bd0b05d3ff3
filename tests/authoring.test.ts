import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { compared } from '../src/authoring/compare.ts';
import { explained } from '../src/authoring/explain.ts';
import { beliefOf, foresee, waysOn } from '../src/authoring/foresee.ts';
import { imagined } from '../src/authoring/given.ts';
import { neverAsked } from '../src/authoring/never-asked.ts';
import { planTree } from '../src/authoring/plan-tree.ts';
import { likelihoodTable } from '../src/authoring/table.ts';
import { tablesOf } from '../src/core/step.ts';
import { parseFlow } from '../src/flows.ts';
import { flowsCommand } from '../src/flows-command.ts';
import { treePicture } from '../src/pictures/tree.ts';
import { radio, settings } from './core/example-flow.ts';
import { changed, flowOf, lamp, saidOf } from './desk-lamp.ts';

/** What people who write flows are shown. The desk lamp's numbers are invented; what follows from them is worked by hand. */

const flow = flowOf(parseFlow(lamp, 'lamp'));
const tables = tablesOf(flow, settings);
const given = (...answers: readonly string[]) => {
  const thought = imagined(flow, answers, 'trained');
  if ('problems' in thought) throw new Error(thought.problems.join('\n'));
  return thought.kase;
};

describe('answers that an author thinks of', () => {
  test('are belief by Bayes’ rule: weights 6, 2, 1, 1 and the complaint', () => {
    // P(no light | fault): .9, 1, 1, .5; 998 of 1000 is the most that a likelihood may be (floor .002). The answer is mixed
    // with the uniform row by what a trained person's word weighs.
    const belief = new Map(
      beliefOf(given('complaint=no-light'), tables, settings).map((one) => [one.fault, one.share]),
    );
    const trust = settings.community.reliability.trained;
    const likely = (p: number): number => trust * p + (1 - trust) / 3;
    const raw = [6 * likely(0.9), 2 * likely(0.996), likely(0.996), likely(0.5)];
    const total = raw.reduce((sum, one) => sum + one, 0);
    expect(belief.get('bulb')).toBeCloseTo((raw[0] as number) / total, 2);
    expect(belief.get('plug-fuse')).toBeCloseTo((raw[1] as number) / total, 2);
    expect([...belief.values()].reduce((sum, one) => sum + one, 0)).toBeCloseTo(1, 12);
  });

  test('may be readings, and remedies that did not help', () => {
    const [first] = beliefOf(given('complaint=no-light', 'fuse-test=150000'), tables, settings);
    expect(first).toMatchObject({ fault: 'plug-fuse' });
    expect(first?.share).toBeGreaterThan(0.8);
    const before = beliefOf(given('complaint=no-light'), tables, settings)[0];
    const after = beliefOf(given('complaint=no-light', 'new-bulb=no'), tables, settings);
    expect(before?.fault).toBe('bulb');
    expect(after.find(({ fault }) => fault === 'bulb')?.share).toBeLessThan((before?.share as number) / 2);
  });

  test.each([
    ['complaint=no-ligth', 'write "no-light"'],
    ['other-blub=lights', 'write "other-bulb"'],
    ['other-bulb=light', 'write "lights"'],
    ['new-bulb=yes', 'followed by "no"'],
    ['bulb-kind=scrw', 'write "screw"'],
  ])('“%s” is told what to write', (entry, words) => {
    const thought = imagined(flow, [entry], 'handy');
    expect('problems' in thought ? thought.problems.join() : '').toContain(words);
  });
});

describe('what the plan would do', () => {
  test('its ways after a step make 1 with the chance that it is cured', () => {
    const kase = given('complaint=no-light', 'bulb-kind=screw');
    for (const step of ['other-bulb', 'fuse-test']) {
      const ways = waysOn(kase, step, tables, settings);
      expect(ways.reduce((sum, { share }) => sum + share, 0)).toBeCloseTo(1, 6);
    }
    const [not] = waysOn(kase, 'new-bulb', tables, settings);
    expect(not?.share).toBeLessThan(1);
    expect(not?.kase.answers.at(-1)).toMatchObject({ kind: 'tested', result: 'no' });
  });

  test('is told with what it costs and what it would be instead', () => {
    const kase = given('complaint=no-light', 'bulb-kind=screw');
    const words = explained(kase, tables, settings);
    const { step } = foresee(kase, tables, settings);
    expect(words).toContain(`(${step})`);
    expect(words).toMatch(/To expect from here: .* in all/);
    expect(words).toContain('Instead of it');
    expect(words).not.toMatch(/NaN|undefined/);
  });

  test('is a tree as deep as asked, whose picture escapes what it says', () => {
    const tree = planTree(given('complaint=no-light', 'bulb-kind=screw'), tables, settings, 3);
    const depth = (node: typeof tree): number =>
      1 + Math.max(0, ...node.branches.map(({ node: next }) => depth(next)));
    expect(depth(tree)).toBeGreaterThan(1);
    expect(depth(tree)).toBeLessThanOrEqual(3);
    const svg = treePicture({ ...tree, title: '<b>&"' }, 'A <title>');
    expect(svg).toContain('&lt;b&gt;&amp;&quot;');
    expect(svg).not.toContain('<title>');
    expect(svg).not.toMatch(/NaN|undefined/);
  });
});

describe('the table', () => {
  test('shows what the file says, fault by fault, and faults that answer alike on one line', () => {
    const lines = likelihoodTable(tables).split('\n');
    const at = lines.findIndex((line) => line.startsWith('lead-look'));
    expect(lines.slice(at + 1, at + 4).map((line) => line.trim().split(/\s{2,}/))).toEqual([
      ['loose', 'firm'],
      ['bulb, plug-fuse, something-else', '2', '98'],
      ['lead', '80', '20'],
    ]);
    const weights = lines.find((line) => line.trim().startsWith('bulb'));
    expect(weights?.trim().split(/\s+/).slice(0, 3)).toEqual(['bulb', '60', '90']);
  });
});

describe('a change', () => {
  const other = (...changes: readonly (readonly [string, string])[]) =>
    flowOf(parseFlow(changed(...changes), 'lamp'));
  test('to nothing changes nothing', () => {
    expect(compared(flow, flow, settings, 'handy')).toBe('Nothing changes in belief, cost or order.');
  });

  test('to a weight is told as belief, for each complaint', () => {
    const words = compared(flow, other(['weight: 6', 'weight: 2']), settings, 'handy');
    expect(words).toContain('It does not light up (no-light)');
    expect(words).toMatch(/bulb: \d+\.\d % -> \d+\.\d %/);
    const [, was = '', is = ''] = /bulb: ([\d.]+) % -> ([\d.]+) %/.exec(words) ?? [];
    expect(Number(is)).toBeLessThan(Number(was));
  });
});

describe('advice', () => {
  test('names a sentence that is too long, and a word of the trade without a gloss', () => {
    const long = `Look ${'very '.repeat(30)}closely.`;
    expect(saidOf(changed(['how: [Look where the lead goes in.]', `how: ["${long}"]`]))).toEqual([
      expect.stringContaining('a sentence of 32 words'),
    ]);
    expect(
      saidOf(changed(['how: [Look where the lead goes in.]', 'how: [Look at the thermistor.]'])),
    ).toEqual([expect.stringContaining('"thermistor" is a word of the trade')]);
  });

  test('names a line that a comma has torn', () => {
    expect(
      saidOf(changed(['how: [Look where the lead goes in.]', 'how: [Look at the lead, then at the plug.]'])),
    ).toEqual([expect.stringContaining('a line that begins with a small letter')]);
  });

  test('names faults that nothing tells apart', () => {
    const said = saidOf(
      changed(
        ['likely: { lead: 0.8, otherwise: 0.02 }', 'likely: { bulb: 0.8, otherwise: 0.02 }'],
        ['likely: { lead: 0.2, otherwise: 0.98 }', 'likely: { bulb: 0.2, otherwise: 0.98 }'],
        ['plug-fuse: { from: 100000, to: 2000000 }', 'bulb: { from: 100000, to: 2000000 }'],
      ),
    );
    expect(said.join('\n')).toContain('nothing in the file tells "lead" from "plug-fuse"');
  });

  test('names checks that no simulated case needs, and none that some do', () => {
    const idle = flowOf(
      parseFlow(
        changed([
          'lights, label: It lights up, likely: { bulb: 0.95, otherwise: 0.02 }',
          'lights, label: It lights up, likely: { bulb: 0.51, otherwise: 0.5 }',
        ]),
        'lamp',
      ),
    );
    expect(neverAsked(idle, settings, 60)).toContain('other-bulb');
    const radioIdle = neverAsked(radio, settings, 120);
    expect(radioIdle.length).toBeLessThan(radio.checks.length);
    expect(radio.checks.map(({ id }) => id)).toEqual(expect.arrayContaining(radioIdle));
  });
});

describe('npm run flows', () => {
  let dir = '';
  const core = async () => settings;
  beforeEach(async () => {
    dir = await mkdtemp(join(tmpdir(), 'flows-'));
    await writeFile(join(dir, 'desk-lamp.yaml'), lamp);
  });
  afterEach(async () => {
    vi.restoreAllMocks();
    await rm(dir, { recursive: true, force: true });
  });

  test('draws, explains, compares and shows tables by name or file', async () => {
    const out = vi.spyOn(console, 'log').mockImplementation(() => {});
    const file = join(dir, 'desk-lamp.yaml');
    expect(await flowsCommand(['table', 'desk-lamp'], core, dir)).toBe(0);
    expect(
      await flowsCommand(['explain', file, '--given', 'complaint=no-light', 'bulb-kind=screw'], core, dir),
    ).toBe(0);
    expect(await flowsCommand(['compare', file, file], core, dir)).toBe(0);
    expect(await flowsCommand(['draw', 'desk-lamp', join(dir, 'out'), 'complaint=no-light'], core, dir)).toBe(
      0,
    );
    expect(out.mock.calls.flat().join('\n')).toContain('Nothing changes');
    expect(await readFile(join(dir, 'out/desk-lamp-map.svg'), 'utf8')).toContain('<svg');
    expect(await readFile(join(dir, 'out/desk-lamp-plan.svg'), 'utf8')).toContain('It does not light up');
  });

  test('says what is wrong with what it was given', async () => {
    const err = vi.spyOn(console, 'error').mockImplementation(() => {});
    expect(await flowsCommand(['explain', 'desk-lamp', '--given', 'complaint=x'], core, dir)).toBe(2);
    expect(await flowsCommand(['table', 'no-such'], core, dir)).toBe(2);
    expect(await flowsCommand(['draw'], core, dir)).toBe(2);
    expect(await flowsCommand(['table', 'desk-lamp', '--level', 'wizard'], core, dir)).toBe(2);
    expect(err.mock.calls.flat().join('\n')).toContain('no-light');
  });
});
