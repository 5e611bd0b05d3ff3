import { expect, test } from 'vitest';
import { readTester } from '../../../src/core/words/tester.ts';

/** Ohm for the earth, Mohm for the insulation; expectations by hand. */

test.each([
  ['20', 20],
  ['20 Mohm', 20],
  ['0.9 MΩ', 0.9],
  ['900k', 0.9],
  ['900 kohm', 0.9],
  ['>299', 299],
  ['> 299 Mohm', 299],
  ['2M', 2],
  ['more than 99', 99],
  ['0,5', 0.5],
  ['500000 ohm', 0.5],
])('insulation “%s” is %d Mohm', (typed, mohm) => {
  expect(readTester('insulation', typed)).toMatchObject({ result: 'measured' });
  expect(readTester('insulation', typed)).toHaveProperty('value', expect.closeTo(mohm, 9));
});

test.each([
  ['0.12', 0.12],
  ['0R12', 0.12],
  ['120 mohm', 0.12],
  ['0,3 ohm', 0.3],
])('earth “%s” is %d ohm', (typed, ohm) => {
  expect(readTester('earth', typed)).toHaveProperty('value', expect.closeTo(ohm, 9));
});

test('no connection is over the range, for both', () => {
  expect(readTester('earth', 'OL')).toEqual({ result: 'over', value: null });
  expect(readTester('earth', '> 20 ohm')).toEqual({ result: 'over', value: null });
  expect(readTester('insulation', 'OL')).toEqual({ result: 'over', value: null });
});

test.each(['fine', 'beep', '', '5 V', 'below 2 Mohm', '-3'])('“%s” is asked again', (typed) => {
  expect(readTester('insulation', typed)).toHaveProperty('why');
  expect(readTester('earth', typed)).toHaveProperty('why');
});
