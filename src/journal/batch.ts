/**
 * Work that comes in while a write is under way is written together with the next one, so that a busy desk waits for the
 * disk once for many turns.
 */
export interface Batches<Item, Result> {
  /** Resolves when the item is written. */
  add(item: Item): Promise<Result>;
  /** Writes although nothing was added: for what rides along. */
  nudge(): Promise<void>;
  /** Everything written that was added so far. */
  drained(): Promise<void>;
}

export interface BatchOptions<Item, Result> {
  /** Items in one write. */
  readonly size: number;
  /** Writes under way at the same time. */
  readonly writers: number;
  readonly write: (items: readonly Item[]) => Promise<readonly Result[]>;
}

interface Pending<Item, Result> {
  readonly item: Item;
  readonly resolve: (result: Result) => void;
  readonly reject: (cause: unknown) => void;
}

export function createBatches<Item, Result>({
  size,
  writers,
  write,
}: BatchOptions<Item, Result>): Batches<Item, Result> {
  let queue: Pending<Item, Result>[] = [];
  const under = new Set<Promise<void>>();
  let planned = false;

  function plan(): void {
    if (planned || under.size >= writers) return;
    planned = true;
    // Whatever else is ready at this moment comes along.
    setImmediate(() => {
      planned = false;
      if (queue.length > 0 && under.size < writers) start();
      if (queue.length > 0) plan();
    });
  }

  function start(): Promise<void> {
    const batch = queue.slice(0, size);
    queue = queue.slice(size);
    const run = write(batch.map(({ item }) => item))
      .then(
        (results) => {
          for (const [i, { resolve }] of batch.entries()) resolve(results[i] as Result);
        },
        (cause) => {
          for (const { reject } of batch) reject(cause);
          if (batch.length === 0) throw cause;
        },
      )
      .finally(() => {
        under.delete(settled);
        if (queue.length > 0) plan();
      });
    const settled = run.catch(() => undefined);
    under.add(settled);
    return run;
  }

  return {
    add: (item) =>
      new Promise((resolve, reject) => {
        queue.push({ item, resolve, reject });
        plan();
      }),
    nudge: () => start(),
    async drained() {
      while (queue.length > 0 || under.size > 0) await Promise.race([...under, new Promise(setImmediate)]);
    },
  };
}
