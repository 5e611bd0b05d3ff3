import { describe, expect, it } from 'vitest';
import { exampleCommunity, parseCommunity } from '../../src/config.ts';
import { defaultBudget } from '../../src/core/plan/plan.ts';
import { readText } from '../../src/files/text-file.ts';
import { readFlows } from '../../src/flows.ts';
import { flowsDir } from '../../src/flows-command.ts';
import { rehearsal, rehearse, runRange } from '../../src/rehearsal/rehearse.ts';
import { runTogether } from '../../src/rehearsal/together.ts';
import { radio, settings } from '../core/example-flow.ts';

describe('a rehearsal', () => {
  const options = { cases: 240, seed: 5, level: 'handy', blur: 0.2 } as const;

  it('comes to the same on one core and on all of them, with every case told of once', async () => {
    const told: number[] = [];
    const together = await runTogether(radio, settings, options, (done) => told.push(done));
    expect(together).toEqual(runRange(radio, settings, options, { from: 0, to: options.cases }));
    expect(told).toEqual(Array.from({ length: options.cases }, (_, i) => i + 1));
  });

  it('is the same for the same seed and another for another', () => {
    const few = { ...options, cases: 30 };
    expect(rehearse(radio, settings, few)).toEqual(rehearse(radio, settings, few));
    expect(rehearse(radio, settings, { ...few, seed: 6 })).not.toEqual(rehearse(radio, settings, few));
  });

  it('reports each figure with its interval, for the plan, the sheet and chance', () => {
    const result = rehearse(radio, settings, { ...options, cases: 20 });
    const keys = [
      'cases',
      'solved',
      'cost',
      'minutes',
      'questions',
      'waits',
      'wastedParts',
      'aboveLevel',
    ] as const;
    for (const report of [result, result.sheet, result.random]) {
      for (const key of keys) {
        const { mean, low, high } = report[key];
        expect(low).toBeLessThanOrEqual(mean);
        expect(mean).toBeLessThanOrEqual(high);
      }
      expect(report.cases.mean).toBe(20);
    }
  });
});

describe('the television', async () => {
  const source = await readText(exampleCommunity);
  const parsed = parseCommunity(source as string, 'example');
  const read = await readFlows(flowsDir);
  if ('problems' in parsed || 'problems' in read)
    throw new Error('the example community or a flow has problems');
  const flow = read.flows.find((one) => one.flow === 'flat-panel-tv');
  if (!flow) throw new Error('no television');
  // A smaller budget than in earnest: what is checked here does not depend on how far the plan looks.
  const real = { community: parsed.community, budget: 200_000 };

  it.each(['new', 'handy', 'trained'] as const)('asks nothing above the level %s', (level) => {
    const result = rehearsal(runRange(flow, real, { seed: 2, level, blur: 0.2 }, { from: 0, to: 60 }));
    for (const report of [result, result.sheet, result.random]) expect(report.aboveLevel.mean).toBe(0);
    // A rehearsal that asks nothing inside would pass this without having tried.
    if (level !== 'new') expect(result.random.minutes.mean).toBeGreaterThan(100);
  });

  it('is cheaper by the plan than by its printed sheet', () => {
    const result = rehearsal(
      runRange(flow, real, { seed: 2, level: 'trained', blur: 0 }, { from: 0, to: 100 }),
    );
    expect(result.cost.mean).toBeLessThan(result.sheet.cost.mean);
    expect(result.solved.mean).toBeGreaterThan(0.8);
  });
});

describe('the cordless vacuum cleaner', async () => {
  const read = await readFlows(flowsDir);
  const source = await readText(exampleCommunity);
  const parsed = parseCommunity(source as string, 'example');
  const flow = 'flows' in read ? read.flows.find((one) => one.flow === 'cordless-vacuum') : undefined;
  if (!flow || 'problems' in parsed) throw new Error('the example community or a flow has problems');

  // Found among 7,500: with the cover on, a step behind it was wanted; with the cover off, one in front of it.
  it.each([
    { seed: 2, index: 1146 },
    { seed: 3, index: 229 },
  ])('ends in case $index of seed $seed', ({ seed, index }) => {
    const real = { community: parsed.community, budget: defaultBudget };
    const options = { seed, level: 'handy', blur: 0.2 } as const;
    const { plan } = runRange(flow, real, options, { from: index, to: index + 1 });
    expect(plan[0]?.questions).toBeLessThan(60);
  });
});
