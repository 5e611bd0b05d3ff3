import fc from 'fast-check';
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

test('whatever is set, deleted and cleared, it holds the last that were set and are not deleted', () => {
  const op = fc.oneof(
    { weight: 20, arbitrary: fc.tuple(fc.constant('set' as const), fc.nat({ max: 12 })) },
    { weight: 5, arbitrary: fc.tuple(fc.constant('delete' as const), fc.nat({ max: 12 })) },
    { weight: 1, arbitrary: fc.tuple(fc.constant('clear' as const), fc.constant(0)) },
  );
  fc.assert(
    fc.property(fc.integer({ min: 1, max: 6 }), fc.array(op, { maxLength: 200 }), (most, ops) => {
      const map = boundedMap<number>(most);
      let model: number[] = [];
      for (const [what, key] of ops) {
        if (what === 'set') {
          map.set(`${key}`, key);
          model = [...model.filter((other) => other !== key), key].slice(-most);
        } else if (what === 'delete') {
          expect(map.delete(`${key}`)).toBe(model.includes(key));
          model = model.filter((other) => other !== key);
        } else {
          map.clear();
          model = [];
        }
        for (let other = 0; other <= 12; other++)
          expect(map.get(`${other}`)).toBe(model.includes(other) ? other : undefined);
      }
    }),
    { seed: 1 },
  );
});
