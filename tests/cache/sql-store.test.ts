import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { Kysely, PostgresDialect, sql } from 'kysely';
import pg from 'pg';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { keyvCache } from '../../src/cache/keyv-cache.ts';
import { type SqlStore, sqlStore } from '../../src/cache/sql-store.ts';
import type { Engine } from '../../src/journal/engine.ts';
import { journalSteps, migrate } from '../../src/journal/migrate.ts';
import { postgresEngine } from '../../src/journal/postgres.ts';
import { sqliteEngine } from '../../src/journal/sqlite.ts';
import type { Database, Tables } from '../../src/journal/tables.ts';
import { describePostgres, freshDatabase } from '../services.ts';
import { noticeBook } from './notices.ts';

interface Server {
  /** Of PostgreSQL. */
  readonly url?: string;
  engine(): Engine;
  drop(): Promise<void>;
}

function storeOn(name: string, make: () => Promise<Server>, more: (at: () => At) => void): void {
  describe(`the store in ${name}`, () => {
    let server: Server;
    let db: Database;
    let store: SqlStore;
    let clock: number;
    let transactions: number;
    let errors: unknown[];
    const stores: SqlStore[] = [];
    const databases: Database[] = [];

    const openDatabase = (): Database => {
      const one = new Kysely<Tables>({ dialect: server.engine().dialect });
      databases.push(one);
      return one;
    };
    const open = (on = db): SqlStore => {
      const counted = new Proxy(on, {
        get(target, property) {
          if (property === 'transaction') transactions++;
          const found = Reflect.get(target, property, target);
          return typeof found === 'function' ? found.bind(target) : found;
        },
      });
      const one = sqlStore({ db: counted, now: () => clock });
      one.on('error', (cause) => errors.push(cause));
      stores.push(one);
      return one;
    };
    const rows = async (): Promise<Record<string, string>> =>
      Object.fromEntries(
        (await db.selectFrom('cache').select(['key', 'value']).orderBy('key').execute()).map((row) => [
          row.key,
          row.value,
        ]),
      );
    const written = (count: number) =>
      vi.waitFor(async () => expect(Object.keys(await rows()).length).toBe(count), { timeout: 3000 });

    beforeEach(async () => {
      server = await make();
      clock = 1_000_000;
      transactions = 0;
      errors = [];
      db = openDatabase();
      await migrate(db, server.engine(), 'journal_steps', journalSteps);
      store = open();
    });
    afterEach(async () => {
      for (const one of stores.splice(0)) await one.disconnect().catch(() => undefined);
      for (const one of databases.splice(0)) await one.destroy();
      await server.drop();
    });

    test('what is set is read at once, and written within half a second or so, in one transaction', async () => {
      for (let n = 0; n < 30; n++) await store.set(`k${n}`, `v${n}`);
      expect(await rows()).toEqual({});
      expect(await store.get('k7')).toBe('v7');
      expect(await store.has('k7')).toBe(true);
      const began = performance.now();
      await written(30);
      expect(performance.now() - began).toBeGreaterThan(300);
      expect(transactions).toBe(1);
      expect(await store.get('k7')).toBe('v7');
      expect(await store.getMany(['k8', 'none', 'k9'])).toEqual(['v8', undefined, 'v9']);
    });

    test('two hundred keys do not wait, and what is over waits for the next time', async () => {
      await store.setMany(Array.from({ length: 450 }, (_, n) => ({ key: `k${n}`, value: 'v' })));
      await vi.waitFor(async () => expect(Object.keys(await rows()).length).toBe(400), { timeout: 300 });
      expect(transactions).toBe(2);
      await written(450);
      expect(transactions).toBe(3);
    });

    test('of a key that is set again and again the last value is written, once', async () => {
      for (let n = 0; n < 5000; n++) await store.set('busy', `v${n}`);
      await store.flush();
      expect(await rows()).toEqual({ busy: 'v4999' });
      expect(transactions).toBe(1);
      await store.set('busy', 'later');
      await store.flush();
      expect(await rows()).toEqual({ busy: 'later' });
    });

    test('any number of rows is written whole', async () => {
      const sizes = [1, 9, 10, 49, 61, 137, 199];
      for (const size of sizes) {
        await store.setMany(Array.from({ length: size }, (_, n) => ({ key: `${size}/${n}`, value: `${n}` })));
        await store.flush();
      }
      expect(Object.keys(await rows()).length).toBe(sizes.reduce((sum, size) => sum + size));
      for (const size of sizes) expect(await store.get(`${size}/${size - 1}`)).toBe(`${size - 1}`);
    });

    test('a deletion takes what is held back, what is being written and what is written', async () => {
      await store.set('a', 'written');
      await store.flush();
      await store.set('a', 'held back');
      expect(await store.delete('a')).toBe(true);
      expect(await store.get('a')).toBeUndefined();

      await store.set('a', 'being written');
      const writing = store.flush();
      expect(await store.delete('a')).toBe(true);
      expect(await rows()).toEqual({});
      await writing;
      await store.flush();
      expect(await rows()).toEqual({});
      expect(await store.delete('a')).toBe(false);
      expect(await store.deleteMany(['a', 'b'])).toEqual([false, false]);
    });

    test('what is set after a deletion stays', async () => {
      await store.set('a', 'old');
      await store.flush();
      await store.delete('a');
      await store.set('a', 'new');
      await store.flush();
      expect(await rows()).toEqual({ a: 'new' });
    });

    test('clearing takes everything', async () => {
      await store.set('a', 'written');
      await store.flush();
      await store.set('b', 'being written');
      const writing = store.flush();
      await store.set('c', 'held back');
      await store.clear();
      await writing;
      expect(await rows()).toEqual({});
      expect(await store.get('c')).toBeUndefined();
    });

    test('what has expired is not read, whether it is written or not', async () => {
      await store.set('short', 'v', clock + 100);
      await store.set('long', 'v', clock + 10_000);
      await store.set('ever', 'v');
      const seen = async () =>
        Object.entries({
          short: await store.has('short'),
          long: await store.has('long'),
          ever: await store.has('ever'),
        }).flatMap(([key, there]) => (there ? [key] : []));
      expect(await seen()).toEqual(['short', 'long', 'ever']);
      clock += 100;
      expect(await seen()).toEqual(['long', 'ever']);
      await store.flush();
      expect(await seen()).toEqual(['long', 'ever']);
      clock += 10_000;
      expect(await seen()).toEqual(['ever']);
    });

    test('expired rows are swept a hundred keys at a time, round and round', async () => {
      const key = (n: number): string => `k${String(n).padStart(3, '0')}`;
      // Every other one expires, one in ten at a later time.
      const expires = (n: number) => (n % 10 === 0 ? clock + 2000 : n % 2 === 0 ? clock + 1000 : undefined);
      for (let n = 0; n < 250; n++) await store.set(key(n), 'v', expires(n));
      await store.flush();
      clock += 1500;
      const left = async () => Object.keys(await rows()).length;
      const counts: number[] = [];
      for (let n = 0; n < 4; n++) {
        await store.sweep();
        counts.push(await left());
      }
      // 40, 40 and 20 of them have expired among the first, second and third hundred.
      expect(counts).toEqual([210, 170, 150, 150]);
      clock += 1500;
      await store.set(key(10), 'fresh', clock + 60_000);
      await store.flush();
      counts.length = 0;
      for (let n = 0; n < 4; n++) {
        await store.sweep();
        counts.push(await left());
      }
      // The fourth sweep above was the first of a round, up to k166: now the 8 from k170 on, then the 16 before, k010 being
      // fresh.
      expect(counts).toEqual([142, 126, 126, 126]);
      expect(Object.keys(await rows())).not.toContain(key(20));
      expect(await store.get(key(10))).toBe('fresh');
    });

    test('disconnecting writes what is held back; afterwards nothing is taken', async () => {
      for (let n = 0; n < 450; n++) await store.set(`k${n}`, 'v');
      await store.disconnect();
      expect(Object.keys(await rows()).length).toBe(450);
      expect(await store.set('late', 'v')).toBe(false);
      expect(await store.get('late')).toBeUndefined();
    });

    test('only text is taken', async () => {
      await expect(store.set('a', { value: 1 })).rejects.toThrow('serialization must be on');
    });

    test('it reads like a map, whatever is done in whatever order', async () => {
      let run = 0;
      const act = fc.record({
        what: fc.constantFrom('set', 'set', 'get', 'delete', 'flush', 'start'),
        key: fc.constantFrom('a', 'b', 'c'),
      });
      await fc.assert(
        fc.asyncProperty(fc.array(act, { maxLength: 40 }), async (acts) => {
          run++;
          const model = new Map<string, string>();
          const started: Promise<void>[] = [];
          let n = 0;
          for (const { what, key: name } of acts) {
            const key = `${run}/${name}`;
            if (what === 'set') {
              model.set(key, `v${++n}`);
              await store.set(key, `v${n}`);
            } else if (what === 'get') expect(await store.get(key)).toBe(model.get(key));
            else if (what === 'delete') {
              expect(await store.delete(key)).toBe(model.delete(key));
            } else if (what === 'flush') await store.flush();
            else started.push(store.flush());
          }
          await Promise.all(started);
          await store.flush();
          const found = Object.entries(await rows()).filter(([key]) => key.startsWith(`${run}/`));
          expect(new Map(found)).toEqual(model);
        }),
        { numRuns: 60, seed: 20263 },
      );
    });

    describe('when the database fails', () => {
      const breakTable = () => sql`alter table cache rename to gone`.execute(db);
      const mendTable = () => sql`alter table gone rename to cache`.execute(db);

      test('reading, deleting and writing reject, what was to be written is lost, and later things work again', async () => {
        await store.set('before', 'v');
        await store.flush();
        await breakTable();
        await expect(store.get('before')).rejects.toThrow(/cache/);
        await expect(store.delete('before')).rejects.toThrow(/cache/);
        await expect(store.sweep()).rejects.toThrow(/cache/);
        expect(await store.set('during', 'v')).toBe(true);
        await expect(store.flush()).rejects.toThrow(/cache/);
        await mendTable();
        expect(await store.get('before')).toBe('v');
        expect(await store.get('during')).toBeUndefined();
        await store.set('after', 'v');
        await store.flush();
        expect(await rows()).toEqual({ after: 'v', before: 'v' });
      });

      test('what fails while nobody waits is an error event, and nothing where nobody listens', async () => {
        const unheard = sqlStore({ db });
        await breakTable();
        await store.set('a', 'v');
        await unheard.set('b', 'v');
        await vi.waitFor(() => expect(errors.length).toBe(1), { timeout: 2000 });
        // The other's turn came at the same time; an unhandled rejection would fail this run.
        await new Promise((resolve) => setTimeout(resolve, 200));
        expect(await unheard.set('c', 'v')).toBe(true);
        await expect(unheard.disconnect()).rejects.toThrow(/cache/);
        await mendTable();
      });

      test('the cache over it opens its breaker, removes nothing for sure, and closes without a word', async () => {
        const book = noticeBook();
        const cache = keyvCache({ store, version: '1', notify: book.notify, now: () => clock });
        cache.put('case', 'thread', 1);
        await vi.waitFor(async () => expect(await cache.get('case', 'thread')).toBe(1));
        await store.flush();
        book.results();
        await breakTable();
        for (let n = 0; n < 6; n++) expect(await cache.get('case', 'thread')).toBeUndefined();
        expect(await cache.remove('case', 'thread')).toBe('unsure');
        expect(book.results()).toEqual([...Array(5).fill('failed'), 'shut']);
        await mendTable();
        expect(await cache.remove('case', 'thread')).toBe('gone');
        expect(book.all).toEqual([{ kind: 'cache-breaker', open: false }]);
        cache.put('case', 'thread', 2);
        await breakTable();
        await cache.close();
        await mendTable();
      });

      test('a database that was closed too early harms nobody', async () => {
        const book = noticeBook();
        const early = openDatabase();
        const cache = keyvCache({ store: open(early), version: '1', notify: book.notify, now: () => clock });
        cache.put('case', 'thread', 1);
        await vi.waitFor(async () => expect(await cache.get('case', 'thread')).toBe(1));
        await early.destroy();
        expect(await cache.get('case', 'other')).toBeUndefined();
        expect(await cache.remove('case', 'other')).toBe('unsure');
        await cache.close();
      });
    });

    more(() => ({ db, store, openDatabase, rows, errors, now: () => clock, url: server.url ?? '' }));
  });
}

