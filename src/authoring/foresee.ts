import type { Case, Unnumbered } from '../../shared/case.ts';
import { believe, evidence, mix } from '../core/infer.ts';
import { look, type View } from '../core/next.ts';
import type { Choice, Plan } from '../core/plan/problem.ts';
import { fold, number } from '../core/reduce.ts';
import { levelOf } from '../core/safety.ts';
import type { Settings } from '../core/settings.ts';
import type { Tables } from '../core/tables.ts';

/** What the plan would do in a case that is only thought of, and after each answer. */

export interface Foreseen {
  readonly choice: Choice;
  /** The flow's id; null where the plan stops. */
  readonly step: string | null;
  readonly plan: Plan;
  /** Best first. */
  readonly belief: readonly { readonly fault: string; readonly share: number }[];
}

export interface Way {
  /** In the words of the answer. */
  readonly label: string;
  readonly share: number;
  readonly kase: Case;
}

const viewOf = (kase: Case, tables: Tables, settings: Settings): View =>
  look(kase, tables, settings, 0, false);

export function foresee(kase: Case, tables: Tables, settings: Settings): Foreseen {
  const { plan, compiled } = viewOf(kase, tables, settings).plan();
  const step = plan.choice.kind === 'step' ? (compiled.steps[plan.choice.step] ?? null) : null;
  return { choice: plan.choice, step, plan, belief: beliefOf(kase, tables, settings) };
}

export function beliefOf(kase: Case, tables: Tables, settings: Settings): Foreseen['belief'] {
  const { faults } = believe(tables.prior, evidence(tables, kase.answers, settings.community.reliability));
  return tables.faults
    .map((fault, f) => ({ fault, share: faults[f] as number }))
    .sort((a, b) => b.share - a.share || (a.fault < b.fault ? -1 : 1));
}

/** What may come of a step, likeliest first, and the case after it. Empty where it stops. */
export function waysOn(kase: Case, step: string | null, tables: Tables, settings: Settings): Way[] {
  const { flow } = tables;
  const belief = beliefOf(kase, tables, settings);
  const share = (row: Float64Array): number =>
    belief.reduce((sum, one) => sum + one.share * (row[tables.faults.indexOf(one.fault)] as number), 0);
  const after = (...events: readonly Unnumbered[]): Case => fold(kase, number(kase, events));
  const stamp = { by: kase.asker, at: 0, level: levelOf(kase) };
  const check = flow.checks.find(({ id }) => id === step);
  const table = check && tables.checks.get(check.id);
  if (check && table) {
    const labels = check.outcomes ?? check.reading?.bands ?? [];
    const trust = settings.community.reliability[stamp.level];
    return labels
      .map(({ id, label }, i) => ({
        label,
        share: share(mix(table.rows[i] as Float64Array, trust, 1 / labels.length)),
        kase: after({ ...stamp, kind: 'answered', step: check.id, outcome: id }),
      }))
      .sort((a, b) => b.share - a.share);
  }
  const remedy = flow.remedies.find(({ id }) => id === step);
  if (!remedy) return [];
  const cured = share(tables.cures.get(remedy.id) as Float64Array);
  return [
    {
      label: 'it does not work yet',
      share: 1 - cured,
      kase: after(
        { ...stamp, kind: 'remedy-done', step: remedy.id },
        { ...stamp, kind: 'tested', result: 'no', remedies: [remedy.id] },
      ),
    },
  ];
}
