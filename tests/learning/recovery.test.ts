import { describe, expect, test } from 'vitest';
import type { Flow } from '../../shared/flow.ts';
import { tablesOf } from '../../src/core/step.ts';
import { taught } from '../../src/learning/apply.ts';
import { addCase, newTally } from '../../src/learning/counts.ts';
import { accept, proposeFrom } from '../../src/learning/propose.ts';
import { estimate } from '../../src/rehearsal/statistics.ts';
import { forecastOf } from '../../src/scores/forecast.ts';
import { logScore } from '../../src/scores/rules.ts';
import { radio, settings } from '../core/example-flow.ts';
import { day0, type Place, simulated } from './communities.ts';
import { strengths } from './usual-strengths.ts';

const tables = tablesOf(radio, settings);
const { reliability, floor, country } = settings.community;
const sizes = [50, 200, 1000] as const;
const timeout = 120_000;

/** Mean log score of the belief in the true fault, nats, lower is better: learnt minus the file's, by size, on fresh cases. */
function gained(place: Place, strength = strengths, until = 1000): number[] {
  const learning = { strength, reliability };
  const fresh = Array.from({ length: 800 }, (_, i) => simulated(tables, place, 100_000 + i));
  const score = (flow: Flow): number => {
    const forecasts = fresh.map((one) => forecastOf(one, flow, settings)).filter((one) => one !== null);
    return estimate(forecasts.map(logScore)).mean;
  };
  const file = score(radio);
  const tally = newTally(null);
  let [drawn, counted] = [0, 0];
  return sizes
    .filter((size) => size <= until)
    .map((size) => {
      while (counted < size) if (addCase(tally, simulated(tables, place, drawn++), tables)) counted++;
      const proposals = proposeFrom(tables, tally, day0, learning);
      const learnt = accept(proposals, tables, learning, { at: day0, by: 'moderator' });
      return score(taught(radio, learnt, { floor, mainsVolts: country.mains_volts })) - file;
    });
}
const column = (rows: readonly number[][], i: number): number[] => rows.map((row) => row[i] as number);

// The strengths were chosen on seeds 1 to 120 and looked at once on 201 to 240.
const places = (blur: number): Place[] =>
  Array.from({ length: 20 }, (_, i) => ({ seed: 301 + i, blur, trust: 0.95 }));

describe('twenty communities', () => {
  test.each([0.2, 0.3])(
    'whose numbers are off the file’s by %d: the learnt ones win after 200 cases and do no harm after 50',
    { timeout },
    (blur) => {
      const rows = places(blur).map((place) => gained(place));
      const [at50, at200, at1000] = [column(rows, 0), column(rows, 1), column(rows, 2)];
      expect(Math.max(...at50)).toBeLessThanOrEqual(0.01);
      expect(at200.filter((difference) => difference < 0).length).toBeGreaterThanOrEqual(18);
      expect(at1000.filter((difference) => difference < 0)).toHaveLength(20);
      // And more cases teach more.
      expect(estimate(at200).mean).toBeLessThan(estimate(at50).mean);
      expect(estimate(at1000).mean).toBeLessThan(estimate(at200).mean);
    },
  );

  test('whose numbers are the file’s: fifty cases do little harm, which a strength of 20 would', {
    timeout,
  }, () => {
    const at50 = places(0).map((place) => gained(place, strengths, 50)[0] as number);
    expect(Math.max(...at50)).toBeLessThanOrEqual(0.01);
    const weak = { faults: 20, complaints: 20, cures: 20, outcomes: 20, pooling: 20 };
    const careless = places(0).map((place) => gained(place, weak, 50)[0] as number);
    expect(estimate(careless).mean).toBeGreaterThan(0.01);
  });
});
