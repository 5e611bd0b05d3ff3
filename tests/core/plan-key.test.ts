import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { parse } from 'yaml';
import { Flow } from '../../shared/flow.ts';
import type { Compiled } from '../../src/core/compile.ts';
import { planKey } from '../../src/core/plan-key.ts';
import { levelOf } from '../../src/core/safety.ts';
import type { Settings } from '../../src/core/settings.ts';
import { converse } from './converse.ts';
import { people, radio } from './example-flow.ts';
import { movesOf } from './moves.ts';
import { wild } from './wild.ts';

const television = Flow.parse(
  parse(readFileSync(join(import.meta.dirname, '../../flows/flat-panel-tv.yaml'), 'utf8')),
);

/** The numbers that a plan is made from, written out. */
const written = ({ problem, state }: Compiled): string =>
  JSON.stringify([problem, state], (_, value) => (ArrayBuffer.isView(value) ? [...(value as never)] : value));

test.each([
  ['radio', radio],
  ['television', television],
] as const)('with the %s, cases get the same key just when the plan is asked the same', (_, flow) => {
  const byKey = new Map<string, string>();
  const byWritten = new Map<string, string>();
  let again = 0;
  const { decide, ...base } = wild(7);
  const watching: Settings = {
    ...base,
    decide(compiled, kase, budget) {
      const key = `${levelOf(kase)}:${planKey(compiled)}`;
      const all = `${levelOf(kase)}:${written(compiled)}`;
      if (byKey.has(key)) again += 1;
      expect(byKey.get(key) ?? all).toBe(all);
      expect(byWritten.get(all) ?? key).toBe(key);
      byKey.set(key, all);
      byWritten.set(all, key);
      return (decide as NonNullable<Settings['decide']>)(compiled, kase, budget);
    },
  };
  const moves = fc.array(movesOf(flow, 8), { minLength: 20, maxLength: 60, size: 'max' });
  const level = fc.constantFrom(null, 'new', 'handy', 'trained');
  for (const [vouched, played] of fc.sample(fc.tuple(level, moves), { seed: 3, numRuns: 60 })) {
    const asker = vouched ? { ...people.asker, level: vouched } : people.asker;
    const { problems, log } = converse(
      flow,
      watching,
      [asker, people.mender, people.moderator, people.stranger],
      '',
      played,
    );
    if (problems.length > 0) throw new Error(log.join('\n'));
  }
  expect(byKey.size).toBeGreaterThan(100);
  expect(again).toBeGreaterThan(100);
});
