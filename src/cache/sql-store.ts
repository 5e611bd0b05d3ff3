import { type KeyvStorageCapability, keyvStorageCapability } from 'keyv';
import type { Database } from '../journal/tables.ts';

/**
 * Keyv's storage in the `cache` table of the journal's database, with the same queries on both. Each commit waits for the
 * disk, so writes are held back and written together; what is held back when the process dies is lost, as a cache may be.
 */
export interface SqlStore {
  readonly capabilities: KeyvStorageCapability;
  get(key: string): Promise<string | undefined>;
  getMany(keys: readonly string[]): Promise<(string | undefined)[]>;
  has(key: string): Promise<boolean>;
  hasMany(keys: readonly string[]): Promise<boolean[]>;
  /** Held back; read at once. Rejects when too much is waiting to be written. `expires` is in milliseconds since 1970. */
  set(key: string, value: unknown, expires?: number): Promise<boolean>;
  setMany(entries: readonly { key: string; value: unknown; expires?: number }[]): Promise<boolean[]>;
  /** Not held back: when it resolves, the row is gone. */
  delete(key: string): Promise<boolean>;
  deleteMany(keys: readonly string[]): Promise<boolean[]>;
  clear(): Promise<void>;
  /** Writes what is held back. Rejects when the database refuses, and then that portion is lost. */
  flush(): Promise<void>;
  /** Takes out what has expired among the next hundred rows; it happens by itself as well. */
  sweep(): Promise<void>;
  /** Writes what is held back, and stops. The database stays open. */
  disconnect(): Promise<void>;
  /** `error`: what failed while nobody waited for it. */
  on(event: string, listener: (cause: unknown) => void): void;
}

export interface SqlStoreOptions {
  readonly db: Database;
  readonly now?: () => number;
}

interface Row {
  readonly key: string;
  readonly value: string;
  readonly expires: number | null;
}

/** Rows in one transaction, and the milliseconds that the first of them waits for it at most. */
const portion = 200;
const patience = 500;
/** Rows held back at the same time; beyond, the database is too slow for them. */
const mostHeld = 1000;
const sweepEvery = 30_000;
const sweepRows = 100;

export function sqlStore({ db, now = Date.now }: SqlStoreOptions): SqlStore {
  const listeners = new Set<(cause: unknown) => void>();
  const report = (cause: unknown): void => {
    for (const listener of listeners) listener(cause);
  };

  const held = new Map<string, Row>();
  /** On their way to the database. */
  let writing = new Map<string, Row>();
  /** Resolves with what went wrong, if anything did. */
  let write: Promise<{ readonly cause: unknown } | null> | null = null;
  let timer: NodeJS.Timeout | null = null;
  let closed = false;

  function plan(): void {
    if (write !== null || held.size === 0) return;
    if (held.size >= portion) void start();
    else timer ??= setTimeout(start, patience).unref();
  }

  function start(): Promise<{ readonly cause: unknown } | null> {
    if (timer) clearTimeout(timer);
    timer = null;
    writing = new Map([...held].slice(0, portion));
    for (const key of writing.keys()) held.delete(key);
    write = writeRows([...writing.values()])
      .then(
        () => null,
        (cause: unknown) => {
          report(cause);
          return { cause };
        },
      )
      .finally(() => {
        writing = new Map();
        write = null;
        plan();
      });
    return write;
  }

  async function writeRows(rows: Row[]): Promise<void> {
    // In one order everywhere: two instances that write the same keys must not wait for each other.
    rows.sort((a, b) => (a.key < b.key ? -1 : 1));
    await db.transaction().execute(async (trx) => {
      for (const some of inFewSizes(rows)) {
        await trx
          .insertInto('cache')
          .values(some)
          .onConflict((on) =>
            on.column('key').doUpdateSet((is) => ({
              value: is.ref('excluded.value'),
              expires: is.ref('excluded.expires'),
            })),
          )
          .execute();
      }
    });
  }

  async function flush(): Promise<void> {
    let first: { readonly cause: unknown } | null = null;
    while (write !== null || held.size > 0) {
      const failure = await (write ?? start());
      first ??= failure;
    }
    if (first) throw first.cause;
  }

  const fresh = ({ expires }: { readonly expires: number | null }): boolean =>
    expires === null || Number(expires) > now();

  async function get(key: string): Promise<string | undefined> {
    const row =
      held.get(key) ??
      writing.get(key) ??
      (await db.selectFrom('cache').select(['value', 'expires']).where('key', '=', key).executeTakeFirst());
    return row && fresh(row) ? row.value : undefined;
  }

  async function set(key: string, value: unknown, expires?: number): Promise<boolean> {
    if (typeof value !== 'string')
      throw new TypeError('the cache table holds text: serialization must be on');
    if (closed) return false;
    if (held.size >= mostHeld && !held.has(key)) throw new Error('too much is waiting to be written');
    held.set(key, { key, value, expires: expires ?? null });
    plan();
    return true;
  }

  async function remove(key: string): Promise<boolean> {
    const wasHeld = held.delete(key);
    while (writing.has(key)) await write;
    const { numDeletedRows } = await db.deleteFrom('cache').where('key', '=', key).executeTakeFirst();
    return wasHeld || numDeletedRows > 0n;
  }

  /** The last key swept. */
  let swept = '';
  async function sweep(): Promise<void> {
    // By key, for want of an index on `expires`: a search for old rows would read the whole table each time.
    const end = await db
      .selectFrom('cache')
      .select('key')
      .where('key', '>', swept)
      .orderBy('key')
      .offset(sweepRows - 1)
      .limit(1)
      .executeTakeFirst();
    let rows = db.deleteFrom('cache').where('key', '>', swept).where('expires', '<=', now());
    if (end) rows = rows.where('key', '<=', end.key);
    swept = end?.key ?? '';
    await rows.execute();
  }

  let sweeping = setTimeout(sweepOn, sweepEvery).unref();
  async function sweepOn(): Promise<void> {
    await sweep().catch(report);
    if (!closed) sweeping = setTimeout(sweepOn, sweepEvery).unref();
  }

  const has = async (key: string): Promise<boolean> => (await get(key)) !== undefined;
  const store = {
    get,
    getMany: (keys: readonly string[]) => Promise.all(keys.map(get)),
    has,
    hasMany: (keys: readonly string[]) => Promise.all(keys.map(has)),
    set,
    setMany: (entries: readonly { key: string; value: unknown; expires?: number }[]) =>
      Promise.all(entries.map(({ key, value, expires }) => set(key, value, expires))),
    delete: remove,
    deleteMany: (keys: readonly string[]) => Promise.all(keys.map(remove)),
    async clear() {
      held.clear();
      while (write) await write;
      await db.deleteFrom('cache').execute();
    },
    flush,
    sweep,
    async disconnect() {
      closed = true;
      clearTimeout(sweeping);
      await flush();
    },
    on(event: string, listener: (cause: unknown) => void) {
      if (event === 'error') listeners.add(listener);
    },
  };
  return { ...store, capabilities: keyvStorageCapability(store) };
}

/** A statement for any number of rows would be many statements to prepare and keep. */
function* inFewSizes(rows: readonly Row[]): Generator<readonly Row[]> {
  let from = 0;
  for (const size of [50, 10, 1]) {
    for (; rows.length - from >= size; from += size) yield rows.slice(from, from + size);
  }
}
