import { beforeEach, expect, test } from 'vitest';
import { type Breaker, breakerRest, createBreaker } from '../../src/cache/breaker.ts';

let clock: number;
let changes: boolean[];
let breaker: Breaker;
beforeEach(() => {
  clock = 1000;
  changes = [];
  breaker = createBreaker({ now: () => clock, changed: (open) => changes.push(open) });
});
const fail = (times: number): void => {
  for (let n = 0; n < times; n++) {
    expect(breaker.ask()).toBe(true);
    breaker.failed();
  }
};

test('five failures in a row open it, four do not, and a success between starts the count again', () => {
  fail(4);
  breaker.succeeded();
  fail(4);
  expect(changes).toEqual([]);
  fail(1);
  expect(changes).toEqual([true]);
  expect(breaker.ask()).toBe(false);
});

test('open, it lets nobody ask for ten seconds, and then one', () => {
  fail(5);
  clock += 9_999;
  expect(breaker.ask()).toBe(false);
  clock += 1;
  expect(breaker.ask()).toBe(true);
  expect(breaker.ask()).toBe(false);
  expect(breaker.open).toBe(true);
});

test('the one who asked closes it by success', () => {
  fail(5);
  clock += breakerRest;
  breaker.ask();
  breaker.succeeded();
  expect(changes).toEqual([true, false]);
  expect(breaker.open).toBe(false);
  fail(4);
  expect(breaker.open).toBe(false);
});

test('the one who asked and failed begins another rest, which is no change', () => {
  fail(5);
  for (let round = 0; round < 3; round++) {
    clock += breakerRest;
    fail(1);
    clock += breakerRest - 1;
    expect(breaker.ask()).toBe(false);
    clock += 1;
  }
  expect(changes).toEqual([true]);
});

test('failures of what began before it opened do not prolong the rest', () => {
  fail(5);
  clock += 9000;
  breaker.failed();
  clock += 1000;
  expect(breaker.ask()).toBe(true);
});

test('a clock that is put back does not keep it open', () => {
  fail(5);
  clock -= 3_600_000;
  expect(breaker.ask()).toBe(true);
});