interface At {
  readonly db: Database;
  readonly store: SqlStore;
  readonly errors: unknown[];
  openDatabase(): Database;
  rows(): Promise<Record<string, string>>;
  now(): number;
  readonly url: string;
}

storeOn(
  'SQLite',
  async () => {
    const dir = await mkdtemp(join(tmpdir(), 'cache-'));
    return {
      engine: () => sqliteEngine(join(dir, 'desk.db')),
      drop: () => rm(dir, { recursive: true }),
    };
  },
  () => undefined,
);

describePostgres('on a real server', () => {
  storeOn(
    'PostgreSQL',
    async () => {
      const database = await freshDatabase();
      return { ...database, engine: () => postgresEngine(database.url, () => undefined) };
    },
    (at) => {
      test('two instances that write the same keys in opposite order do not stand in each other’s way', async () => {
        const { store, openDatabase, rows, errors } = at();
        const other = sqlStore({ db: openDatabase() });
        other.on('error', (cause) => errors.push(cause));
        for (let round = 0; round < 15; round++) {
          const keys = Array.from({ length: 150 }, (_, n) => `k${n}`);
          for (const key of keys) await store.set(key, `first ${round}`);
          for (const key of keys.reverse()) await other.set(key, `second ${round}`);
          await Promise.all([store.flush(), other.flush()]);
        }
        expect(errors).toEqual([]);
        await other.disconnect();
        const values = new Set(Object.values(await rows()));
        expect([...values].every((value) => / 14$/.test(value))).toBe(true);
      });

      test('connections that are cut cost a few answers and nothing after', async () => {
        const { openDatabase, rows, url } = at();
        const pool = new pg.Pool({ connectionString: url });
        pool.on('error', () => undefined);
        // A connection that breaks in the middle of a query tells both the query and whoever listens to the connection.
        pool.on('connect', (client) => client.on('error', () => undefined));
        const db = new Kysely<Tables>({ dialect: new PostgresDialect({ pool }) });
        const store = sqlStore({ db });
        await store.set('before', 'v');
        await store.flush();
        const other = openDatabase();
        for (let n = 0; n < 3; n++) {
          await sql`select pg_terminate_backend(pid) from pg_stat_activity where datname = current_database() and pid <> pg_backend_pid()`.execute(
            other,
          );
          await store.get('before').catch(() => undefined);
          await vi.waitFor(async () => expect(await store.get('before')).toBe('v'), { timeout: 3000 });
        }
        await store.set('after', 'v', Date.now() + 60_000);
        await store.flush();
        expect(await rows()).toEqual({ after: 'v', before: 'v' });
        // Without the engine's own reading of large numbers, `expires` comes as text.
        expect(await store.get('after')).toBe('v');
        await store.disconnect();
        await db.destroy();
      });

      test('a table that somebody locks costs time limits, and too much held back is refused', async () => {
        const { db, store, openDatabase, now } = at();
        const book = noticeBook();
        const cache = keyvCache({ store, version: '1', notify: book.notify, now });
        const { promise: unlocked, resolve: unlock } = Promise.withResolvers<void>();
        const { promise: locked, resolve: lock } = Promise.withResolvers<void>();
        const holding = openDatabase()
          .transaction()
          .execute(async (trx) => {
            await sql`lock table cache in access exclusive mode`.execute(trx);
            lock();
            await unlocked;
          });
        await locked;

        const began = performance.now();
        for (let n = 0; n < 50; n++) await cache.get('case', `thread ${n}`);
        expect(performance.now() - began).toBeLessThan(5 * 50 + 250);
        expect(book.results()).toEqual([...Array(5).fill('failed'), ...Array(45).fill('shut')]);

        let refused = 0;
        for (let n = 0; n < 1500; n++) {
          await store.set(`k${String(n).padStart(4, '0')}`, 'v').catch(() => refused++);
        }
        // Two hundred are on their way, a thousand wait.
        expect(refused).toBe(300);
        expect(await store.get('k0000')).toBe('v');
        expect(await store.get('k1199')).toBe('v');

        unlock();
        await holding;
        await store.flush();
        const { count } = await db
          .selectFrom('cache')
          .select((is) => is.fn.countAll<number>().as('count'))
          .executeTakeFirstOrThrow();
        expect(count).toBe(1200);
      });
    },
  );
});
