import { expect, test } from 'vitest';
import { kilograms } from '../../src/records/kilograms.ts';
import { categories } from '../../src/records/ords.ts';

/**
 * Mean kilograms of a piece by UNU-KEY, 2019: Statistics Netherlands, "Waste over Time" (github.com/Statistics-Netherlands/ewaste,
 * data/htbl_Key_Weight.csv; MIT).
 */
const published: Readonly<Record<string, number>> = {
  '0102': 43.3,
  '0104': 72.54,
  '0106': 12.14,
  '0108': 40.79,
  '0111': 26.7,
  '0112': 41.7,
  '0114': 22.9,
  '0201': 0.99,
  '0202': 3.27,
  '0203': 1.89,
  '0204': 5.88,
  '0205': 0.55,
  '0301': 0.4,
  '0302': 8.77,
  '0303': 0.97,
  '0304': 10.32,
  '0306': 0.09,
  '0309': 5.5,
  '0401': 0.39,
  '0402': 0.23,
  '0403': 3.73,
  '0404': 3.51,
  '0405': 2.14,
  '0406': 0.29,
  '0408': 10.2,
  '0506': 0.45,
  '0601': 2.49,
  '0701': 0.45,
  '0702': 0.48,
};

test('every category has a figure that says it is an estimate; what may be anything has none', () => {
  expect(Object.keys(kilograms).toSorted()).toEqual([...categories].toSorted());
  for (const { source } of Object.values(kilograms)) expect(source).toContain('author’s estimate');
  expect(categories.filter((one) => kilograms[one].kg === null)).toEqual(['Misc']);
});

// Classes are wider than categories (kettles stand with travel cookers, consoles with handhelds): a factor of five catches a
// slip of the decimal point, and says no more than that.
test.each(categories.filter((one) => kilograms[one].unu.length > 0))(
  '%s is within a factor of five of the published means of its classes',
  (category) => {
    const { kg, unu } = kilograms[category];
    const means = unu.map((key) => published[key] ?? Number.NaN);
    expect(kg).toBeGreaterThanOrEqual(Math.min(...means) / 5);
    expect(kg).toBeLessThanOrEqual(Math.max(...means) * 5);
  },
);
