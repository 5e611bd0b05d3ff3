import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { type Adapter, type Delivery, DeliveryFailure, type Received } from '../../shared/adapter.ts';
import type { Inbound } from '../../shared/inbound.ts';
import type { Person } from '../../shared/person.ts';
import { emptyCase, fold } from '../../src/core/reduce.ts';
import type { Journal, JournalTurn } from '../../src/journal/journal.ts';
import { type MemoryStore, memoryJournal, memoryStore } from '../../src/journal/memory.ts';
import type { Notice } from '../../src/notice.ts';
import { createRuntime, type Runtime, type RuntimeOptions } from '../../src/runtime/runtime.ts';
import { following } from '../conversations/thread.ts';
import { people, radio } from '../core/example-flow.ts';

/** What the runtime promises: order, no doubles, retries, timers. The clock and the platform are the test's own. */

const minute = 60_000;
const settings = following('drain', 'dial-lamp', 'settings');

/** A thread of the test's platform. */
const at = (thread: string): string => `test:${thread}`;

/** A platform that keeps what it is given, and can be made to fail or to hang. */
function newPlatform() {
  const posted: Delivery[] = [];
  const tried: string[] = [];
  let hangs: Promise<void> | null = null;
  let fails: (delivery: Delivery) => boolean | Error = () => false;
  let slow = '';
  const adapter: Adapter = {
    name: 'test',
    abilities: { buttons: 5, length: 2000, pictures: false, forms: false },
    start: async () => undefined,
    stop: async () => undefined,
    async deliver(delivery) {
      tried.push(delivery.id);
      if (hangs && delivery.thread === slow) await hangs;
      const failure = fails(delivery);
      if (failure) throw failure === true ? new Error('the platform is away') : failure;
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
      slow = at(thread);
      hangs = promise;
      return resolve;
    },
    fail(when: (delivery: Delivery) => boolean | Error): void {
      fails = when;
    },
    /** What people see: nobody waits for being asked again. */
    kinds: (thread = 't') =>
      posted.flatMap((one) =>
        one.thread !== at(thread) || (one.outbound.kind === 'remind' && one.outbound.later)
          ? []
          : [one.outbound.kind],
      ),
  };
}

let now = 0;
let moved = false;
let platform: ReturnType<typeof newPlatform>;
let store: MemoryStore;
let journal: Journal;
let runtime: Runtime;
let notices: Notice[];
let count = 0;

const start = (over: Journal = journal, more: Partial<RuntimeOptions> = {}): Runtime =>
  createRuntime({
    journal: over,
    flows: [radio],
    settings,
    now: () => now,
    moved: () => moved,
    chance: () => 0.5,
    adapters: [platform.adapter],
    notify: (notice) => notices.push(notice),
    ...more,
  });

type Content<I = Inbound> = I extends Inbound ? Omit<I, 'id' | 'thread' | 'at' | 'by'> : never;
const message = (content: Content, thread = 't', by: Person = people.asker): Inbound =>
  ({ id: `m${++count}`, thread: at(thread), at: now, by, ...content }) as Inbound;
const opens = (thread = 't'): Inbound => message({ kind: 'opened', words: 'it hums', place: '' }, thread);
const taps = (answer: string, thread = 't'): Inbound => message({ kind: 'chose', answer }, thread);
const caseOf = (thread = 't') => runtime.caseOf(at(thread));
const read = async (thread = 't') => (await journal.read(at(thread))).events;
const undelivered = async (thread = 't') => (await journal.take(at(thread))) ?? [];
const problems = () => notices.filter(({ kind }) => kind === 'problem');
/** Takes in one message after the other, and waits until what follows from each was delivered. */
async function give(...inbounds: readonly Inbound[]): Promise<Received[]> {
  const received: Received[] = [];
  for (const one of inbounds) {
    received.push(await runtime.receive(one));
    await runtime.idle();
  }
  return received;
}
/** To the wait of half an hour. */
async function drains(thread = 't'): Promise<void> {
  await give(opens(thread), taps('hums', thread), taps('solid', thread), taps('done', thread));
}

beforeEach(() => {
  vi.useFakeTimers({ toFake: ['setInterval', 'clearInterval', 'setTimeout', 'clearTimeout', 'Date'] });
  now = 1_000_000_000_000;
  moved = false;
  count = 0;
  notices = [];
  platform = newPlatform();
  store = memoryStore();
  journal = memoryJournal({ store, now: () => now });
  runtime = start();
});
afterEach(async () => {
  await runtime.stop();
  vi.useRealTimers();
});
/** A second goes by on the desk's own beat. */
async function beat(): Promise<void> {
  now += 1000;
  await vi.advanceTimersByTimeAsync(1000);
}

