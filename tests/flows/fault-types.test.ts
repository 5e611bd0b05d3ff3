import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { parse } from 'yaml';
import { z } from 'zod';
import { flowOf } from './library.ts';

/**
 * The flows' weights against what volunteers wrote down: counts by fault type of the Open Repair Data (Open Repair Alliance,
 * aggregated records and fault types, CC BY-SA 4.0; counted over 121 692 rows). Rows that name no type are left out.
 */
const vacuum = {
  'Cable/cord': 568,
  Motor: 393,
  'Power/battery': 361,
  'Internal damage': 309,
  Blockage: 297,
  'Button/switch': 240,
  Filter: 123,
  'External damage': 80,
  Overheating: 70,
  'Hose/tube/pipe': 70,
  Brush: 41,
  'Wheels/rollers': 39,
  'Dustbag/canister': 39,
  'Liquid damage': 23,
  'Accessories/attachments': 13,
  'Display/LED': 8,
};
const laptop = {
  Performance: 398,
  'Power/battery': 316,
  Configuration: 295,
  'Integrated screen': 257,
  'Internal storage': 184,
  'Operating system': 177,
  Boot: 171,
  'Ports/slots/connectors': 127,
  Overheating: 107,
  'Integrated keyboard': 106,
  'Case/chassis': 75,
  'System board': 72,
  'Internal damage': 59,
  'Virus/malware': 57,
  'Integrated media component': 27,
  'Integrated pointing device': 25,
  'Integrated optical drive': 23,
};

/** How each fault was filed: see the comments in the files. */
const Mapping = z.object({
  types: z.record(z.string(), z.record(z.string(), z.string())),
  share: z.record(z.string(), z.number()).optional(),
});

/** Average ranks, so that equal values share theirs. */
function ranks(values: readonly number[]): number[] {
  return values.map((value) => {
    const below = values.filter((other) => other < value).length;
    const same = values.filter((other) => other === value).length;
    return below + (same + 1) / 2;
  });
}

/** Spearman's: Pearson's of the ranks. */
function rankCorrelation(a: readonly number[], b: readonly number[]): number {
  const [x, y] = [ranks(a), ranks(b)];
  const mean = (list: readonly number[]): number => list.reduce((sum, one) => sum + one, 0) / list.length;
  const [mx, my] = [mean(x), mean(y)];
  const sum = (f: (i: number) => number): number => x.reduce((total, _, i) => total + f(i), 0);
  const dx = (i: number): number => (x[i] as number) - mx;
  const dy = (i: number): number => (y[i] as number) - my;
  return sum((i) => dx(i) * dy(i)) / Math.sqrt(sum((i) => dx(i) ** 2) * sum((i) => dy(i) ** 2));
}

test('the correlation is Spearman’s: a worked example with ties', () => {
  // Kendall and Gibbons, Rank Correlation Methods, give the method; the figures are worked by hand: ranks 1 2.5 2.5 4.
  expect(rankCorrelation([1, 2, 2, 9], [10, 20, 30, 40])).toBeCloseTo(4.5 / Math.sqrt(4.5 * 5), 12);
  expect(rankCorrelation([1, 2, 3], [3, 2, 1])).toBeCloseTo(-1, 12);
});

test.each([
  ['vacuum', vacuum],
  ['laptop', laptop],
] as const)('the commonest faults of %s flows are the commonest in the data', (name, counts) => {
  const file = join(import.meta.dirname, 'fault-types', `${name}.yaml`);
  const { types, share = {} } = Mapping.parse(parse(readFileSync(file, 'utf8')));
  const weights = new Map<string, number>();
  for (const [id, mapped] of Object.entries(types)) {
    const flow = flowOf(id);
    const total = flow.faults.reduce((sum, { weight }) => sum + weight, 0);
    for (const { id: fault, weight } of flow.faults) {
      const type = mapped[fault];
      // Every fault but the last resort is filed somewhere.
      if (fault !== 'something-else') expect([id, fault, type]).toEqual([id, fault, expect.any(String)]);
      if (type) weights.set(type, (weights.get(type) ?? 0) + ((share[id] ?? 1) * weight) / total);
    }
    for (const fault of Object.keys(mapped))
      expect(flow.faults.map(({ id: known }) => known)).toContain(fault);
  }
  const both = Object.keys(counts).filter((type) => weights.has(type));
  expect(both.length).toBeGreaterThanOrEqual(10);
  const correlation = rankCorrelation(
    both.map((type) => weights.get(type) as number),
    both.map((type) => counts[type as keyof typeof counts]),
  );
  expect(correlation).toBeGreaterThanOrEqual(0.7);
});
