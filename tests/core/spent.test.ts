import { describe, expect, test } from 'vitest';
import { spentOf } from '../../src/core/spent.ts';
import { community, radio } from './example-flow.ts';

/** What a case took, in the community's currency. */

const work = { minutes: 0, waited: 0, parts: [] };

describe('what a case took', () => {
  test('counts each part at the middle of its price, and time as the plan does', () => {
    const hour = { ...community, hour: 12, waiting: 0.05 };
    // Two parts of 4 to 8 GBP; 30 min at 12 an hour and 60 min at a twentieth of that.
    expect(spentOf({ minutes: 30, waited: 60, parts: ['new-speaker', 'new-fuse'] }, radio, hour)).toEqual({
      money: 12,
      minutes: 30,
      waited: 60,
      worth: 6 + 0.6,
    });
  });

  test('changes a price in another currency by the community’s rate', () => {
    const abroad = { ...community, currency: 'EUR', rates: { GBP: 1.2 } };
    expect(spentOf({ ...work, parts: ['new-speaker'] }, radio, abroad).money).toBeCloseTo(7.2, 10);
  });

  test('has no price for a part that the flow does not know any more, nor for a remedy without one', () => {
    expect(spentOf({ ...work, parts: ['gone-since', 'drain'] }, radio, community).money).toBe(0);
  });
});
