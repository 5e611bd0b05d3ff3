import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { civil, type Hours, isCivil, localTime } from '../../src/core/civil-hour.ts';

/** Offsets and changes of clocks are those of the IANA time zone database, as Node carries it. */

const minute = 60_000;
const hour = 60 * minute;
const daytime: Hours = { from: 10, to: 19 };
const at = (text: string): number => Date.parse(text);
const moved = (due: string, zone: string, hours: Hours = daytime): string =>
  new Date(civil(at(due), zone, hours)).toISOString();

describe('a moment moved to a civil hour', () => {
  test('stays where it is civil already, to the millisecond', () => {
    expect(civil(at('2026-01-15T10:00:00.001Z'), 'Europe/London', daytime)).toBe(
      at('2026-01-15T10:00:00.001Z'),
    );
    expect(moved('2026-01-15T18:59:59.999Z', 'Europe/London')).toBe('2026-01-15T18:59:59.999Z');
  });

  test('waits for the morning', () => {
    expect(moved('2026-01-15T03:20:30.500Z', 'Europe/London')).toBe('2026-01-15T10:00:00.000Z');
    expect(moved('2026-01-15T19:00:00Z', 'Europe/London')).toBe('2026-01-16T10:00:00.000Z');
  });

  test('goes by the clocks on the wall, in summer too', () => {
    expect(moved('2026-07-15T03:20:00Z', 'Europe/London')).toBe('2026-07-15T09:00:00.000Z');
    expect(moved('2026-07-15T18:30:00Z', 'Europe/London')).toBe('2026-07-16T09:00:00.000Z');
  });

  test('goes by half hours, where a zone has them', () => {
    // India is 5 h 30 min ahead of UTC.
    expect(moved('2026-03-01T20:00:00Z', 'Asia/Kolkata')).toBe('2026-03-02T04:30:00.000Z');
    expect(moved('2026-03-02T13:30:00Z', 'Asia/Kolkata')).toBe('2026-03-03T04:30:00.000Z');
  });

  test('across the night in which clocks are put forward', () => {
    // On 29 March 2026 at 01:00 GMT it became 02:00 in London.
    expect(moved('2026-03-29T00:30:00Z', 'Europe/London')).toBe('2026-03-29T09:00:00.000Z');
    expect(moved('2026-03-28T22:00:00Z', 'Europe/London')).toBe('2026-03-29T09:00:00.000Z');
    expect(moved('2026-03-29T00:30:00Z', 'Europe/London', { from: 2, to: 3 })).toBe(
      '2026-03-29T01:00:00.000Z',
    );
  });

  test('an hour that the clocks leave out is over as soon as they did', () => {
    expect(moved('2026-03-29T00:30:00Z', 'Europe/London', { from: 1, to: 2 })).toBe(
      '2026-03-29T01:00:00.000Z',
    );
  });

  test('across the night in which clocks are put back', () => {
    // On 25 October 2026 at 02:00 BST it became 01:00 in London.
    expect(moved('2026-10-24T23:30:00Z', 'Europe/London')).toBe('2026-10-25T10:00:00.000Z');
    expect(moved('2026-10-24T23:30:00Z', 'Europe/London', { from: 1, to: 2 })).toBe(
      '2026-10-25T00:00:00.000Z',
    );
    expect(moved('2026-10-24T23:30:00Z', 'Europe/London', { from: 2, to: 3 })).toBe(
      '2026-10-25T02:00:00.000Z',
    );
  });

  const zone = fc.constantFrom(
    'UTC',
    'Europe/London',
    'America/St_Johns',
    'Asia/Kolkata',
    'Asia/Kathmandu',
    'Australia/Lord_Howe',
    'Pacific/Auckland',
    'America/New_York',
  );
  const hours = fc
    .tuple(fc.integer({ min: 0, max: 23 }), fc.integer({ min: 1, max: 24 }))
    .map(([from, long]) => ({ from, to: Math.min(24, from + long) }));
  // Any moment of four years, and the nights in which London, New York and Lord Howe change their clocks.
  const moment = fc.oneof(
    fc.integer({ min: at('2025-01-01T00:00:00Z'), max: at('2029-01-01T00:00:00Z') }),
    ...['2026-03-29T01:00:00Z', '2026-10-25T01:00:00Z', '2026-03-08T07:00:00Z', '2026-10-03T15:30:00Z'].map(
      (change) => fc.integer({ min: at(change) - 26 * hour, max: at(change) + 3 * hour }),
    ),
  );

  test('is never earlier, never more than 25 hours later, and within the hours if those come at all', () => {
    fc.assert(
      fc.property(moment, zone, hours, (due, where, open) => {
        const then = civil(due, where, open);
        expect(then).toBeGreaterThanOrEqual(due);
        expect(then - due).toBeLessThanOrEqual(25 * hour);
        if (isCivil(then, where, open)) return;
        // Then no minute of these hours came before it, and the clock has just passed them.
        expect(localTime(then, where).hour).toBe(open.to);
        for (let t = due; t < then; t += minute) expect(isCivil(t, where, open)).toBe(false);
      }),
      { numRuns: 2000 },
    );
  });

  test('is the first one within the hours, as a look at every minute tells', () => {
    fc.assert(
      fc.property(moment, zone, hours, (due, where, open) => {
        const then = civil(due, where, open);
        const whole = Math.floor(due / minute) * minute;
        let first = due;
        for (let t = whole; !isCivil(first, where, open) && first < then; t += minute)
          first = Math.max(due, t);
        expect(then).toBe(first);
      }),
      { numRuns: 150 },
    );
  });
});
