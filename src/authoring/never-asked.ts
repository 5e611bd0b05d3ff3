import type { Flow, Level } from '../../shared/flow.ts';
import type { Settings } from '../core/settings.ts';
import { tablesOf } from '../core/step.ts';
import { rememberedPlans } from '../rehearsal/policies.ts';
import { runCase } from '../rehearsal/run.ts';
import { drawTruth } from '../rehearsal/truth.ts';

/** Checks that changed the plan in none of so many simulated cases: they were never asked, at the levels that may. */
export function neverAsked(flow: Flow, settings: Settings, cases: number): string[] {
  const left = new Set(flow.checks.map(({ id }) => id));
  const decide = rememberedPlans(20_000);
  const levels: readonly Level[] = ['handy', 'trained', 'new'];
  for (let i = 0; i < cases && left.size > 0; i++) {
    const level = levels[i % levels.length] as Level;
    const tables = tablesOf(flow, settings);
    const truth = drawTruth(tables, 1, i, 0, settings.community.reliability[level]);
    runCase(flow, { ...settings, decide }, truth, level, {
      turn: ({ question }) => {
        if (question?.kind === 'check') left.delete(question.step);
      },
    });
  }
  return [...left];
}
