import type { Inbound } from '../shared/inbound.ts';
import type { Outbound } from '../shared/outbound.ts';

/**
 * What the desk notices about itself, for logs and metrics: never what people wrote. A closed union, told apart by `kind`.
 * Times and lengths of time are in milliseconds.
 */
export type Notice =
  | {
      readonly kind: 'turn';
      readonly thread: string;
      readonly inbound: Inbound['kind'];
      /** `seen`: it had come before; `busy`: refused, since too much was waiting. */
      readonly result: 'taken' | 'seen' | 'busy';
      readonly took: number;
    }
  | { readonly kind: 'turn-failed'; readonly thread: string; readonly cause: unknown }
  | { readonly kind: 'plan'; readonly from: 'memory' | 'cache' | 'worked-out'; readonly took: number }
  | { readonly kind: 'timer'; readonly thread: string; readonly late: number }
  | {
      readonly kind: 'delivered';
      readonly thread: string;
      readonly outbound: Outbound['kind'];
      readonly waited: number;
    }
  | {
      readonly kind: 'delivery-failed';
      readonly thread: string;
      readonly message: string;
      readonly tries: number;
      readonly again: number;
      readonly cause: unknown;
    }
  | {
      readonly kind: 'set-aside';
      readonly thread: string;
      readonly message: string;
      readonly outbound: Outbound['kind'];
      readonly cause: unknown;
    }
  | {
      readonly kind: 'cache';
      readonly of: 'case' | 'plan' | 'picture';
      /** `bad`: what came back was not what was put there; `failed`: nothing came back in time; `shut`: not asked. */
      readonly result: 'hit' | 'miss' | 'bad' | 'failed' | 'shut';
    }
  | { readonly kind: 'cache-breaker'; readonly open: boolean }
  | { readonly kind: 'problem'; readonly what: string; readonly cause?: unknown };

export type Notify = (notice: Notice) => void;
