import { keyvStorageCapability } from 'keyv';

/** A store for Keyv that does as it should until it is told otherwise. */
export function oddStore() {
  const map = new Map<string, unknown>();
  const listeners: ((cause: unknown) => void)[] = [];
  const store = {
    map,
    /** What was asked of it, in order, as `get KEY`. */
    asked: [] as string[],
    mood: 'fine' as 'fine' | 'hangs' | 'rejects' | 'throws' | 'reports',
    /** Milliseconds before it does as its mood has it; hangs that are `released` go on from there. */
    delay: 0,
    /** What `get` makes of what it finds. */
    lie: (found: unknown, _key: string): unknown => found,
    release(): void {},
    on(event: string, listener: (cause: unknown) => void) {
      if (event === 'error') listeners.push(listener);
    },
    /** As a connection does that breaks while nobody asks. */
    breaks(cause: unknown) {
      for (const listener of listeners) listener(cause);
    },
    get: (key: string) => act(`get ${key}`, () => store.lie(map.get(key), key), undefined),
    set: (key: string, value: unknown) => act(`set ${key}`, () => map.set(key, value) === map, false),
    delete: (key: string) => act(`delete ${key}`, () => map.delete(key), false),
    has: (key: string) => act(`has ${key}`, () => map.has(key), false),
    clear: () => act('clear', () => map.clear(), undefined),
    hasMany: (keys: string[]) => Promise.all(keys.map((key) => store.has(key))),
    getMany: (keys: string[]) => Promise.all(keys.map((key) => store.get(key))),
    setMany: (entries: { key: string; value: unknown }[]) =>
      Promise.all(entries.map(({ key, value }) => store.set(key, value))),
    deleteMany: (keys: string[]) => Promise.all(keys.map((key) => store.delete(key))),
    disconnect: () => act('disconnect', () => undefined, undefined),
  };
  let released = new Promise<void>(() => undefined);
  const renew = (): void => {
    released = new Promise((resolve) => {
      store.release = () => {
        resolve();
        renew();
      };
    });
  };
  renew();

  function act<T>(what: string, work: () => T, failed: T): Promise<T> {
    store.asked.push(what);
    if (store.mood === 'throws') throw new Error(`the store throws at ${what}`);
    const mood = store.mood;
    const go = async (): Promise<T> => {
      if (store.delay > 0) await new Promise((resolve) => setTimeout(resolve, store.delay));
      if (mood === 'hangs') await released;
      if (mood === 'rejects') throw new Error(`the store rejects ${what}`);
      if (mood === 'reports') {
        // As the adapter for Redis does: an error event, and an answer as if there were nothing.
        store.breaks(new Error(`the store reports ${what}`));
        return failed;
      }
      return work();
    };
    return go();
  }
  return Object.assign(store, { capabilities: keyvStorageCapability(store) });
}
