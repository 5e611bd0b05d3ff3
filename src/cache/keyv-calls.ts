import { AsyncLocalStorage } from 'node:async_hooks';
import type { Keyv } from 'keyv';

/**
 * Calls of Keyv that tell a failure from an absence. With an `error` listener, a failure of Keyv reads as undefined or
 * false; without one, a connection that breaks while nobody asks would end the process. So there is a listener, and it
 * marks the call that an error belongs to.
 */
export interface KeyvCalls {
  /** Never rejects. It may never resolve, either. */
  call<T>(work: () => Promise<T>): Promise<Answer<T>>;
  /** The last error that belonged to no call, such as a connection lost: it explains the failures that come of it. */
  outside: unknown;
}

export type Answer<T> = { readonly value: T } | { readonly failed: unknown };

interface Call {
  readonly failures: unknown[];
  /** What it started may go on, and fail later. */
  over: boolean;
}

export function keyvCalls(keyv: Keyv): KeyvCalls {
  const current = new AsyncLocalStorage<Call>();
  const calls: KeyvCalls = {
    outside: undefined,
    async call(work) {
      const mine: Call = { failures: [], over: false };
      try {
        const value = await current.run(mine, work);
        return mine.failures.length > 0 ? { failed: mine.failures[0] } : { value };
      } catch (cause) {
        return { failed: cause };
      } finally {
        mine.over = true;
      }
    },
  };
  keyv.on('error', (cause: unknown) => {
    const call = current.getStore();
    if (call && !call.over) call.failures.push(cause);
    else calls.outside = cause;
  });
  return calls;
}
