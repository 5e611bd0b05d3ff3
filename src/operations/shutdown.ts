import { constants } from 'node:os';
import type { Notify } from '../notice.ts';

/** Stopping in order and in time: no new work, finish or give back what there is, close, exit. */
export interface StopStep {
  readonly name: string;
  /** `late` aborts when the step's time is over and the next one begins. */
  run(late: AbortSignal): Promise<void> | void;
  /** Once this is done, what earlier steps left unfinished is safe: others take it up. */
  readonly releases?: true;
}

export type StopSignal = 'SIGTERM' | 'SIGINT';

export interface StopOptions {
  /** Time for all steps together, milliseconds. */
  readonly within?: number;
  /** Another signal within so many milliseconds is the same one: npm passes on what the terminal sent already. */
  readonly same?: number;
  readonly signals?: {
    on(signal: StopSignal, heard: (signal: StopSignal) => void): unknown;
    off(signal: StopSignal, heard: (signal: StopSignal) => void): unknown;
  };
  readonly exit?: (code: number) => void;
  /** Told of steps that failed or took too long. */
  readonly notify?: Notify;
}

export interface Stopping {
  /** Stops without a signal, as at the end of a conversation; resolves after `exit`. */
  stop(): Promise<void>;
  /** Signals do again what they would do without all this. */
  forget(): void;
}

/** No step takes so much time that a later one is left less than this, milliseconds. */
const least = 500;

/**
 * At the first signal the steps run one after the other. Exit code 0: they finished, or what they left unfinished was
 * released by a later one; 1: neither. A second signal stops at once, with 128 + its number as shells have it.
 */
export function onStop(steps: readonly StopStep[], options: StopOptions = {}): Stopping {
  const { within = 4500, same = 500, signals = process, notify = () => undefined } = options;
  const { exit = (code: number): void => process.exit(code) } = options;
  let stopping: Promise<void> | null = null;
  let heardAt: number | null = null;
  let over = false;

  function end(code: number): void {
    if (over) return;
    over = true;
    forget();
    exit(code);
  }
  function heard(signal: StopSignal): void {
    const now = performance.now();
    if (heardAt !== null && now - heardAt >= same) end(128 + constants.signals[signal]);
    heardAt ??= now;
    void stop();
  }
  function forget(): void {
    signals.off('SIGTERM', heard);
    signals.off('SIGINT', heard);
  }
  function stop(): Promise<void> {
    stopping ??= run().then((safe) => end(safe ? 0 : 1));
    return stopping;
  }

  async function run(): Promise<boolean> {
    const until = performance.now() + within;
    const share = Math.min(least, within / (2 * steps.length));
    let safe = true;
    for (const [i, step] of steps.entries()) {
      const kept = share * (steps.length - 1 - i);
      const done = await finishes(step, until - kept - performance.now(), notify);
      if (!done) safe = false;
      else if (step.releases) safe = true;
    }
    return safe;
  }

  signals.on('SIGTERM', heard);
  signals.on('SIGINT', heard);
  return { stop, forget };
}

/** Whether the step was done in that time. It is begun in any case. */
async function finishes(step: StopStep, time: number, notify: Notify): Promise<boolean> {
  const late = new AbortController();
  let timer: NodeJS.Timeout | undefined;
  const over = new Promise<'late'>((resolve) => {
    // It keeps the program alive: a step may wait for nothing that does.
    timer = setTimeout(resolve, Math.max(0, time), 'late');
  });
  try {
    const work = (async () => step.run(late.signal))();
    if ((await Promise.race([work, over])) !== 'late') return true;
    late.abort();
    notify({ kind: 'problem', what: `Stopping: ${step.name} took too long and was left behind` });
  } catch (cause) {
    notify({ kind: 'problem', what: `Stopping: ${step.name} failed`, cause });
  } finally {
    clearTimeout(timer);
  }
  return false;
}
