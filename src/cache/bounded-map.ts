/** As much of a Map as Keyv needs of a store, without growing for ever: what was set longest ago makes room. */
export interface BoundedMap<V> {
  get(key: string): V | undefined;
  has(key: string): boolean;
  set(key: string, value: V): void;
  delete(key: string): boolean;
  clear(): void;
}

export function boundedMap<V>(most: number): BoundedMap<V> {
  const map = new Map<string, V>();
  return {
    get: (key) => map.get(key),
    has: (key) => map.has(key),
    set(key, value) {
      map.delete(key);
      map.set(key, value);
      for (const oldest of map.keys()) {
        if (map.size <= most) break;
        map.delete(oldest);
      }
    },
    delete: (key) => map.delete(key),
    clear: () => map.clear(),
  };
}
