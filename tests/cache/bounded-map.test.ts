import { expect, test } from 'vitest';
import { boundedMap } from '../../src/cache/bounded-map.ts';

test('what was set longest ago makes room, and setting again counts as new', () => {
  const map = boundedMap<number>(3);
  for (const [key, value] of [
    ['a', 1],
    ['b', 2],
    ['c', 3],
    ['a', 4],
    ['d', 5],
  ] as const) {
    map.set(key, value);
  }
  expect(['a', 'b', 'c', 'd'].map((key) => map.get(key))).toEqual([4, undefined, 3, 5]);
  expect(map.delete('b')).toBe(false);
  expect(map.delete('a')).toBe(true);
  map.clear();
  expect(map.has('c')).toBe(false);
});
