import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import type { Cache, CacheKind } from '../../src/cache/cache.ts';
import type { Notify } from '../../src/notice.ts';
import { noticeBook } from './notices.ts';

/** A new, empty store. */
export interface Place {
  /** False for what ends with the cache that was opened on it, and cannot be reached but through it. */
  readonly outlives: boolean;
  open(version: string, notify: Notify): Promise<Cache>;
  /** Everything in it is lost, behind the cache's back. */
  wipe(): Promise<void>;
  drop(): Promise<void>;
}

/** What every cache keeps to, wherever it is. */
export function cacheContract(name: string, make: () => Promise<Place>): void {
  describe(`the cache: ${name}`, () => {
    let place: Place;
    let book: ReturnType<typeof noticeBook>;
    let cache: Cache;
    const opened: Cache[] = [];
    const open = async (version = '1'): Promise<Cache> => {
      const one = await place.open(version, book.notify);
      opened.push(one);
      return one;
    };
    beforeEach(async () => {
      place = await make();
      book = noticeBook();
      cache = await open();
    });
    afterEach(async () => {
      for (const one of opened.splice(0)) await one.close();
      await place.drop();
    });

    /** A put goes on in the background. */
    const comesBack = (of: CacheKind, key: string, value: unknown, from = cache) =>
      vi.waitFor(async () => expect(await from.get(of, key)).toEqual(value), { timeout: 5000, interval: 5 });

    test('what was never put is absent, and counted as a miss', async () => {
      expect(await cache.get('case', 'nobody')).toBeUndefined();
      expect(book.results()).toEqual(['miss']);
    });

    test('what was put comes back, and is counted as a hit', async () => {
      cache.put('case', 'thread', { seq: 3, words: ['faint', 'picture'] });
      await comesBack('case', 'thread', { seq: 3, words: ['faint', 'picture'] });
      expect(book.results().at(-1)).toBe('hit');
    });

    test.each([
      ['nothing', null],
      ['a number', -0.1],
      ['a bare text', 'words'],
      ['an empty text', ''],
      ['false', false],
      ['a list with gaps of nothing', [null, [], {}]],
      ["texts that begin like Keyv's own marks", [':bigint:1', ':base64:AA==', ':', '::a']],
      ['signs that text columns refuse', 'zero \0, half a pair \ud800, "quotes", \\, \u2028, 電源, 🔌'],
      ['names that objects have of their own', JSON.parse('{"__proto__": 1, "constructor": {"a": 2}}')],
      ["the words of Keyv's own envelope", { value: 1, expires: 1, version: '1', checksum: '', text: '' }],
      ['two hundred kilobytes', { words: 'no picture, '.repeat(17_000) }],
    ])('plain data of every kind comes back: %s', async (_, value) => {
      cache.put('plan', 'it', value);
      await comesBack('plan', 'it', value);
      expect(JSON.stringify(await cache.get('plan', 'it'))).toBe(JSON.stringify(value));
    });

    test.each([
      ['empty', ''],
      ['with a zero character', 'a\0b'],
      ['with half a surrogate pair', 'a\ud800'],
      ['that looks like a hash', '#abc'],
      ['with wildcards', '*?%_[a]'],
      ['of other alphabets', 'случай 電源'],
      ['of ten thousand signs', 'k'.repeat(10_000)],
    ])('any text is a key: one %s', async (_, key) => {
      cache.put('case', key, { of: key });
      cache.put('case', `${key}.`, 'another');
      await comesBack('case', key, { of: key });
      await comesBack('case', `${key}.`, 'another');
      expect(await cache.remove('case', key)).toBe('gone');
      expect(await cache.get('case', key)).toBeUndefined();
      expect(await cache.get('case', `${key}.`)).toBe('another');
    });

    test('a case and a plan of one key are two things', async () => {
      cache.put('case', 'same', 'the case');
      cache.put('plan', 'same', 'the plan');
      await comesBack('case', 'same', 'the case');
      await comesBack('plan', 'same', 'the plan');
      expect(await cache.remove('case', 'same')).toBe('gone');
      expect(await cache.get('case', 'same')).toBeUndefined();
      expect(await cache.get('plan', 'same')).toBe('the plan');
    });

    test('the last of many puts of one key is what stays', async () => {
      for (let n = 1; n <= 50; n++) cache.put('case', 'busy', { n });
      await comesBack('case', 'busy', { n: 50 });
    });

    test('what is done to a value after it was put, or after it came back, is not seen', async () => {
      const value = { list: [1] };
      cache.put('case', 'mine', value);
      value.list.push(2);
      await comesBack('case', 'mine', { list: [1] });
      const got = (await cache.get('case', 'mine')) as { list: number[] };
      got.list.push(3);
      expect(await cache.get('case', 'mine')).toEqual({ list: [1] });
    });

    test('what cannot be written as JSON is not put, and a problem is told', async () => {
      const ring: { self?: unknown } = {};
      ring.self = ring;
      for (const value of [undefined, () => 1, 1n, ring]) cache.put('case', 'no', value);
      expect(book.all.map(({ kind }) => kind)).toEqual(['problem', 'problem', 'problem', 'problem']);
      expect(await cache.get('case', 'no')).toBeUndefined();
    });

    test('what is removed is absent, and stays so', async () => {
      cache.put('case', 'away', 1);
      await comesBack('case', 'away', 1);
      expect(await cache.remove('case', 'away')).toBe('gone');
      expect(await cache.get('case', 'away')).toBeUndefined();
      expect(await cache.remove('case', 'away')).toBe('gone');
    });

    test('a removal takes along the puts before it that are still under way', async () => {
      for (let n = 0; n < 3; n++) cache.put('case', 'away', n);
      expect(await cache.remove('case', 'away')).toBe('gone');
      for (let n = 0; n < 3; n++) {
        cache.put('case', 'away', n);
        await Promise.resolve();
      }
      expect(await cache.remove('case', 'away')).toBe('gone');
      await new Promise((resolve) => setTimeout(resolve, 50));
      expect(await cache.get('case', 'away')).toBeUndefined();
    });

    test('what is put after a removal was asked for is there', async () => {
      cache.put('case', 'again', 'old');
      const removed = cache.remove('case', 'again');
      cache.put('case', 'again', 'new');
      await removed;
      await comesBack('case', 'again', 'new');
    });

    test('a wiped store is an empty one, and can be filled again', async ({ skip }) => {
      if (!place.outlives) skip('only the cache reaches it');
      cache.put('case', 'lost', 1);
      await comesBack('case', 'lost', 1);
      await place.wipe();
      book.results();
      expect(await cache.get('case', 'lost')).toBeUndefined();
      expect(book.results()).toEqual(['miss']);
      cache.put('case', 'lost', 2);
      await comesBack('case', 'lost', 2);
    });

    test('whatever the order of puts and removals, a key never gives what was removed, nor what was never put there', async () => {
      let run = 0;
      await fc.assert(
        fc.asyncProperty(fc.array(step, { maxLength: 25 }), async (steps) => {
          run++;
          const possible = new Map<string, unknown[]>();
          let n = 0;
          for (const { act, key: name } of steps) {
            const key = `${run}/${name}`;
            if (act === 'put') {
              cache.put('plan', key, { key, n: ++n });
              possible.set(key, [...(possible.get(key) ?? []), { key, n }]);
            } else if (act === 'remove') {
              expect(await cache.remove('plan', key)).toBe('gone');
              possible.delete(key);
            } else {
              const got = await cache.get('plan', key);
              if (got !== undefined) expect(possible.get(key)).toContainEqual(got);
            }
          }
          for (const [key, values] of possible) await comesBack('plan', key, values.at(-1));
        }),
        { numRuns: 25, seed: 20261 },
      );
    });

    test('a closed cache has nothing, takes nothing, and rejects nothing', async () => {
      cache.put('case', 'thread', 1);
      await cache.close();
      cache.put('case', 'thread', 2);
      expect(await cache.get('case', 'thread')).toBeUndefined();
      expect(await cache.remove('case', 'thread')).toBe('unsure');
      await cache.close();
    });

    test('what was put before closing is there when it is opened again', async ({ skip }) => {
      if (!place.outlives) skip('it ends with the cache');
      for (let n = 0; n < 60; n++) cache.put('case', `thread ${n}`, { n });
      await cache.close();
      cache = await open();
      for (let n = 0; n < 60; n++) expect(await cache.get('case', `thread ${n}`)).toEqual({ n });
    });

    test('what another version put is absent and no damage, can be replaced, and is removed by any', async ({
      skip,
    }) => {
      if (!place.outlives) skip('it ends with the cache');
      cache.put('case', 'a', 'of 1');
      cache.put('case', 'b', 'of 1');
      await cache.close();
      const newer = await open('2');
      book.results();
      expect(await newer.get('case', 'a')).toBeUndefined();
      expect(book.results()).toEqual(['miss']);
      newer.put('case', 'a', 'of 2');
      await comesBack('case', 'a', 'of 2', newer);
      expect(await newer.remove('case', 'b')).toBe('gone');
      await newer.close();
      cache = await open();
      expect(await cache.get('case', 'a')).toBeUndefined();
      expect(await cache.get('case', 'b')).toBeUndefined();
    });

    test('two instances on one store see what the other wrote and removed', async ({ skip }) => {
      if (!place.outlives) skip('it ends with the cache');
      const other = await open();
      cache.put('case', 'shared', { from: 'first' });
      await comesBack('case', 'shared', { from: 'first' }, other);
      expect(await other.remove('case', 'shared')).toBe('gone');
      expect(await cache.get('case', 'shared')).toBeUndefined();
    });
  });
}

const step = fc.record({
  act: fc.constantFrom('put', 'put', 'get', 'remove'),
  key: fc.constantFrom('a', 'b'),
});
