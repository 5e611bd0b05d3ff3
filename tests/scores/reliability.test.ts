import fc from 'fast-check';
import { expect, test } from 'vitest';
import { rasterise } from '../../src/pictures/rasterise.ts';
import { reliabilityPicture, reliabilitySheet } from '../../src/pictures/reliability.ts';
import { inside, overlaps } from '../../src/pictures/svg.ts';
import { bins } from '../../src/scores/bins.ts';

const forecast = fc.record({ p: fc.double({ min: 0, max: 1, noNaN: true }), y: fc.boolean() });

test('the picture has every word inside its frame, and none over another', () => {
  fc.assert(
    fc.property(fc.array(forecast, { maxLength: 80 }), fc.integer({ min: 1, max: 999 }), (some, times) => {
      const all = bins(some).map((bin) => ({ ...bin, n: bin.n * times }));
      const { placed, width, height, svg } = reliabilitySheet(all, some.length * times);
      const frame = { x: 0, y: 0, width, height };
      for (const [i, one] of placed.entries()) {
        expect(inside(one, frame), `${one.what} is outside`).toBe(true);
        for (const other of placed.slice(i + 1))
          expect(overlaps(one, other), `${one.what} and ${other.what}`).toBe(false);
      }
      expect(svg).not.toMatch(/NaN|Infinity|undefined/);
    }),
    { numRuns: 100, seed: 20261125 },
  );
});

test('what came true as often as said lies on the line, and more often above it', () => {
  const said = (p: number, events: number, n: number) =>
    Array.from({ length: n }, (_, i) => ({ p, y: i < events }));
  const { points } = reliabilitySheet(
    bins([...said(0, 0, 4), ...said(0.5, 5, 10), ...said(0.85, 10, 10), ...said(1, 3, 3)]),
    27,
  );
  const [zero, half] = points as [{ x: number; y: number }, { x: number; y: number }];
  // Straight on: as far to the right as up.
  expect(half.x - zero.x).toBeCloseTo(zero.y - half.y, 9);
  expect(half.x).toBeGreaterThan(zero.x);
  const high = points[2] as { x: number; y: number };
  expect(zero.y - high.y).toBeGreaterThan(high.x - zero.x);
});

test('the picture is drawn at its size, and without forecasts, too', async () => {
  const { width, height } = reliabilitySheet([], 0);
  const drawn = await rasterise(reliabilityPicture([], 0));
  expect([drawn.width, drawn.height]).toEqual([Math.ceil(width), Math.ceil(height)]);
});
