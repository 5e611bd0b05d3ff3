import type { Case } from '../../shared/case.ts';
import { choiceWords } from '../core/explain.ts';
import { look } from '../core/next.ts';
import type { Settings } from '../core/settings.ts';
import type { Tables } from '../core/tables.ts';
import { chanceWords, minutesWords, moneyWords } from '../core/wording.ts';
import { foresee, waysOn } from './foresee.ts';

/** Belief and plan for answers that an author thought of. */
export function explained(kase: Case, tables: Tables, settings: Settings): string {
  const { flow } = tables;
  const { community } = settings;
  const { plan, compiled } = look(kase, tables, settings, 0, false).plan();
  const now = foresee(kase, tables, settings);
  const name = (fault: string): string => flow.faults.find(({ id }) => id === fault)?.name ?? fault;
  const words = (choice: typeof plan.choice): string => choiceWords(choice, compiled.steps, flow);
  const lines = [
    'Belief',
    ...now.belief
      .filter(({ share }, i) => i < 10 || share >= 0.02)
      .map(({ fault, share }) => `  ${(100 * share).toFixed(1).padStart(5)} %  ${fault}: ${name(fault)}`),
    '',
    `Next: ${words(plan.choice)}${now.step === null ? '' : ` (${now.step})`}`,
    `  To expect from here: ${moneyWords(plan.cost, community)} in all; ${minutesWords(plan.minutes)} of work, ${minutesWords(plan.wait)} of waiting, ${moneyWords(plan.money, community)} for parts or people; works again ${chanceWords(plan.chance)}.`,
    `  ${plan.exact ? 'Everything was searched.' : 'Searched as far as the budget goes.'}`,
  ];
  const ways = waysOn(kase, now.step, tables, settings);
  if (ways.length > 0) {
    lines.push('', 'After it');
    for (const way of ways.filter(({ share }) => share >= 0.005)) {
      const then = foresee(way.kase, tables, settings);
      const [top] = then.belief;
      lines.push(
        `  ${(100 * way.share).toFixed(1).padStart(5)} %  “${way.label}”: most likely ${top?.fault} ${chanceWords(top?.share ?? 0)}; then ${then.step ?? 'it stops'}`,
      );
    }
  }
  lines.push('', 'Instead of it, in all');
  for (const { choice, cost } of plan.rivals)
    lines.push(`  ${moneyWords(cost, community).padStart(9)}  ${words(choice)}`);
  return lines.join('\n');
}