describe('within a thread', () => {
  test('turns are taken in the order in which they came', async () => {
    const taken = await Promise.all(
      [opens(), taps('hums'), taps('solid')].map((one) => runtime.receive(one)),
    );
    await runtime.idle();
    expect(taken).toEqual(['taken', 'taken', 'taken']);
    expect(platform.kinds()).toEqual(['ask', 'amend', 'ask', 'amend', 'ask']);
    expect((await caseOf()).answers).toMatchObject([{ complaint: 'hums' }, { choice: 'solid' }]);
  });

  test('a message that comes again is not taken in twice, and says so', async () => {
    const first = opens();
    expect(await give(first)).toEqual(['taken']);
    const before = await read();
    expect(await give(first)).toEqual(['seen']);
    expect(await Promise.all([runtime.receive(first), runtime.receive(first)])).toEqual(['seen', 'seen']);
    await runtime.idle();
    expect(await read()).toEqual(before);
    expect(platform.kinds()).toEqual(['ask']);
  });

  test('the case is what the journal tells', async () => {
    await drains();
    const kase = await caseOf();
    expect(kase).toEqual(fold(emptyCase(at('t')), await read()));
    expect(kase).toMatchObject({ id: at('t'), state: 'resting', rest: { key: 'wait:drain' } });
  });

  test('a turn is taken before its messages are delivered', async () => {
    const release = platform.hang('t');
    expect(await runtime.receive(opens())).toBe('taken');
    expect(platform.kinds()).toEqual([]);
    expect(await read()).not.toEqual([]);
    release();
    await runtime.idle();
    expect(platform.kinds()).toEqual(['ask']);
  });
});

describe('between threads', () => {
  test('one that hangs holds up no other', async () => {
    const release = platform.hang('slow');
    await runtime.receive(opens('slow'));
    await runtime.receive(opens('quick'));
    await vi.waitFor(() => expect(platform.kinds('quick')).toEqual(['ask']));
    expect(platform.kinds('slow')).toEqual([]);
    release();
    await runtime.idle();
    expect(platform.kinds('slow')).toEqual(['ask']);
  });

  test('cases never mix', async () => {
    await drains('a');
    await drains('b');
    await give(message({ kind: 'asked', what: 'stop' }, 'a'));
    expect((await caseOf('a')).stopped).toBe(true);
    expect((await caseOf('b')).stopped).toBe(false);
  });

  test('a thread that hangs holds up no other’s timers', async () => {
    await drains('slow');
    await drains('quick');
    now += 30 * minute;
    const release = platform.hang('slow');
    await runtime.ring();
    await vi.waitFor(() => expect(platform.kinds('quick').at(-1)).toBe('ask'));
    expect((await caseOf('quick')).question).toMatchObject({ kind: 'test' });
    release();
    await runtime.idle();
  });
});

describe('when more comes than there is room for', () => {
  test('what does not fit is refused politely, once in a while, and what was taken is kept', async () => {
    await runtime.stop();
    runtime = start(journal, { room: { all: 3, thread: 2 } });
    const received = await Promise.all(
      [opens(), taps('hums'), taps('solid'), taps('done'), opens('u'), opens('v')].map((one) =>
        runtime.receive(one),
      ),
    );
    await runtime.idle();
    expect(received).toEqual(['taken', 'taken', 'busy', 'busy', 'taken', 'busy']);
    expect((await caseOf()).answers).toHaveLength(1);
    expect(platform.kinds().filter((kind) => kind === 'whisper')).toHaveLength(1);
    expect(platform.kinds('v')).toEqual(['whisper']);
    expect(await give(taps('solid'))).toEqual(['taken']);
  });

  test('after the stop nothing is taken in', async () => {
    await runtime.stop();
    expect(await runtime.receive(opens())).toBe('busy');
    expect(await read()).toEqual([]);
  });
});

