import { describe, expect, test } from 'vitest';
import { Flow } from '../../shared/flow.ts';
import { believe, evidence } from '../../src/core/infer.ts';
import { tablesOf } from '../../src/core/step.ts';
import { tabulate } from '../../src/core/tables.ts';
import { taught, taughtTables } from '../../src/learning/apply.ts';
import { addCase, newTally, removeCase, type Tally } from '../../src/learning/counts.ts';
import { Learnt } from '../../src/learning/learnt.ts';
import { accept, type Proposal, proposeFrom } from '../../src/learning/propose.ts';
import { radio, settings } from '../core/example-flow.ts';
import { day0, simulated } from './communities.ts';
import { strengths } from './usual-strengths.ts';

const { reliability, floor, country } = settings.community;
const learning = { strength: strengths, reliability };
const physics = { floor, mainsVolts: country.mains_volts };
const tables = tablesOf(radio, settings);
const moderator = { at: day0, by: 'moderator-1' };

function community(cases: number): Tally {
  const tally = newTally(null);
  for (let i = 0; i < cases; i++)
    addCase(tally, simulated(tables, { seed: 3, blur: 0.3, trust: 0.95 }, i), tables);
  return tally;
}
const tally = community(400);
const proposals = proposeFrom(tables, tally, day0, learning, 'kind');
const of = (kind: Proposal['distribution']['kind']): Proposal[] =>
  proposals.filter(({ distribution }) => distribution.kind === kind);
const everything = accept(proposals, tables, learning, moderator);
const after = taughtTables(radio, everything, physics);

describe('proposals', () => {
  test('each stands beside the file’s numbers, within its interval, with the cases behind it', () => {
    expect(new Set(proposals.map(({ distribution }) => distribution.kind))).toEqual(
      new Set(['complaints', 'faults', 'choice', 'cure', 'outcomes']),
    );
    const ids = tally.flows.get(radio.flow)?.cases as ReadonlyMap<string, unknown>;
    for (const { distribution, cases, clear } of proposals) {
      const shares = Object.values(distribution.shares);
      expect(cases.length).toBeGreaterThan(0);
      expect(cases.every((id) => ids.has(id))).toBe(true);
      expect(shares.every(({ low, mean, high }) => low <= mean && mean <= high)).toBe(true);
      expect(clear).toBe(shares.some(({ file, low, high }) => file < low || file > high));
    }
    expect(new Set(proposals.map(({ id }) => id)).size).toBe(proposals.length);
    expect(proposals.some(({ clear }) => clear)).toBe(true);
    expect(proposals.some(({ clear }) => !clear)).toBe(true);
  });

  test('a case that is taken back is behind nothing any more', () => {
    const one = { ...simulated(tables, { seed: 3, blur: 0.3, trust: 0.95 }, 0), fault: 'joint' };
    const only = newTally(null);
    addCase(only, { ...one, confirmed: 'person' }, tables);
    expect(proposeFrom(tables, only, day0, learning).flatMap(({ cases }) => cases)).toContain(one.id);
    removeCase(only, one);
    expect(proposeFrom(tables, only, day0, learning)).toEqual([]);
  });
});

describe('accepting', () => {
  test('nothing is used until it is accepted', () => {
    expect(taught(radio, null, physics)).toBe(radio);
    expect(taught(radio, accept([], tables, learning, moderator), physics)).toBe(radio);
  });

  test('what is accepted is kept as data, and holds no id of a case', () => {
    const text = JSON.stringify(everything);
    expect(Learnt.parse(JSON.parse(text))).toEqual(everything);
    expect(proposals.flatMap(({ cases }) => cases).every((id) => id.startsWith('case-'))).toBe(true);
    expect(text).not.toContain('case-');
  });

  test('later acceptance replaces the same numbers and keeps others, within a version of the flow', () => {
    const [first, second] = of('faults') as [Proposal, Proposal];
    const one = accept([first], tables, learning, moderator);
    const both = accept([second], tables, learning, { at: day0 + 1, by: 'moderator-2' }, one);
    expect(both.distributions).toEqual([first.distribution, second.distribution]);
    expect(accept([first], tables, learning, moderator, both).distributions).toHaveLength(2);
    const next = { ...tables, flow: { ...radio, version: radio.version + 1 } };
    expect(accept([second], next, learning, moderator, one).distributions).toEqual([second.distribution]);
  });

  test('a corrected flow keeps its own numbers until somebody accepts again', () => {
    const corrected = { ...radio, version: radio.version + 1 };
    expect(taught(corrected, everything, physics)).toBe(corrected);
    expect(taught({ ...radio, flow: 'another' }, everything, physics).faults).toBe(radio.faults);
  });
});

