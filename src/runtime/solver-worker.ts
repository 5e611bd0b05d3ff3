import { parentPort } from 'node:worker_threads';
import { solve } from '../core/plan/plan.ts';
import type { SolverAnswer, SolverTask } from './solver.ts';

/** Plans, one after the other, away from the desk's own thread. */

parentPort?.on('message', ({ id, problem, state, budget }: SolverTask) => {
  const answer: SolverAnswer = { id, plan: solve(problem, state, budget) };
  parentPort?.postMessage(answer);
});
