import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import type { Flow } from '../../shared/flow.ts';
import type { Settings } from '../core/settings.ts';
import type { Range, RehearsalOptions, Results } from './rehearse.ts';

/** A rehearsal spread over the machine's cores. Each case depends on its own number only, so the sum is the same. */

export interface Task {
  readonly flow: Flow;
  readonly settings: Settings;
  readonly options: RehearsalOptions;
  readonly range: Range;
}

export type Word = { readonly done: number } | { readonly results: Results };

/** Fewer cases than this are not worth a second core. */
const worthwhile = 200;

/** `progress` is told how many cases are done so far. */
export async function runTogether(
  flow: Flow,
  settings: Settings,
  options: RehearsalOptions,
  progress: (done: number) => void,
): Promise<Results> {
  const workers = options.cases < worthwhile ? 1 : Math.max(1, Math.min(8, availableParallelism()));
  let done = 0;
  const parts = await Promise.all(
    Array.from({ length: workers }, (_, i) => {
      const from = Math.floor((i * options.cases) / workers);
      const to = Math.floor(((i + 1) * options.cases) / workers);
      const task: Task = { flow, settings, options, range: { from, to } };
      return new Promise<Results>((resolve, reject) => {
        const worker = new Worker(new URL('./worker.ts', import.meta.url), { workerData: task });
        worker.on('message', (word: Word) => {
          if ('results' in word) {
            resolve(word.results);
          } else {
            done += word.done;
            progress(done);
          }
        });
        worker.on('error', reject);
      });
    }),
  );
  return {
    plan: parts.flatMap((part) => part.plan),
    sheet: parts.flatMap((part) => part.sheet),
    random: parts.flatMap((part) => part.random),
  };
}
