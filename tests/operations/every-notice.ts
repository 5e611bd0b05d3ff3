import type { Notice } from '../../src/notice.ts';

/** One of each kind and result, with the same cause where there is one; `tsc` misses a kind that is left out. */
export function everyNotice(cause: unknown): readonly Notice[] {
  const thread = 'terminal:7';
  const byKind: { readonly [K in Notice['kind']]: readonly Extract<Notice, { kind: K }>[] } = {
    turn: [
      { kind: 'turn', thread, inbound: 'said', result: 'taken', took: 12.5 },
      { kind: 'turn', thread, inbound: 'chose', result: 'seen', took: 0.5 },
      { kind: 'turn', thread, inbound: 'said', result: 'busy', took: 0 },
    ],
    'turn-failed': [{ kind: 'turn-failed', thread, cause }],
    plan: [
      { kind: 'plan', from: 'memory', took: 0.1 },
      { kind: 'plan', from: 'cache', took: 2 },
      { kind: 'plan', from: 'worked-out', took: 700 },
    ],
    timer: [{ kind: 'timer', thread, late: 3_700_000 }],
    delivered: [{ kind: 'delivered', thread, outbound: 'ask', waited: 250 }],
    'delivery-failed': [{ kind: 'delivery-failed', thread, message: 'm1', tries: 2, again: 4000, cause }],
    'set-aside': [{ kind: 'set-aside', thread, message: 'm2', outbound: 'say', cause }],
    cache: [
      { kind: 'cache', of: 'case', result: 'hit' },
      { kind: 'cache', of: 'plan', result: 'miss' },
      { kind: 'cache', of: 'plan', result: 'bad' },
      { kind: 'cache', of: 'case', result: 'failed' },
      { kind: 'cache', of: 'case', result: 'shut' },
    ],
    'cache-breaker': [
      { kind: 'cache-breaker', open: true },
      { kind: 'cache-breaker', open: false },
    ],
    problem: [
      { kind: 'problem', what: 'The database closed a connection', cause },
      { kind: 'problem', what: 'The clock was set back' },
    ],
  };
  return Object.values(byKind).flat();
}
