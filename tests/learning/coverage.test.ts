import { describe, expect, test } from 'vitest';
import { tablesOf } from '../../src/core/step.ts';
import { addCase, newTally, weighted } from '../../src/learning/counts.ts';
import {
  complaintShares,
  complaintsOf,
  cureRate,
  type Figure,
  faultsGiven,
  outcomeShares,
} from '../../src/learning/posterior.ts';
import { estimate } from '../../src/rehearsal/statistics.ts';
import { radio, settings } from '../core/example-flow.ts';
import { day0 } from './communities.ts';
import { drawCommunity } from './drawn.ts';
import { strengths } from './usual-strengths.ts';

const tables = tablesOf(radio, settings);
const { reliability } = settings.community;

/** Shares of the true numbers that lie in their intervals, by kind, in one community whose truth is `strength` from the file. */
function held(seed: number, cases: number, strength = strengths): Record<Kind, number> {
  const learning = { strength: strengths, reliability };
  const { truth, draw } = drawCommunity(tables, { strength, reliability }, seed);
  const tally = newTally(null);
  for (let i = 0; i < cases; i++) addCase(tally, draw(i), tables);
  const counts = weighted(tally, radio.flow, day0);
  const inside = (figures: readonly Figure[], real: readonly number[]): boolean[] =>
    // What is not learnt has no interval.
    figures.flatMap(({ low, high }, i) =>
      low === high ? [] : [low <= (real[i] as number) && (real[i] as number) <= high],
    );
  const share = (all: readonly boolean[]): number => all.filter(Boolean).length / all.length;
  const everyFault = (names: Iterable<string>, of: (name: string, fault: string, f: number) => boolean[]) =>
    share(Array.from(names).flatMap((name) => tables.faults.flatMap((fault, f) => of(name, fault, f))));
  return {
    complaints: share(inside(complaintShares(tables, counts, learning), truth.complaints)),
    faults: share(
      complaintsOf(tables).flatMap((complaint, c) =>
        inside(faultsGiven(tables, counts, complaint, learning), truth.faults[c] ?? []),
      ),
    ),
    outcomes: everyFault(tables.checks.keys(), (check, fault, f) =>
      inside(outcomeShares(tables, counts, { check, fault }, learning), truth.outcomes.get(check)?.[f] ?? []),
    ),
    cures: everyFault(tables.cures.keys(), (remedy, fault, f) => {
      const rate = cureRate(tables, counts, { remedy, fault }, learning);
      return rate ? inside([rate], [truth.cures.get(remedy)?.[f] as number]) : [];
    }),
  };
}
const kinds = ['complaints', 'faults', 'outcomes', 'cures'] as const;
type Kind = (typeof kinds)[number];

describe('intervals of 95 %', () => {
  const communities = Array.from({ length: 400 }, (_, i) => i + 1);

  test.each([50, 200, 1000])(
    'hold the truth nineteen times of twenty within sampling error after %d cases, where the file is as far off as the strengths say',
    { timeout: 120_000 },
    (cases) => {
      const all = communities.map((seed) => held(seed, cases));
      for (const kind of kinds) {
        const { mean, high } = estimate(all.map((one) => one[kind]));
        const error = (high - mean) / 1.96;
        expect(error, kind).toBeLessThan(0.007);
        expect(Math.abs(mean - 0.95), kind).toBeLessThan(3 * error);
      }
    },
  );

  test('hold it less often where the file is further off than that, and more often again after more cases', {
    timeout: 120_000,
  }, () => {
    const far = { faults: 50, complaints: 50, cures: 25, outcomes: 25, pooling: 20 };
    const [early, late] = [50, 2000].map((cases) =>
      communities.slice(0, 60).map((seed) => held(seed, cases, far).faults),
    ) as [number[], number[]];
    // With a quarter of the strength, in four of six at first, in eight of ten after 2000 cases.
    expect(estimate(early).high).toBeLessThan(0.95);
    expect(estimate(late).low).toBeGreaterThan(estimate(early).high);
  });
});
