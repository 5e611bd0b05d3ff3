import type { Case } from '../../shared/case.ts';
import type { Settings } from '../core/settings.ts';
import type { Tables } from '../core/tables.ts';
import type { TreeNode } from '../pictures/tree.ts';
import { foresee, waysOn } from './foresee.ts';

/** Answers rarer than this are left out, and said to be. */
const rare = 0.05;

/** The first steps of the plan, `deep` steps down. */
export function planTree(kase: Case, tables: Tables, settings: Settings, deep: number): TreeNode {
  const { flow } = tables;
  const { step, choice, belief } = foresee(kase, tables, settings);
  const named = flow.checks.find(({ id }) => id === step) ?? flow.remedies.find(({ id }) => id === step);
  const [top] = belief;
  const fault = flow.faults.find(({ id }) => id === top?.fault);
  const title =
    named?.name ??
    (choice.kind === 'stop' && choice.stop === 1 ? 'Better to replace it' : 'People take over');
  const ways = deep > 1 ? waysOn(kase, step, tables, settings) : [];
  return {
    title,
    kind: named ? (flow.remedies.some(({ id }) => id === step) ? 'do' : 'ask') : 'stop',
    note: top && fault ? `${fault.name}, ${Math.round(100 * top.share)} %` : '',
    branches: ways
      .filter(({ share }) => share >= rare)
      .map((way) => ({
        label: way.label,
        share: way.share,
        node: planTree(way.kase, tables, settings, deep - 1),
      })),
  };
}
