import { expect, test } from 'vitest';
import { earthLimit, insulationLimit, practiceIn } from '../../src/core/closing-limits.ts';

/** Limits of tests before an appliance goes home. The sources stand beside the numbers. */

// VDE 0701-0702:2008, tables printed in manuals of appliance testers; EN 50678:2020 kept them (from memory).
test.each([
  [2, 0.3],
  [5, 0.3],
  [12.5, 0.4],
  [20, 0.5],
  [100, 1],
])('European practice: a lead of %d m may have %d ohm to earth', (lead, ohm) => {
  expect(earthLimit('en', lead)).toBeCloseTo(ohm, 9);
});

// IET code of practice: 0.1 ohm and the resistance of the lead. Lead: 15.6 mohm a metre for 1.25 mm2 (from memory).
test.each([
  [2, 0.131],
  [5, 0.178],
])('British practice: 0.1 ohm and the lead of %d m', (lead, ohm) => {
  expect(earthLimit('uk', lead)).toBeCloseTo(ohm, 3);
  expect(earthLimit('uk', lead)).toBeLessThan(earthLimit('en', lead));
});

// VDE 0701-0702:2008: class I 1, class II 2, class III 0.25, heaters 0.3 Mohm. The code of practice has the same, with 0.3 for
// heating appliances of class I under 3 kW.
test.each([
  ['en', 1, undefined, 1],
  ['en', 2, undefined, 2],
  ['en', 3, undefined, 0.25],
  ['en', 1, 2.2, 0.3],
  ['en', 2, 2.2, 2],
  ['uk', 1, undefined, 1],
  ['uk', 1, 2.2, 0.3],
  ['uk', 1, 3.5, 1],
  ['uk', 2, 1, 2],
  ['uk', 3, undefined, 0.25],
] as const)(
  'insulation, practice %s, class %d, heater %s kW: at least %d Mohm',
  (practice, of, heater, mohm) => {
    expect(insulationLimit(practice, of, heater)).toBe(mohm);
  },
);

test('the practice follows the country', () => {
  expect(['GBR', 'IRL', 'DEU', 'USA', 'NLD'].map(practiceIn)).toEqual(['uk', 'uk', 'en', 'en', 'en']);
});
