import { Worker } from 'node:worker_threads';
import { solve } from '../core/plan/plan.ts';
import type { Plan, Problem, ProblemState } from '../core/plan/problem.ts';
import type { Solve } from './plans.ts';

/** Where plans are worked out. */

/** In this thread: quickest to begin with, but everything else waits. */
export const solveHere: Solve = async (problem, state, budget) => solve(problem, state, budget);

export interface Solver {
  readonly solve: Solve;
  stop(): Promise<void>;
}

export interface SolverTask {
  readonly id: number;
  readonly problem: Problem;
  readonly state: ProblemState;
  readonly budget: number;
}
export type SolverAnswer = { readonly id: number; readonly plan: Plan };

interface Asked {
  readonly task: SolverTask;
  readonly resolve: (plan: Plan) => void;
  readonly reject: (cause: unknown) => void;
  readonly deaths: number;
}

/** In a thread of its own, begun with the first plan; when that thread dies, what it was asked is asked of a new one. */
export function workerSolver(): Solver {
  let worker: Worker | null = null;
  let count = 0;
  const asked = new Map<number, Asked>();

  function running(): Worker {
    if (worker) return worker;
    const fresh = new Worker(new URL('./solver-worker.ts', import.meta.url));
    fresh.unref();
    fresh.on('message', ({ id, plan }: SolverAnswer) => {
      asked.get(id)?.resolve(plan);
      asked.delete(id);
      if (asked.size === 0) fresh.unref();
    });
    fresh.on('error', () => undefined);
    fresh.on('exit', () => {
      if (worker === fresh) worker = null;
      for (const [id, one] of asked) {
        // Whatever kills the worker twice is worked out here, where its error shows.
        if (one.deaths > 0) {
          asked.delete(id);
          solveHere(one.task.problem, one.task.state, one.task.budget).then(one.resolve, one.reject);
        } else {
          asked.set(id, { ...one, deaths: 1 });
          send(one.task);
        }
      }
    });
    worker = fresh;
    return fresh;
  }

  function send(task: SolverTask): void {
    const to = running();
    to.ref();
    to.postMessage(task);
  }

  return {
    solve: (problem, state, budget) =>
      new Promise((resolve, reject) => {
        const task = { id: ++count, problem, state, budget };
        asked.set(task.id, { task, resolve, reject, deaths: 0 });
        send(task);
      }),
    async stop() {
      const last = worker;
      worker = null;
      asked.clear();
      await last?.terminate();
    },
  };
}
