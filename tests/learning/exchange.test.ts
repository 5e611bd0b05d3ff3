import { describe, expect, test } from 'vitest';
import { tablesOf } from '../../src/core/step.ts';
import { addCase, merged, newTally, type Tally, weighted } from '../../src/learning/counts.ts';
import { type Exchange, exportCounts, imported, readExchange } from '../../src/learning/exchange.ts';
import { radio, settings } from '../core/example-flow.ts';
import { day0, simulated } from './communities.ts';

const tables = tablesOf(radio, settings);
const day = 86_400_000;
function community(seed: number, cases: number): Tally {
  const tally = newTally(null);
  for (let i = 0; i < cases; i++)
    addCase(tally, simulated(tables, { seed, blur: 0.2, trust: 0.95 }, i), tables);
  return tally;
}
function exchanged(source: string): Exchange {
  const read = readExchange(source, 'counts.yaml');
  if (!('exchange' in read)) throw new Error(read.problems.join('\n'));
  return read.exchange;
}

describe('a file of counts', () => {
  const tally = community(1, 200);
  const source = exportCounts(tally, [radio.flow], 'Millbrook', day0);

  test('comes back as the counts that it was made of', () => {
    const own = weighted(tally, radio.flow, day0);
    expect(imported(exchanged(source), radio.flow, day0, null)).toEqual({
      cases: own.cases,
      cells: own.cells,
    });
    expect(own.cells.size).toBeGreaterThan(50);
  });

  test('holds no ids of cases and no words of people, only names of the flow and numbers', () => {
    expect(tally.flows.get(radio.flow)?.cases.keys().next().value).toMatch(/^case-/);
    expect(source).not.toContain('case-');
    const flow = new Set(JSON.stringify(radio).match(/[a-z][a-z0-9-]*/g));
    const own =
      'learnt_counts from day flows cases faults details cures seen worked not none new handy trained';
    const words = source.replace(/^#.*$|^from: .*$/gm, '').match(/[a-z][a-z0-9_-]*/g) ?? [];
    expect(words.filter((word) => !flow.has(word) && !own.split(' ').includes(word))).toEqual([]);
  });

  test('can be read by people: what holds only numbers stands on a line', () => {
    expect(source).toMatch(/^# Counts of confirmed faults/);
    expect(source).toMatch(/^ {6}silent: \{.*latched: \d+.*\}$/m);
    expect(Math.max(...source.split('\n').map((line) => line.length))).toBeLessThan(160);
  });

  test('adds to another community’s counts, and ages on from its day', () => {
    const mine = weighted(community(2, 100), radio.flow, day0);
    const theirs = imported(exchanged(source), radio.flow, day0, null);
    const both = merged([mine, theirs]);
    expect(both.cases).toBe(mine.cases + theirs.cases);
    for (const cell of new Set([...mine.cells.keys(), ...theirs.cells.keys()]))
      expect(both.cells.get(cell)).toBe((mine.cells.get(cell) ?? 0) + (theirs.cells.get(cell) ?? 0));
    const later = imported(exchanged(source), radio.flow, day0 + 730 * day, 365);
    const [cell, n] = [...theirs.cells][0] as [string, number];
    expect(later.cells.get(cell)).toBeCloseTo(n / 4, 12);
    // A day that is still to come adds nothing.
    expect(imported(exchanged(source), radio.flow, day0 - 730 * day, 365).cells.get(cell)).toBe(n);
  });

  test('of a community without cases is a file all the same', () => {
    const empty = exportCounts(newTally(30), [radio.flow], 'Millbrook', day0);
    expect(imported(exchanged(empty), radio.flow, day0, 30)).toEqual({ cases: 0, cells: new Map() });
  });

  test.each([
    ['another version', /learnt_counts: 1/, 'learnt_counts: 2', 'learnt_counts'],
    ['a name that is none of ours', /^flows:/m, 'notes: they said it smelt\nflows:', 'notes'],
    ['words where an id stands', /table-radio:/, 'The Radio:', 'flows'],
    ['a count below nothing', /latched: \d+/, 'latched: -3', 'latched'],
    ['a count that is no number', /latched: \d+/, 'latched: many', 'latched'],
    ['a day that is none', /day: .*/, 'day: 2026-02-30', 'day'],
    ['more faults than cases', /cases: \d+/, 'cases: 3', 'more than the cases'],
    ['huge numbers', /latched: \d+/, 'latched: 1e300', 'latched'],
    ['a community without a name', /from: .*/, 'from: ""', 'from'],
    ['a name over two lines', /from: .*/, 'from: "a\\nb"', 'from'],
    ['a bracket left open', /\}/, '', ''],
  ])('with %s is refused, with its place', (_, found, instead, where) => {
    const spoilt = source.replace(found, instead);
    expect(spoilt).not.toBe(source);
    const read = readExchange(spoilt, 'counts.yaml');
    if ('exchange' in read) throw new Error('it was taken');
    expect(read.problems.join('\n')).toMatch(/^counts\.yaml:\d+:\d+ /);
    expect(read.problems.join('\n')).toContain(where);
  });
});