describe('what cannot be delivered', () => {
  test('is kept with everything behind it, and goes out in order when its time has come', async () => {
    platform.fail(() => true);
    await give(opens(), taps('hums'));
    expect(platform.posted).toEqual([]);
    expect(notices.filter(({ kind }) => kind === 'delivery-failed')).toMatchObject([
      { tries: 1, again: 1000, cause: new Error('the platform is away') },
    ]);
    platform.fail(() => false);
    await give(taps('solid'));
    expect(platform.posted).toEqual([]);
    await beat();
    await runtime.idle();
    expect(platform.kinds()).toEqual(['ask', 'amend', 'ask', 'amend', 'ask']);
    expect(await undelivered()).toEqual([]);
  });

  test('never overtakes: a later message waits for one that fails', async () => {
    platform.fail(({ outbound }) => outbound.kind === 'amend');
    await give(opens(), taps('hums'), taps('solid'));
    expect(platform.kinds()).toEqual(['ask']);
  });

  test('is tried again by itself, under the same name, less and less often', async () => {
    platform.fail(() => new DeliveryFailure('away', 'no network'));
    await give(opens());
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
    platform.fail(({ thread }) => thread === at('away'));
    await give(opens('away'), opens('here'));
    expect(platform.kinds('here')).toEqual(['ask']);
  });

  test('is set aside in the end, people are told, and the thread goes on', async () => {
    await give(opens());
    platform.fail(({ outbound }) => outbound.kind === 'ask');
    await give(taps('hums'));
    for (let second = 0; second < 300; second++) await beat();
    await runtime.idle();
    const asks = platform.tried.filter((id) => id === platform.tried.at(-2));
    expect(notices.filter(({ kind }) => kind === 'set-aside')).toMatchObject([{ outbound: 'ask' }]);
    expect(platform.kinds().slice(-3)).toEqual(['amend', 'handover', 'bench']);
    expect(asks.length).toBeLessThanOrEqual(8);
    expect((await caseOf()).handover).toMatchObject({ reason: 'undelivered' });
    expect(await journal.backlog()).toMatchObject({ waiting: 0, setAside: 1 });
  });

  test('is set aside soon where the platform says that it never will take it', async () => {
    platform.fail(({ outbound }) =>
      outbound.kind === 'ask' ? new DeliveryFailure('refused', 'the thread is locked') : false,
    );
    await give(opens());
    for (let second = 0; second < 5; second++) await beat();
    await runtime.idle();
    expect(platform.tried.slice(0, 3)).toEqual(Array(3).fill(platform.tried[0]));
    expect(platform.kinds()).toEqual(['handover', 'bench']);
  });

  test('while the platform is away is never set aside for that, up to a day', async () => {
    platform.fail(() => new DeliveryFailure('away', 'no network'));
    await give(opens());
    for (let second = 0; second < 1200; second++) await beat();
    expect(notices.filter(({ kind }) => kind === 'set-aside')).toEqual([]);
    now += 24 * 60 * minute;
    for (let second = 0; second < 120; second++) await beat();
    expect(notices.filter(({ kind }) => kind === 'set-aside')).not.toEqual([]);
  });

  test('even to people ends there: nothing goes round in circles', async () => {
    platform.fail(() => new DeliveryFailure('refused', 'the bot was thrown out'));
    await give(opens());
    for (let second = 0; second < 60; second++) await beat();
    await runtime.idle();
    expect(notices.filter(({ kind }) => kind === 'set-aside')).toMatchObject([
      { outbound: 'ask' },
      { outbound: 'handover' },
      { outbound: 'bench' },
    ]);
    expect(await journal.backlog()).toMatchObject({ waiting: 0, setAside: 3 });
  });

  test('because the platform asks to slow down waits as long as it says, and counts as no try', async () => {
    let slow = true;
    platform.fail(({ thread }) =>
      slow && thread === at('t') ? new DeliveryFailure('slow-down', 'slowly', { after: 5000 }) : false,
    );
    await give(opens(), opens('u'));
    slow = false;
    for (let second = 0; second < 4; second++) await beat();
    expect(platform.kinds()).toEqual([]);
    expect(platform.kinds('u')).toEqual(['ask']);
    for (let second = 0; second < 2; second++) await beat();
    await runtime.idle();
    expect(platform.kinds()).toEqual(['ask']);
    expect(notices.filter(({ kind }) => kind === 'set-aside')).toEqual([]);
  });

  test('with everything, where the whole platform asks for it', async () => {
    let slow = true;
    platform.fail(() =>
      slow ? new DeliveryFailure('slow-down', 'slowly', { after: 5000, scope: 'platform' }) : false,
    );
    await give(opens());
    slow = false;
    await give(opens('u'));
    expect(platform.tried).toHaveLength(1);
    for (let second = 0; second < 7; second++) await beat();
    await runtime.idle();
    expect(platform.kinds()).toEqual(['ask']);
    expect(platform.kinds('u')).toEqual(['ask']);
  });

  test('before a restart is delivered after it', async () => {
    platform.fail(() => true);
    await give(opens());
    await runtime.stop();
    platform.fail(() => false);
    runtime = start();
    for (let second = 0; second < 3; second++) await beat();
    await runtime.idle();
    expect(platform.kinds()).toEqual(['ask']);
    await give(taps('hums'));
    expect(platform.kinds()).toEqual(['ask', 'amend', 'ask']);
  });
});

