/** As much of a Map as most need of one, without growing for ever: what was set longest ago makes room. */
export interface BoundedMap<V> {
  get(key: string): V | undefined;
  has(key: string): boolean;
  set(key: string, value: V): void;
  delete(key: string): boolean;
  clear(): void;
}

export function boundedMap<V>(most: number): BoundedMap<V> {
  const map = new Map<string, V>();
  // Kept from one time to the next: a new one would step over all that was deleted before it, thousands of places. All
  // that this one has passed is deleted, so it never comes to an end while something is left.
  let oldest = map.keys();
  return {
    get: (key) => map.get(key),
    has: (key) => map.has(key),
    set(key, value) {
      map.delete(key);
      map.set(key, value);
      if (map.size > most) map.delete(oldest.next().value as string);
    },
    delete: (key) => map.delete(key),
    clear() {
      map.clear();
      oldest = map.keys();
    },
  };
}
