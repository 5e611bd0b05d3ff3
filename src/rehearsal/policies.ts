import type { Case } from '../../shared/case.ts';
import type { Flow } from '../../shared/flow.ts';
import { stopPeople } from '../core/compile.ts';
import { answerTo, timesDone } from '../core/history.ts';
import { solve } from '../core/plan/plan.ts';
import type { Choice, Plan } from '../core/plan/problem.ts';
import { isPossible, possible } from '../core/plan/rules.ts';
import { planKey } from '../core/plan-key.ts';
import type { Decide } from '../core/settings.ts';
import { bandOf, type Tables } from '../core/tables.ts';
import { random } from './random.ts';

/** Three ways to choose the next step, each under the same gate and the same prices. */

/** The plan itself, remembered for cases that stand alike: it is a function of what it is given. */
export function rememberedPlans(limit: number): Decide {
  const known = new Map<string, Plan>();
  return (compiled, _kase, budget) => {
    const key = planKey(compiled);
    const plan = known.get(key);
    if (plan) return plan;
    const fresh = solve(compiled.problem, compiled.state, budget);
    if (known.size >= limit) known.clear();
    known.set(key, fresh);
    return fresh;
  };
}

const without = (choice: Choice): Plan => ({
  choice,
  after: [],
  rivals: [],
  cost: 0,
  minutes: 0,
  wait: 0,
  money: 0,
  chance: 0,
  exact: false,
  nodes: 0,
});
const stop = without({ kind: 'stop', stop: stopPeople });

/**
 * The flow's printed sheet: its steps in order, jumps followed, steps skipped that this person may not or cannot do.
 * What was done inside is tried out before power is needed, before a part is bought, and at the end.
 */
export function sheetPolicy(flow: Flow, tables: Tables): Decide {
  const entries = flow.sheet.map((entry) => (typeof entry === 'string' ? { step: entry, jumps: [] } : entry));
  return (compiled, kase) => {
    const { problem, state, steps } = compiled;
    const reached = position(entries, kase, tables);
    for (let at = reached; at < entries.length; at++) {
      const index = steps.indexOf(entries[at]?.step ?? '');
      const choice: Choice = { kind: 'step', step: index };
      if (index < 0) continue;
      const step = problem.steps[index];
      const buys = step?.kind === 'remedy' && step.cost.money > 0;
      if (isPossible(problem, state, choice) && !(buys && state.pending.length > 0)) return without(choice);
      const done = (state.done[index] as number) >= (step?.times ?? 1);
      // Something stands in the way that trying out would lift.
      if (!done && state.pending.length > 0) return without({ kind: 'test' });
    }
    return state.pending.length > 0 ? without({ kind: 'test' }) : stop;
  };
}

type Entry = {
  readonly step: string;
  readonly jumps: readonly { readonly outcome: string; readonly to: string }[];
};

/** The first entry not yet done, after the last jump taken. */
function position(entries: readonly Entry[], kase: Case, tables: Tables): number {
  let at = 0;
  while (at < entries.length) {
    const entry = entries[at] as Entry;
    const answer = answerTo(kase, entry.step);
    if (answer === null && timesDone(kase, entry.step) === 0) {
      // Skipped ones lie behind anything that was done later in the sheet.
      const later = entries
        .slice(at + 1)
        .some(({ step }) => answerTo(kase, step) || timesDone(kase, step) > 0);
      if (!later) return at;
    }
    const table = tables.checks.get(entry.step);
    const outcome =
      answer?.kind === 'answered'
        ? answer.outcome
        : answer?.kind === 'read' && table?.reading
          ? table.outcomes[bandOf(table.reading, answer.value)]
          : undefined;
    const jump = entry.jumps.find((candidate) => candidate.outcome === outcome);
    const to = jump ? entries.findIndex(({ step }) => step === jump.to) : -1;
    at = to > at ? to : at + 1;
  }
  return at;
}

/** Any possible step, evenly; people when none is left. The draw holds until something was answered, through all that prepares it. */
export function chancePolicy(seed: number, index: number): Decide {
  return ({ problem, state }, kase) => {
    const moves = possible(problem, state).filter((choice) => choice.kind !== 'stop');
    if (moves.length === 0) return stop;
    const draw = random(seed, index, 'policy', kase.answers.length);
    return without(moves[Math.floor(draw.next() * moves.length)] as Choice);
  };
}