test('a change to a message names the message as the platform does', async () => {
  await give(opens(), taps('hums'));
  const amend = platform.posted.find(({ outbound }) => outbound.kind === 'amend');
  expect(amend).toMatchObject({ amends: 'message 1' });
  await runtime.stop();
  runtime = start();
  await give(taps('solid'));
  expect(platform.posted.filter(({ outbound }) => outbound.kind === 'amend').at(-1)).toMatchObject({
    amends: 'message 3',
  });
});

describe('a declared pace', () => {
  test('is kept in all and in each thread', async () => {
    await runtime.stop();
    platform.adapter = {
      ...platform.adapter,
      abilities: { ...platform.adapter.abilities, pace: { thread: 1 } },
    };
    runtime = start();
    await runtime.receive(opens());
    await runtime.receive(taps('hums'));
    await vi.advanceTimersByTimeAsync(0);
    expect(platform.kinds()).toEqual(['ask']);
    await beat();
    expect(platform.kinds()).toEqual(['ask', 'amend']);
    await beat();
    expect(platform.kinds()).toEqual(['ask', 'amend', 'ask']);
  });
});

describe('timers', () => {
  test('ring once, by the desk’s own beat', async () => {
    await drains();
    now += 30 * minute - 1001;
    await beat();
    expect((await caseOf()).state).toBe('resting');
    now += 1;
    await beat();
    await beat();
    await runtime.idle();
    expect((await read()).filter(({ kind }) => kind === 'woken')).toHaveLength(1);
    expect(platform.kinds().slice(-2)).toEqual(['say', 'ask']);
    // What is left is to ask again, if nobody answers for a day.
    expect(await journal.nextDue()).toBeGreaterThan(now + 24 * 60 * minute);
  });

  test('that fell due while the desk was down ring once, late, and say so', async () => {
    await drains();
    await runtime.stop();
    now += 30 * minute + 3 * 60 * minute;
    runtime = start();
    await Promise.all([runtime.ring(), runtime.ring()]);
    await beat();
    await runtime.idle();
    const said = platform.posted.flatMap(({ outbound }) => (outbound.kind === 'say' ? [outbound.words] : []));
    expect(said.filter((words) => words.includes('The time is over'))).toEqual([
      expect.stringContaining('3 h late'),
    ]);
    expect(notices).toContainEqual({ kind: 'timer', thread: at('t'), late: 180 * minute });
  });

  test('of a case asleep for a year wake it', async () => {
    await drains();
    await runtime.stop();
    now += 366 * 24 * 60 * minute;
    runtime = start();
    await beat();
    await runtime.idle();
    expect((await caseOf()).question).toMatchObject({ kind: 'test' });
  });

  test('of more cases than fit at once all ring', async () => {
    const threads = Array.from({ length: 40 }, (_, i) => `many${i}`);
    for (const thread of threads) await drains(thread);
    await runtime.stop();
    now += 31 * minute;
    runtime = start(journal, { room: { all: 7, thread: 2 } });
    for (let i = 0; i < 3; i++) await beat();
    await runtime.idle();
    const states = await Promise.all(threads.map(async (thread) => (await caseOf(thread)).state));
    expect(states).toEqual(threads.map(() => 'asking'));
  });

  test('are not lost when the clock is set back between looking and ringing', async () => {
    await drains();
    const due = now + 30 * minute;
    await runtime.stop();
    runtime = start({
      ...journal,
      claim: async (which) => {
        const timers = await journal.claim(which);
        now = due - minute;
        return timers;
      },
    });
    now = due;
    await runtime.ring();
    expect((await caseOf()).state).toBe('asking');
  });

  test('of a wait that was begun anew ring at its new time', async () => {
    await drains();
    const first = now + 30 * minute;
    now = first;
    // The person comes first, takes it back and begins again, while the timer of the first wait is on its way.
    const old = await journal.claim({ now, platforms: ['test'], limit: 5 });
    expect(old).toHaveLength(1);
    await give(
      message({ kind: 'said', words: 'I am back' }),
      message({ kind: 'asked', what: 'undo' }),
      taps('done'),
    );
    expect(await journal.nextDue()).toBe(first + 30 * minute);
    await give({ ...message({ kind: 'rang', key: 'wait:drain' }), id: `rang:wait:drain:${first}` });
    expect(await journal.nextDue()).toBe(first + 30 * minute);
    now = first + 30 * minute;
    await runtime.ring();
    expect((await caseOf()).question).toMatchObject({ kind: 'test' });
  });

  test('on a clock that was moved for a demonstration are marked', async () => {
    await drains();
    moved = true;
    now += 30 * minute;
    await runtime.ring();
    await runtime.idle();
    expect(platform.posted.at(-2)?.outbound).toMatchObject({ kind: 'ask', mark: 'demonstration' });
    expect(platform.posted.at(-1)?.outbound).toMatchObject({ kind: 'remind', mark: 'demonstration' });
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
      async append(turn: JournalTurn) {
        if (left > 0) {
          left -= 1;
          const seq = turn.after + 1;
          await journal.append({
            thread: turn.thread,
            inbound: `other ${left}`,
            after: turn.after,
            events: [{ kind: 'noted', seq, at: now, by: 'other', words: `other ${left}` }],
            outbound: [],
            state: 'asking',
          });
        }
        const kept = await journal.append(turn);
        appended.push(kept.kind);
        return kept;
      },
    };
  }

  test('the turn is decided again on what is there now', async () => {
    await runtime.stop();
    runtime = start();
    await give(opens());
    await runtime.stop();
    const busy = crowded(3);
    runtime = start(busy);
    expect(await give(taps('hums'))).toEqual(['taken']);
    expect(busy.appended).toEqual(['conflict', 'conflict', 'conflict', 'done']);
    expect((await caseOf()).words).toEqual(['it hums', 'other 2', 'other 1', 'other 0']);
    expect((await read()).map(({ seq }) => seq)).toEqual((await read()).map((_, i) => i + 1));
  });

  test('for ever, it gives up, says so, and the thread goes on', async () => {
    await give(opens());
    await runtime.stop();
    runtime = start(crowded(20));
    await expect(runtime.receive(taps('hums'))).rejects.toThrow('kept changing');
    expect(await give(taps('hums'))).toEqual(['taken']);
  });

  test('two desks on one journal answer each tap once, in one order', async () => {
    const other = createRuntime({
      journal: memoryJournal({ store, owner: 'other', now: () => now }),
      flows: [radio],
      settings,
      now: () => now,
      moved: () => moved,
      chance: () => 0.5,
      adapters: [platform.adapter],
      notify: (notice) => notices.push(notice),
    });
    await give(opens());
    const tap = taps('hums');
    const received = await Promise.all([runtime.receive(tap), other.receive(tap)]);
    expect(received.toSorted()).toEqual(['seen', 'taken']);
    for (let i = 0; i < 3; i++) await beat();
    await Promise.all([runtime.idle(), other.idle()]);
    expect(platform.kinds()).toEqual(['ask', 'amend', 'ask']);
    expect(await other.receive(taps('solid'))).toBe('taken');
    for (let i = 0; i < 3; i++) await beat();
    await Promise.all([runtime.idle(), other.idle()]);
    expect(platform.kinds()).toEqual(['ask', 'amend', 'ask', 'amend', 'ask']);
    await other.stop();
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
    expect(notices).toContainEqual({
      kind: 'turn-failed',
      thread: at('t'),
      cause: new Error('the disk is full'),
    });
    expect(await read()).toEqual([]);
    broken = false;
    expect(await give(opens())).toEqual(['taken']);
  });

  test('a beat that fails is reported, and the next one comes', async () => {
    let broken = true;
    await drains();
    await runtime.stop();
    runtime = start({
      ...journal,
      claim: async (which) => (broken ? Promise.reject(new Error('no database')) : journal.claim(which)),
    });
    now += 30 * minute;
    await beat();
    expect(problems()).toMatchObject([{ cause: new Error('no database') }]);
    broken = false;
    await beat();
    expect((await caseOf()).state).toBe('asking');
  });
});

test('stopping waits for the turn and the delivery under way', async () => {
  const release = platform.hang('t');
  await runtime.receive(opens());
  let stopped = false;
  const stopping = runtime.stop().then(() => {
    stopped = true;
  });
  await Promise.resolve();
  expect(stopped).toBe(false);
  release();
  await stopping;
  expect(platform.kinds()).toEqual(['ask']);
});
