import { Advice } from '../advice.ts';
import type { Database } from '../journal/tables.ts';
import type { Notify } from '../notice.ts';
import { boundedMap } from './bounded-map.ts';
import { type Cache, noCache } from './cache.ts';
import { keyvCache } from './keyv-cache.ts';
import { redisStore } from './redis.ts';
import { sqlStore } from './sql-store.ts';

export interface OpenCacheOptions {
  /** null: in the journal's database. It may hold a password. */
  readonly url: string | null;
  /** The journal's; null: it has none, and then there is no cache by default. Close the cache before it. */
  readonly db: Database | null;
  /** Of this program and of whatever else values depend on: see `keyvCache`. */
  readonly version: string;
  readonly notify: Notify;
  readonly now: () => number;
}

/** Values kept in memory at most. */
const mostInMemory = 5000;

/** Picks the cache by its URL. Throws `Advice` for one that it does not know; a store that is down is no reason. */
export async function openCache({ url, db, version, notify, now }: OpenCacheOptions): Promise<Cache> {
  const over = (store: unknown): Cache => keyvCache({ store, version, notify, now });
  if (url === null) return db === null ? noCache : over(sqlStore({ db }));
  if (url === 'memory:') return over(boundedMap(mostInMemory));
  if (url === 'none:') return noCache;
  if (/^rediss?:\/\//.test(url)) {
    const { store, destroy } = await redisStore(url);
    const cache = over(store);
    return {
      ...cache,
      close: async () => {
        await cache.close();
        destroy();
      },
    };
  }
  throw new Advice(
    [
      "The cache's URL is of no kind that this program knows. It may be:",
      "  left out         the journal's database; nothing else to run",
      '  redis://HOST     Redis, or what speaks its protocol, shared by several instances',
      '  rediss://HOST    the same, encrypted',
      '  memory:          in memory, gone at the end',
      '  none:            no cache: everything is worked out each time',
    ].join('\n'),
  );
}