describe('a flow with learnt numbers', () => {
  test('is a flow, and differs from the file in numbers and their sources alone', () => {
    const flow = taught(radio, everything, physics);
    expect(Flow.parse(flow)).toEqual(flow);
    const numbers = ['weight', 'likely', 'cures', 'expect', 'source', 'rest'];
    const bare = (value: unknown): unknown =>
      JSON.parse(JSON.stringify(value, (key, inner) => (numbers.includes(key) ? undefined : inner)));
    expect(bare({ ...flow, groups: radio.groups })).toEqual(bare(radio));
    expect(flow.faults[0]?.source).toBe('learnt from settled cases, accepted 2026-01-01');
  });

  test('has full tables whose columns sum to 1', () => {
    expect(after.prior.reduce((a, b) => a + b, 0)).toBeCloseTo(1, 12);
    for (const { rows } of after.checks.values())
      for (const f of after.faults.keys())
        expect(rows.reduce((sum, row) => sum + (row[f] as number), 0)).toBeCloseTo(1, 9);
  });

  test('the desk believes of a stated complaint what was accepted', () => {
    const learnt = accept([...of('faults'), ...of('complaints')], tables, learning, moderator);
    const told = taughtTables(radio, learnt, physics);
    let compared = 0;
    for (const { distribution } of of('faults')) {
      if (distribution.kind !== 'faults' || distribution.complaint === '(none)') continue;
      const said = { seq: 1, at: 0, by: 'owner', level: 'handy' } as const;
      const answers = [{ ...said, kind: 'complaint-stated', complaint: distribution.complaint } as const];
      const { faults } = believe(told.prior, evidence(told, answers, reliability));
      for (const [f, fault] of told.faults.entries()) {
        compared++;
        // The floor of every likelihood moves what is rare.
        expect(Math.abs((faults[f] as number) - (distribution.shares[fault]?.mean ?? 0))).toBeLessThan(0.01);
      }
    }
    expect(compared).toBe(3 * 8);
  });

  test('cures and outcomes are the accepted ones, readings by band', () => {
    const far: unknown[] = [];
    for (const { distribution: one } of proposals) {
      if (one.kind === 'cure') {
        const p = after.cures.get(one.remedy)?.[after.faults.indexOf(one.fault)] as number;
        if (Math.abs(p - (one.shares.worked?.mean ?? 0)) > floor) far.push(one);
      } else if (one.kind === 'outcomes') {
        const table = after.checks.get(one.check);
        for (const [o, outcome] of (table?.outcomes ?? []).entries()) {
          const p = table?.rows[o]?.[after.faults.indexOf(one.fault)] as number;
          // A reading's shape is weighed as a whole: a tail that reaches into the next band comes along.
          if (Math.abs(p - (one.shares[outcome]?.mean ?? 0)) > (table?.reading ? 0.02 : 1e-9)) far.push(one);
        }
      }
    }
    expect(far).toEqual([]);
    expect(of('outcomes').filter(({ id }) => /rail|ohms/.test(id)).length).toBeGreaterThan(5);
  });

  test('faults of which nothing was accepted keep the file’s outcomes', () => {
    const one = of('outcomes')[0] as Proposal;
    const told = taughtTables(radio, accept([one], tables, learning, moderator), physics);
    if (one.distribution.kind !== 'outcomes') throw new Error('no outcomes');
    const { check, fault } = one.distribution;
    for (const [id, { rows }] of told.checks)
      for (const [o, row] of rows.entries())
        for (const [f, name] of told.faults.entries())
          if (id !== check || name !== fault)
            expect(row[f]).toBeCloseTo(tables.checks.get(id)?.rows[o]?.[f] as number, 9);
    expect(told.prior).toEqual(tables.prior);
  });

  test('a make whose cases were all one fault leans towards it, and the others stay', () => {
    const make = newTally(null);
    const [kind] = radio.details;
    const [choice, other] = kind?.choices ?? [];
    for (let i = 0; i < 60; i++) {
      const one = simulated(tables, { seed: 4, blur: 0, trust: 0.95 }, i);
      const details = { [kind?.id as string]: choice?.id as string };
      addCase(make, { ...one, complaint: 'silent', details, fault: 'joint', confirmed: 'person' }, tables);
    }
    const makes = proposeFrom(tables, make, day0, learning, kind?.id).filter(
      ({ distribution }) => distribution.kind === 'choice',
    );
    expect(makes).toHaveLength(1);
    const told = taughtTables(radio, accept(makes, tables, learning, moderator), physics);
    const joint = tables.faults.indexOf('joint');
    const leans = (from: typeof tables, id: string | undefined): number =>
      from.details.get(kind?.id as string)?.get(id as string)?.[joint] ?? 1 / (kind?.choices.length ?? 1);
    expect(leans(told, choice?.id)).toBeGreaterThan(1.5 * leans(tables, choice?.id));
    expect(leans(told, other?.id)).toBe(leans(tables, other?.id));
  });

  test('the tables are those of the flow', () => {
    const { flow: _, ...rest } = tabulate(taught(radio, everything, physics), physics);
    expect(after).toMatchObject(rest);
  });
});
