import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import type { Adapter, Delivery } from '../shared/adapter.ts';
import type { Inbound } from '../shared/inbound.ts';
import type { Person } from '../shared/person.ts';
import { emptyCase, fold } from '../src/core/reduce.ts';
import type { Journal } from '../src/journal/journal.ts';
import { memoryJournal } from '../src/journal/memory.ts';
import { createRuntime, type Runtime } from '../src/runtime.ts';
import { following } from './conversations/thread.ts';
import { people, radio } from './core/example-flow.ts';

/** What the runtime promises: order, no doubles, retries, timers. The clock and the platform are the test's own. */

const minute = 60_000;
const settings = following('drain', 'dial-lamp', 'settings');

/** A platform that keeps what it is given, and can be made to fail or to hang. */
function newPlatform() {
  const posted: Delivery[] = [];
  const tried: string[] = [];
  let hangs: Promise<void> | null = null;
  let fails: (delivery: Delivery) => boolean = () => false;
  let slow = '';
  const adapter: Adapter = {
    name: 'test',
    abilities: { buttons: 5, length: 2000, pictures: false, forms: false },
    start: async () => undefined,
    stop: async () => undefined,
    async deliver(delivery) {
      tried.push(delivery.id);
      if (hangs && delivery.thread === slow) await hangs;
      if (fails(delivery)) throw new Error('the platform is away');
      posted.push(delivery);
      return `message ${posted.length}`;
    },
  };
  return {
    adapter,
    posted,
    tried,
    /** Deliveries in this thread wait until the returned function is called. */
    hang(thread: string): () => void {
      const { promise, resolve } = Promise.withResolvers<void>();
      slow = thread;
      hangs = promise;
      return resolve;
    },
    fail(when: (delivery: Delivery) => boolean): void {
      fails = when;
    },
    kinds: (thread = 't') =>
      posted.filter((one) => one.thread === thread).map(({ outbound }) => outbound.kind),
  };
}

let now = 0;
let moved = false;
let platform: ReturnType<typeof newPlatform>;
let journal: Journal;
let runtime: Runtime;
let reports: string[];
let count = 0;

const start = (over: Journal = journal): Runtime =>
  createRuntime({
    journal: over,
    flow: radio,
    settings,
    now: () => now,
    moved: () => moved,
    adapter: platform.adapter,
    report: (problem) => reports.push(problem),
  });

type Content<I = Inbound> = I extends Inbound ? Omit<I, 'id' | 'thread' | 'at' | 'by'> : never;
const message = (content: Content, thread = 't', by: Person = people.asker): Inbound =>
  ({ id: `m${++count}`, thread, at: now, by, ...content }) as Inbound;
const opens = (thread = 't'): Inbound => message({ kind: 'opened', words: 'it hums', place: '' }, thread);
const taps = (answer: string, thread = 't'): Inbound => message({ kind: 'chose', answer }, thread);
/** To the wait of half an hour. */
async function drains(thread = 't'): Promise<void> {
  for (const one of [opens(thread), taps('hums', thread), taps('solid', thread), taps('done', thread)])
    await runtime.receive(one);
}

beforeEach(() => {
  vi.useFakeTimers({ toFake: ['setInterval', 'clearInterval'] });
  now = 1_000_000_000_000;
  moved = false;
  count = 0;
  reports = [];
  platform = newPlatform();
  journal = memoryJournal();
  runtime = start();
});
afterEach(async () => {
  await runtime.stop();
  vi.useRealTimers();
});
/** A second goes by on the desk's own beat. */
const beat = () => vi.advanceTimersByTimeAsync(1000);

describe('within a thread', () => {
  test('turns are taken in the order in which they came', async () => {
    const taken = await Promise.all(
      [opens(), taps('hums'), taps('solid')].map((one) => runtime.receive(one)),
    );
    expect(taken).toEqual([true, true, true]);
    expect(platform.kinds()).toEqual(['ask', 'amend', 'ask', 'amend', 'ask']);
    expect((await runtime.caseOf('t')).answers).toMatchObject([{ complaint: 'hums' }, { choice: 'solid' }]);
  });

  test('a message that comes again is not taken in twice, and says so', async () => {
    const first = opens();
    expect(await runtime.receive(first)).toBe(true);
    const before = await journal.read('t');
    expect(await runtime.receive(first)).toBe(false);
    expect(await Promise.all([runtime.receive(first), runtime.receive(first)])).toEqual([false, false]);
    expect(await journal.read('t')).toEqual(before);
    expect(platform.kinds()).toEqual(['ask']);
  });

  test('the case is what the journal tells', async () => {
    await drains();
    const kase = await runtime.caseOf('t');
    expect(kase).toEqual(fold(emptyCase('t'), await journal.read('t'), radio));
    expect(kase).toMatchObject({ id: 't', state: 'resting', rest: { key: 'wait:drain' } });
  });
});

