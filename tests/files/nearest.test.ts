import { describe, expect, it } from 'vitest';
import { nearest } from '../../src/files/nearest.ts';

describe('the nearest name', () => {
  it.each([
    ['strp', ['strip', 'supply'], 'strip'],
    ['Something_Else', ['something-else'], 'something-else'],
    ['buld', ['bulb', 'bald'], 'bulb'],
    ['torch', ['fuse', 'lead'], undefined],
    ['', ['a'], 'a'],
    ['x'.repeat(5000), ['strip'], undefined],
  ])('of %j among %j is %j', (written, known, near) => {
    expect(nearest(written, known)).toBe(near);
  });
});
