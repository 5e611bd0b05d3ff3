import { expect, test } from 'vitest';
import { createPace } from '../../src/runtime/pace.ts';

test('without a declared pace nothing waits', () => {
  const pace = createPace();
  expect([pace.wait('a', 5), pace.wait('a', 5), pace.wait('b', 5)]).toEqual([0, 0, 0]);
});

test('a pace in all spaces every message, a pace in a thread those of the thread', () => {
  const all = createPace({ all: 50 });
  expect([all.wait('a', 0), all.wait('b', 0), all.wait('a', 0), all.wait('a', 100)]).toEqual([0, 20, 40, 0]);
  const thread = createPace({ thread: 1 });
  expect([thread.wait('a', 0), thread.wait('a', 0), thread.wait('b', 0)]).toEqual([0, 1000, 0]);
});

test('a pause holds one thread or all, and is never cut short by a shorter one', () => {
  const pace = createPace();
  pace.pause('a', 500);
  pace.pause('a', 100);
  expect([pace.wait('a', 0), pace.wait('b', 0)]).toEqual([500, 0]);
  pace.pause(null, 300);
  expect([pace.wait('a', 0), pace.wait('b', 0), pace.wait('b', 300)]).toEqual([500, 300, 0]);
});