describe('between threads', () => {
  test('one that hangs holds up no other', async () => {
    const release = platform.hang('slow');
    const slow = runtime.receive(opens('slow'));
    await runtime.receive(opens('quick'));
    expect(platform.kinds('quick')).toEqual(['ask']);
    expect(platform.kinds('slow')).toEqual([]);
    release();
    await slow;
    expect(platform.kinds('slow')).toEqual(['ask']);
  });

  test('cases never mix', async () => {
    await Promise.all([drains('a'), drains('b')]);
    await runtime.receive(message({ kind: 'asked', what: 'stop' }, 'a'));
    expect((await runtime.caseOf('a')).stopped).toBe(true);
    expect((await runtime.caseOf('b')).stopped).toBe(false);
  });

  test('a thread that hangs holds up no other’s timers', async () => {
    await drains('slow');
    await drains('quick');
    now += 30 * minute;
    const release = platform.hang('slow');
    const rung = runtime.ring();
    await vi.waitFor(async () =>
      expect((await runtime.caseOf('quick')).question).toMatchObject({ kind: 'test' }),
    );
    expect(platform.kinds('quick').at(-1)).toBe('ask');
    release();
    await rung;
  });
});

describe('what cannot be delivered', () => {
  test('is kept with everything behind it, and goes out in order with the next turn', async () => {
    platform.fail(() => true);
    expect(await runtime.receive(opens())).toBe(true);
    expect(await runtime.receive(taps('hums'))).toBe(true);
    expect(platform.posted).toEqual([]);
    expect(reports[0]).toContain('the platform is away');
    platform.fail(() => false);
    await runtime.receive(taps('solid'));
    expect(platform.kinds()).toEqual(['ask', 'amend', 'ask', 'amend', 'ask']);
    expect(await journal.undelivered('t')).toEqual([]);
  });

  test('never overtakes: a later message waits for one that fails', async () => {
    platform.fail(({ outbound }) => outbound.kind === 'amend');
    for (const one of [opens(), taps('hums'), taps('solid')]) await runtime.receive(one);
    expect(platform.kinds()).toEqual(['ask']);
  });

  test('is tried again by itself, under the same name, less and less often', async () => {
    platform.fail(() => true);
    await runtime.receive(opens());
    expect(platform.tried).toHaveLength(1);
    for (let second = 0; second < 60; second++) await beat();
    expect(platform.tried.length).toBeGreaterThan(3);
    expect(platform.tried.length).toBeLessThan(10);
    expect(new Set(platform.tried).size).toBe(1);
    platform.fail(() => false);
    for (let second = 0; second < 70; second++) await beat();
    expect(platform.kinds()).toEqual(['ask']);
    const tries = platform.tried.length;
    for (let second = 0; second < 70; second++) await beat();
    expect(platform.tried).toHaveLength(tries);
  });

  test('holds up nobody else', async () => {
    platform.fail(({ thread }) => thread === 'away');
    await runtime.receive(opens('away'));
    await runtime.receive(opens('here'));
    expect(platform.kinds('here')).toEqual(['ask']);
  });
});

