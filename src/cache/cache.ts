/**
 * The port of the cache: what can be worked out again. Losing all of it costs time, never an answer; so nothing here
 * rejects, and what comes back wrong counts as absent.
 *
 * What comes back was once put under this kind, key and version, and may be older than what was put last: a newer one may
 * still be under way, or lost. So a value says itself how far it holds (a case: the number of its last event).
 */
export interface Cache {
  /** What was put there under this key and version; undefined when it is absent, old, damaged, or not there in time. */
  get(of: CacheKind, key: string): Promise<unknown>;
  /** In the background, and lost when too much is under way; nobody waits for it. `value` is plain JSON data, read at once. */
  put(of: CacheKind, key: string, value: unknown): void;
  /**
   * Resolves when it is gone, whatever its version, together with what was put before and is still under way; or says
   * that it may not be. It takes seconds at most.
   */
  remove(of: CacheKind, key: string): Promise<'gone' | 'unsure'>;
  /** Writes what is still under way, for seconds at most. Afterwards everything is absent and nothing is put. */
  close(): Promise<void>;
}

/** Live state of a case, a plan worked out, a picture drawn. */
export type CacheKind = 'case' | 'plan' | 'picture';

/** No cache at all: everything is worked out. */
export const noCache: Cache = {
  get: async () => undefined,
  put: () => undefined,
  remove: async () => 'gone',
  close: async () => undefined,
};
