import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Flow } from '../../shared/flow.ts';
import { tablesOf } from '../../src/core/step.ts';
import type { SettledCase } from '../../src/outcomes/settled.ts';
import {
  type Alike,
  type Asked,
  addSettled,
  type CaseIndex,
  newIndex,
  removeSettled,
  similar,
} from '../../src/outcomes/similar.ts';
import { radio, settings } from '../core/example-flow.ts';

/** Which settled cases are most like a given one. */

const tables = tablesOf(radio, settings);
const plain: SettledCase = {
  id: 'plain',
  flow: radio.flow,
  version: 1,
  opened: 0,
  settled: 1,
  complaint: null,
  details: {},
  seen: [],
  tried: [],
  outcome: 'Fixed',
  barrier: null,
  safety: null,
  fault: null,
  confirmed: null,
  said_by: 'mender',
  minutes: 0,
  waited: 0,
  parts: [],
  wrong_parts: [],
  follow_up: null,
  demonstration: false,
};
const saw = (check: string, outcome: string): SettledCase['seen'][number] => ({
  check,
  outcome,
  value: null,
  level: 'new',
});
const measured = (check: string, value: number): SettledCase['seen'][number] => ({
  check,
  outcome: null,
  value,
  level: 'handy',
});

function indexOf(cases: readonly SettledCase[], flow: Flow = radio): CaseIndex {
  const index = newIndex();
  for (const one of cases) addSettled(index, one, tablesOf(flow, settings));
  return index;
}
const ids = (alike: readonly Alike[]): string[] => alike.map(({ settled }) => settled.id);

describe('how much alike two cases are', () => {
  // Four settled cases: three silent, one humming; two of them were asked about the dial lamp, one glows.
  const settled: SettledCase[] = [
    { ...plain, id: 'a', complaint: 'silent', seen: [saw('dial-lamp', 'yes')] },
    { ...plain, id: 'b', complaint: 'silent', seen: [saw('dial-lamp', 'no')] },
    { ...plain, id: 'c', complaint: 'silent' },
    { ...plain, id: 'd', complaint: 'hums' },
  ];
  const asked: Asked = { ...plain, id: 'now', complaint: 'silent', seen: [saw('dial-lamp', 'yes')] };

  test('is the surprise of what agrees, less log 2 for what does not, as worked out by hand', () => {
    // The radio knows 3 complaints: share of silent (3 + 1) / (4 + 3); the lamp has 2 answers: (1 + 1) / (2 + 2).
    const silent = Math.log(7 / 4);
    const lamp = Math.log(2);
    const alike = similar(asked, tables, indexOf(settled), 10);
    // Of b the disagreement costs more than the complaint is worth; d has another complaint.
    expect(ids(alike)).toEqual(['a', 'c']);
    expect(alike.map(({ score }) => score)).toEqual([
      expect.closeTo(silent + lamp, 12),
      expect.closeTo(silent, 12),
    ]);
  });

  test('goes by a rare answer more than by a common one', () => {
    const many = Array.from({ length: 9 }, (_, i) => ({ ...plain, id: `m${i}`, complaint: 'silent' }));
    const rare = { ...plain, id: 'rare', seen: [saw('knob-feel', 'no')] };
    const others = Array.from({ length: 9 }, (_, i) => ({
      ...plain,
      id: `o${i}`,
      seen: [saw('knob-feel', 'yes')],
    }));
    const now = { ...plain, id: 'now', complaint: 'silent', seen: [saw('knob-feel', 'no')] };
    expect(ids(similar(now, tables, indexOf([...many, ...others, rare]), 1))).toEqual(['rare']);
  });

  test('takes readings in one band for the same, whatever the meter showed', () => {
    const now = { ...plain, id: 'now', seen: [measured('speaker-ohms', 8)] };
    const near = { ...plain, id: 'near', seen: [measured('speaker-ohms', 31)] };
    const far = { ...plain, id: 'far', seen: [measured('speaker-ohms', 900)] };
    expect(ids(similar(now, tables, indexOf([near, far]), 10))).toEqual(['near']);
  });

  test('counts a detail twice that the flow marks as make or model', () => {
    const details = {
      ...radio,
      details: radio.details.map((one) => (one.id === 'kind' ? { ...one, names: 'model' as const } : one)),
    };
    const now = { ...plain, id: 'now', details: { kind: 'solid' } };
    const other = { ...plain, id: 'other', details: { kind: 'solid' } };
    const scoreIn = (flow: Flow): number =>
      similar(now, tablesOf(flow, settings), indexOf([other], flow), 1)[0]?.score ?? Number.NaN;
    // Of 5 kinds one is not known: share (1 + 1) / (1 + 4).
    expect(scoreIn(radio)).toBeCloseTo(Math.log(5 / 2), 12);
    expect(scoreIn(details)).toBeCloseTo(2 * Math.log(5 / 2), 12);
  });

  test('does not count what nobody knew', () => {
    const unknown = { ...plain, details: { kind: 'not-known' } };
    const index = indexOf([unknown, { ...plain, id: 'known', details: { kind: 'solid' } }]);
    expect(similar({ ...unknown, id: 'now' }, tables, index, 10)).toEqual([]);
  });

  test('does not count what the flow no longer asks', () => {
    const old = { complaint: 'whistles', details: { colour: 'red' }, seen: [saw('sniff', 'yes')] };
    expect(similar({ ...plain, ...old, id: 'now' }, tables, indexOf([{ ...plain, ...old }]), 10)).toEqual([]);
  });
});

