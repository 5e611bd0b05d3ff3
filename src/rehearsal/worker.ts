import { parentPort, workerData } from 'node:worker_threads';
import { runRange } from './rehearse.ts';
import type { Task, Word } from './together.ts';

/** One core's share of a rehearsal. */

const { flow, settings, options, range } = workerData as Task;
const tell = (word: Word): void => parentPort?.postMessage(word);
tell({ results: runRange(flow, settings, options, range, () => tell({ done: 1 })) });
