/** What `work` resolves with, or after `limit` milliseconds `otherwise`. It must not reject. */
export function within<T>(limit: number, work: Promise<T>, otherwise: () => T): Promise<T> {
  return new Promise((resolve) => {
    // When the desk itself was busy for that long, the answer may have come and only wait to be read: one round more.
    const timer = setTimeout(() => setImmediate(() => resolve(otherwise())), limit);
    void work.then((value) => {
      clearTimeout(timer);
      resolve(value);
    });
  });
}
