import type { Compiled } from './compile.ts';

/** Everything that `compile` lets vary within one flow, one community and one level. */
export function planKey({ problem, state, steps }: Compiled): string {
  const bought = problem.steps.map((step) => step.cost.money).join();
  return [
    steps.join(),
    bought,
    state.weights.join(),
    state.done.join(),
    state.found.join(),
    state.open,
    state.charged,
    state.altered,
    state.pending.join(),
  ].join('|');
}
