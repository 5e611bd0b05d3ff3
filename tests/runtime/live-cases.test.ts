import { beforeEach, describe, expect, test } from 'vitest';
import type { Event } from '../../shared/case.ts';
import type { Cache, CacheKind } from '../../src/cache/cache.ts';
import { emptyCase, fold } from '../../src/core/reduce.ts';
import type { CaseLog, Journal, Mark } from '../../src/journal/journal.ts';
import { memoryJournal } from '../../src/journal/memory.ts';
import { liveCases } from '../../src/runtime/live-cases.ts';

/** A cache whose contents the test can see and forge; values pass through JSON as in a real one. */
function openCacheOf(values = new Map<string, string>()): Cache & { readonly values: Map<string, string> } {
  const name = (of: CacheKind, key: string): string => `${of} ${key}`;
  return {
    values,
    get: async (of, key) => {
      const text = values.get(name(of, key));
      return text === undefined ? undefined : JSON.parse(text);
    },
    put: (of, key, value) => void values.set(name(of, key), JSON.stringify(value)),
    remove: async (of, key) => {
      values.delete(name(of, key));
      return 'gone';
    },
    close: async () => undefined,
  };
}

const noted = (seq: number, by = 'ada'): Event => ({
  kind: 'noted',
  seq,
  at: seq,
  by,
  words: `words ${seq}`,
});
let journal: Journal;
let cache: ReturnType<typeof openCacheOf>;
let reads: (Mark | undefined)[];
const log = (): CaseLog => ({
  ...journal,
  read: (thread, after) => {
    reads.push(after);
    return journal.read(thread, after);
  },
});
let length: number;
/** Writes so many events more, in one turn. */
async function write(events: readonly Event[]): Promise<void> {
  const done = await journal.append({
    thread: 't',
    inbound: `${length}`,
    after: length,
    events,
    outbound: [],
    state: 'asking',
  });
  expect(done.kind).toBe('done');
  length += events.length;
}
const more = (count: number): Event[] => Array.from({ length: count }, (_, i) => noted(length + 1 + i));
const truth = async () => fold(emptyCase('t'), (await journal.read('t')).events);

beforeEach(() => {
  journal = memoryJournal();
  cache = openCacheOf();
  reads = [];
  length = 0;
});

describe('a live case', () => {
  test('is folded from the journal once, and then known', async () => {
    await write(more(5));
    const cases = liveCases(log(), cache);
    expect((await cases.known('t')).kase).toEqual(await truth());
    await cases.known('t');
    expect(reads).toEqual([undefined]);
  });

  test('is brought up to date with what others wrote, from where it stood', async () => {
    await write(more(5));
    const cases = liveCases(log(), cache);
    const { mark } = await cases.known('t');
    await write(more(2));
    expect((await cases.current('t')).kase).toEqual(await truth());
    expect(reads).toEqual([undefined, mark]);
  });

  test('is saved now and then, and another desk goes on from there, to the same bytes', async () => {
    const cases = liveCases(log(), cache);
    for (let i = 0; i < 20; i++) {
      const { kase } = await cases.known('t');
      await write(more(2));
      const { events, mark } = await journal.read('t');
      cases.moved('t', { kase: fold(kase, events.slice(-2)), mark });
    }
    expect(cache.values.size).toBe(1);
    const other = liveCases(log(), cache);
    reads = [];
    const rebuilt = await other.known('t');
    expect(JSON.stringify(rebuilt.kase)).toBe(JSON.stringify(await truth()));
    expect(reads).toHaveLength(1);
    expect(reads[0]?.seq).toBeGreaterThan(20);
  });

  test('of another history in the cache is folded from the beginning', async () => {
    await write(more(3));
    const { kase } = await liveCases(log(), cache).known('t');
    const elsewhere = { ...kase, words: ['never said here'] };
    cache.put('case', 't', { kase: elsewhere, mark: { seq: 3, id: 'of another history' } });
    expect((await liveCases(log(), cache).known('t')).kase).toEqual(await truth());
    cache.put('case', 't', { kase: { ...elsewhere, seq: 30 }, mark: { seq: 30, id: 'beyond the end' } });
    expect((await liveCases(log(), cache).known('t')).kase).toEqual(await truth());
  });

  test('from which words were taken since is folded without them', async () => {
    await write(more(3));
    const cases = liveCases(log(), cache);
    cache.put('case', 't', await cases.known('t'));
    await journal.forget('ada');
    await write([{ kind: 'erased', seq: 4, at: 4, by: 'desk', person: 'ada' }]);
    for (const desk of [cases, liveCases(log(), cache)])
      expect(JSON.stringify((await desk.current('t')).kase)).not.toContain('words 1');
  });

  test('that is dropped is nowhere but in the journal', async () => {
    await write(more(3));
    const cases = liveCases(log(), cache);
    cache.put('case', 't', await cases.known('t'));
    expect(await cases.drop('t')).toBe('gone');
    expect(cache.values.size).toBe(0);
    expect(cases.size).toBe(0);
  });

  test('is kept in memory with the latest only, however many there are', async () => {
    const cases = liveCases(log(), cache);
    for (let i = 0; i < 1500; i++) await cases.known(`t${i}`);
    expect(cases.size).toBe(1000);
  });
});