describe('timers', () => {
  test('ring once, by the desk’s own beat', async () => {
    await drains();
    now += 30 * minute - 1;
    await beat();
    expect((await runtime.caseOf('t')).state).toBe('resting');
    now += 1;
    await beat();
    await beat();
    const events = await journal.read('t');
    expect(events.filter(({ kind }) => kind === 'woken')).toHaveLength(1);
    expect(platform.kinds().slice(-2)).toEqual(['say', 'ask']);
    expect(await journal.nextDue()).toBeNull();
  });

  test('that fell due while the desk was down ring once, late, and say so', async () => {
    await drains();
    await runtime.stop();
    now += 30 * minute + 3 * 60 * minute;
    runtime = start();
    await Promise.all([runtime.ring(), runtime.ring()]);
    await beat();
    const said = platform.posted.flatMap(({ outbound }) => (outbound.kind === 'say' ? [outbound.words] : []));
    expect(said.filter((words) => words.includes('The time is over'))).toEqual([
      expect.stringContaining('3 h late'),
    ]);
  });

  test('are not lost when the clock is set back between looking and ringing', async () => {
    await drains();
    const due = now + 30 * minute;
    const clock = {
      ...journal,
      due: async (at: number) => {
        const timers = await journal.due(at);
        now = due - minute;
        return timers;
      },
    };
    await runtime.stop();
    runtime = start(clock);
    now = due;
    await runtime.ring();
    expect((await runtime.caseOf('t')).state).toBe('asking');
  });

  test('of a wait that was begun anew ring at its new time', async () => {
    await drains();
    const first = now + 30 * minute;
    now = first;
    // The person comes first, takes it back and begins again, while the timer of the first wait is on its way.
    const old = await journal.due(now);
    expect(old).toHaveLength(1);
    for (const one of [
      message({ kind: 'said', words: 'I am back' }),
      message({ kind: 'asked', what: 'undo' }),
      taps('done'),
    ])
      await runtime.receive(one);
    expect(await journal.nextDue()).toBe(first + 30 * minute);
    await runtime.receive({
      ...message({ kind: 'rang', key: 'wait:drain' }),
      id: `rang:wait:drain:${first}`,
    });
    expect(await journal.nextDue()).toBe(first + 30 * minute);
    now = first + 30 * minute;
    await runtime.ring();
    expect((await runtime.caseOf('t')).question).toMatchObject({ kind: 'test' });
  });

  test('on a clock that was moved for a demonstration are marked', async () => {
    await drains();
    moved = true;
    now += 30 * minute;
    await runtime.ring();
    expect(platform.posted.at(-1)?.outbound).toMatchObject({ kind: 'ask', mark: 'demonstration' });
  });
});

describe('when somebody else writes first', () => {
  /** A journal in which another desk's turn comes in between, so many times. */
  function crowded(times: number): Journal & { readonly appended: string[] } {
    const appended: string[] = [];
    let left = times;
    return {
      ...journal,
      appended,
      async append(turn) {
        if (left > 0) {
          left -= 1;
          const seq = turn.after + 1;
          await journal.append({
            thread: turn.thread,
            inbound: `other ${left}`,
            after: turn.after,
            events: [{ kind: 'noted', seq, at: now, by: 'other', words: `other ${left}` }],
            outbound: [],
          });
        }
        const kept = await journal.append(turn);
        appended.push(kept);
        return kept;
      },
    };
  }

  test('the turn is decided again on what is there now', async () => {
    await runtime.stop();
    await runtime.receive(opens());
    const busy = crowded(3);
    runtime = start(busy);
    expect(await runtime.receive(taps('hums'))).toBe(true);
    expect(busy.appended).toEqual(['conflict', 'conflict', 'conflict', 'done']);
    expect((await runtime.caseOf('t')).words).toEqual(['it hums', 'other 2', 'other 1', 'other 0']);
    expect((await journal.read('t')).map(({ seq }) => seq)).toEqual(
      (await journal.read('t')).map((_, i) => i + 1),
    );
  });

  test('for ever, it gives up, says so, and the thread goes on', async () => {
    await runtime.receive(opens());
    await runtime.stop();
    runtime = start(crowded(20));
    await expect(runtime.receive(taps('hums'))).rejects.toThrow('kept changing');
    expect(await runtime.receive(taps('hums'))).toBe(true);
  });
});

describe('when something inside fails', () => {
  test('the turn is refused, nothing is kept, and the next one is taken in', async () => {
    let broken = true;
    await runtime.stop();
    runtime = start({
      ...journal,
      append: async (turn) => {
        if (broken) throw new Error('the disk is full');
        return journal.append(turn);
      },
    });
    await expect(runtime.receive(opens())).rejects.toThrow('the disk is full');
    expect(await journal.read('t')).toEqual([]);
    broken = false;
    expect(await runtime.receive(opens())).toBe(true);
  });

  test('a beat that fails is reported, and the next one comes', async () => {
    let broken = true;
    await drains();
    await runtime.stop();
    runtime = start({
      ...journal,
      due: async (at) => (broken ? Promise.reject(new Error('no database')) : journal.due(at)),
    });
    now += 30 * minute;
    await beat();
    expect(reports).toEqual(['A timer failed: no database']);
    broken = false;
    await beat();
    expect((await runtime.caseOf('t')).state).toBe('asking');
  });
});

test('stopping waits for the turn under way', async () => {
  const release = platform.hang('t');
  const turn = runtime.receive(opens());
  let stopped = false;
  const stopping = runtime.stop().then(() => {
    stopped = true;
  });
  await Promise.resolve();
  expect(stopped).toBe(false);
  release();
  await Promise.all([turn, stopping]);
  expect(platform.kinds()).toEqual(['ask']);
});
