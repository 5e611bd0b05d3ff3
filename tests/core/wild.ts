import type { Choice, Plan } from '../../src/core/plan/problem.ts';
import type { Settings } from '../../src/core/settings.ts';
import { settings } from './example-flow.ts';

/**
 * A plan that knows no rules: any step that anybody could reach, or a test with nothing to test. The gate trusts no
 * plan, so it has to hold against this one; and it goes deeper than a thrifty one.
 */
export const wild = (salt: number): Settings => ({
  ...settings,
  decide: ({ problem }, kase): Plan => {
    const draw = Math.imul(kase.answers.length * 31 + salt + 7, 2_654_435_761) >>> 0;
    const steps = problem.steps.length;
    const pick = draw % (steps * 9 + 1);
    const choice: Choice =
      steps === 0
        ? { kind: 'stop', stop: draw % 2 }
        : pick < steps * 9
          ? { kind: 'step', step: pick % steps }
          : { kind: 'test' };
    const forecast = { cost: 0, minutes: 0, wait: 0, money: 0, chance: 0 };
    return { choice, after: [], rivals: [], ...forecast, exact: false, nodes: 0 };
  },
});
