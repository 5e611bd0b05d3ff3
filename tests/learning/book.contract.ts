import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { Decision, LearningBook } from '../../src/learning/store.ts';

export const excluded = (id: string, by = 'maren'): Decision => ({
  kind: 'excluded',
  at: 1,
  by,
  case: id,
  why: 'a joke “Ω” 🔥 \u0000',
});

/** What every book of decisions keeps to. `make` gives a new, empty one, twice opened. */
export function bookContract(
  name: string,
  make: () => Promise<{ readonly one: LearningBook; readonly other: LearningBook; drop(): Promise<void> }>,
): void {
  describe(`the book of learning: ${name}`, () => {
    let book: Awaited<ReturnType<typeof make>>;
    beforeEach(async () => {
      book = await make();
    });
    afterEach(() => book.drop());

    test('is read as it was written, from any place on, by whoever opens it', async () => {
      expect(await book.one.read(0)).toEqual([]);
      const ids = ['t:1', 't:2', 't:3'];
      for (const [n, id] of ids.entries()) expect(await book.one.write(n, excluded(id))).toBe(true);
      expect(await book.other.read(0)).toEqual(ids.map((id, i) => ({ n: i + 1, decision: excluded(id) })));
      expect((await book.other.read(2)).map(({ n }) => n)).toEqual([3]);
      expect(await book.other.read(3)).toEqual([]);
    });

    test('takes nothing from whoever did not read to its end, and leaves no gap', async () => {
      expect(await book.one.write(1, excluded('t:1'))).toBe(false);
      expect(await book.one.write(0, excluded('t:1'))).toBe(true);
      expect(await book.other.write(0, excluded('t:2'))).toBe(false);
      expect(await book.other.write(2, excluded('t:2'))).toBe(false);
      expect((await book.one.read(0)).map(({ decision }) => decision)).toEqual([excluded('t:1')]);
    });

    test('lets one of several who write at once through', async () => {
      const writers = [book.one, book.other, book.one, book.other];
      const done = await Promise.all(writers.map((one, i) => one.write(0, excluded(`t:${i}`, `m${i}`))));
      expect(done.filter(Boolean)).toHaveLength(1);
      expect(await book.one.read(0)).toHaveLength(1);
    });
  });
}
