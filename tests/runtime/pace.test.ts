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

test('a thread that waits for its own turn holds up no other', () => {
  const pace = createPace({ all: 50, thread: 1 });
  expect([pace.wait('a', 0), pace.wait('a', 0), pace.wait('b', 0), pace.wait('c', 0)]).toEqual([
    0, 1000, 40, 60,
  ]);
});

test('whoever does not wait so long takes nobody’s place, so a crowd gets through at the pace', () => {
  const pace = createPace({ all: 20 });
  const waiting = Array.from({ length: 200 }, (_, i) => `t${i}`);
  let now = 0;
  // Each comes back when it was told to, as deliveries do; nobody waits longer than three seconds in line.
  const due = new Map(waiting.map((thread) => [thread, 0]));
  const sent: number[] = [];
  for (; due.size > 0 && now < 60_000; now += 50)
    for (const [thread, at] of [...due].filter(([, at]) => at <= now)) {
      const wait = pace.wait(thread, now, 3000);
      if (wait > 3000) due.set(thread, at + wait);
      else {
        due.delete(thread);
        sent.push(now + wait);
      }
    }
  expect(due.size).toBe(0);
  expect(Math.max(...sent)).toBeLessThanOrEqual(15_000);
  for (const at of sent)
    expect(sent.filter((other) => other >= at && other < at + 1000).length).toBeLessThanOrEqual(21);
});