const answers = fc.record({
  complaint: fc.option(fc.constantFrom(...radio.complaints.map(({ id }) => id))),
  details: fc.dictionary(fc.constantFrom('kind', 'age'), fc.constantFrom('solid', 'young', 'old', 'glass')),
  seen: fc
    .tuple(
      ...radio.checks.map((check) =>
        fc.option(
          check.reading
            ? fc
                .double({ min: check.reading.min, max: check.reading.max, noNaN: true })
                .map((value) => measured(check.id, value))
            : fc.constantFrom(...(check.outcomes ?? [])).map(({ id }) => saw(check.id, id)),
        ),
      ),
    )
    .map((all) => all.filter((one) => one !== null)),
});
const some = fc
  .array(fc.record({ answers, settled: fc.nat({ max: 5 }) }), { maxLength: 12 })
  .map((all) =>
    all.map((one, i): SettledCase => ({ ...plain, ...one.answers, id: `s${i}`, settled: one.settled })),
  );

describe('whatever the cases', () => {
  const now = answers.map((one): Asked => ({ ...plain, ...one, id: 'now' }));

  test('the order in which they were settled or read does not matter', () => {
    fc.assert(
      fc.property(
        some.chain((all) => fc.tuple(fc.constant(all), fc.shuffledSubarray(all, { minLength: all.length }))),
        now,
        ([all, shuffled], asked) => {
          expect(similar(asked, tables, indexOf(shuffled), 99)).toEqual(
            similar(asked, tables, indexOf(all), 99),
          );
        },
      ),
    );
  });

  test('one alike in everything comes first, and the newest of several', () => {
    fc.assert(
      fc.property(some, now, (all, asked) => {
        fc.pre(asked.complaint !== null);
        const { complaint, details, seen } = asked;
        const twins = [100, 101].map((settled) => ({
          ...plain,
          complaint,
          details,
          seen,
          id: `twin${settled}`,
          settled,
        }));
        expect(ids(similar(asked, tables, indexOf([...twins, ...all]), 2))).toEqual(['twin101', 'twin100']);
      }),
    );
  });

  test('one that is taken out leaves nothing behind, and one put in twice counts once', () => {
    fc.assert(
      fc.property(some, answers, now, (all, more, asked) => {
        const index = indexOf([...all, { ...plain, ...more, id: 'gone' }, ...all]);
        expect(removeSettled(index, 'gone')).toBe(true);
        expect(removeSettled(index, 'gone')).toBe(false);
        expect(similar(asked, tables, index, 99)).toEqual(similar(asked, tables, indexOf(all), 99));
      }),
    );
  });

  test('a case is never like itself, and demonstrations are among themselves', () => {
    fc.assert(
      fc.property(some, now, fc.boolean(), (all, asked, demonstration) => {
        const index = indexOf([
          ...all.map((one, i) => ({ ...one, demonstration: i % 2 === 0 })),
          { ...plain, ...asked, demonstration },
        ]);
        const found = similar({ ...asked, demonstration }, tables, index, 99);
        expect(ids(found)).not.toContain('now');
        expect(found.every(({ settled }) => settled.demonstration === demonstration)).toBe(true);
        expect(found.every(({ score }) => score > 0)).toBe(true);
      }),
    );
  });
});
