import { expect, test } from 'vitest';
import { timeIds } from '../../src/journal/time-id.ts';

test('ids are UUIDs of version 7, ordered in time, and never alike', () => {
  let now = 0x0123456789ab;
  const next = timeIds(() => now);
  const ids = Array.from({ length: 20_000 }, (_, i) => {
    if (i % 7000 === 6999) now += 1;
    return next();
  });
  // RFC 9562, section 5.7: 48 bits of milliseconds, version 7, variant 10.
  expect(ids[0]).toMatch(/^01234567-89ab-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  expect(
    ids.every((id) => /^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/.test(id)),
  ).toBe(true);
  expect(ids.toSorted()).toEqual(ids);
  expect(new Set(ids).size).toBe(ids.length);
});

test('a clock set back takes nothing from the order', () => {
  let now = 1000;
  const next = timeIds(() => now);
  const before = next();
  now = 500;
  expect(next() > before).toBe(true);
});
