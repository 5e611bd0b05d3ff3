import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import type { Abilities, Adapter, Delivery } from '../../shared/adapter.ts';
import type { Inbound } from '../../shared/inbound.ts';
import { type MemoryStore, memoryJournal, memoryStore } from '../../src/journal/memory.ts';
import type { Notice } from '../../src/notice.ts';
import { createRuntime, type Runtime, type RuntimeOptions } from '../../src/runtime/runtime.ts';
import { following } from '../conversations/thread.ts';
import { people, radio } from '../core/example-flow.ts';

/** What delivery promises when several desks share a journal and a platform, and when clocks differ. */

const day = 24 * 60 * 60_000;
let now = 0;
let store: MemoryStore;
let tried: Delivery[];
let posted: Delivery[];
/** What becomes of a delivery, where it is not simply posted. */
let fate: (delivery: Delivery) => Promise<void> | undefined;
let notices: Notice[];
let desks: Runtime[];
let count = 0;

function desk(owner: string, pace: NonNullable<Abilities['pace']> = {}, more: Partial<RuntimeOptions> = {}) {
  const adapter: Adapter = {
    name: 'test',
    abilities: { buttons: 5, length: 2000, pictures: false, forms: false, pace },
    start: async () => undefined,
    stop: async () => undefined,
    async deliver(delivery) {
      tried.push(delivery);
      await fate(delivery);
      posted.push(delivery);
      return `message ${posted.length}`;
    },
  };
  const made = createRuntime({
    journal: memoryJournal({ store, owner, now: () => now }),
    flows: [radio],
    settings: following('drain', 'dial-lamp', 'settings'),
    now: () => now,
    moved: () => false,
    chance: () => 0.5,
    adapters: [adapter],
    notify: (notice) => notices.push(notice),
    ...more,
  });
  desks.push(made);
  return made;
}

type Content<I = Inbound> = I extends Inbound ? Omit<I, 'id' | 'thread' | 'at' | 'by'> : never;
const message = (content: Content): Inbound =>
  ({ id: `m${++count}`, thread: 'test:t', at: now, by: people.asker, ...content }) as Inbound;
const opens = (): Inbound => message({ kind: 'opened', words: 'it hums', place: '' });
/** The numbers that the journal gave to messages, as it gave them. */
const numbers = (deliveries: readonly Delivery[]): number[] => deliveries.map(({ id }) => JSON.parse(id)[1]);
async function seconds(many: number): Promise<void> {
  for (let i = 0; i < many * 10; i++) {
    now += 100;
    await vi.advanceTimersByTimeAsync(100);
  }
}

beforeEach(() => {
  vi.useFakeTimers({ toFake: ['setInterval', 'clearInterval', 'setTimeout', 'clearTimeout', 'Date'] });
  now = 1_000_000_000_000;
  count = 0;
  store = memoryStore();
  tried = [];
  posted = [];
  fate = () => undefined;
  notices = [];
  desks = [];
});
afterEach(async () => {
  for (const one of desks) await one.stop();
  vi.useRealTimers();
});

test('what another desk wrote in between is not overtaken', async () => {
  const [here, there] = [desk('here'), desk('there')];
  await here.receive(opens());
  await here.idle();
  const busy = Promise.withResolvers<void>();
  fate = () => busy.promise;
  await here.receive(message({ kind: 'photo', references: ['p1'] }));
  await there.receive(message({ kind: 'photo', references: ['p2'] }));
  await here.receive(message({ kind: 'photo', references: ['p3'] }));
  busy.resolve();
  await seconds(3);
  expect(numbers(posted)).toEqual([1, 2, 3, 4]);
});

test('what was read from the journal and posted before its own turn came back is not posted again', async () => {
  const journal = memoryJournal({ store, owner: 'here', now: () => now });
  const late = Promise.withResolvers<void>();
  const here = desk(
    'here',
    {},
    {
      journal: {
        ...journal,
        async append(turn) {
          const appended = await journal.append(turn);
          await late.promise;
          return appended;
        },
      },
    },
  );
  const received = here.receive(opens());
  await seconds(3);
  expect(numbers(posted)).toEqual([1]);
  late.resolve();
  expect(await received).toBe('taken');
  await seconds(3);
  expect(numbers(tried)).toEqual([1]);
  expect(await journal.backlog()).toMatchObject({ waiting: 0 });
});

test('a message on its way is nobody else’s, however long it waited for the platform’s pace', async () => {
  const here = desk('here', { thread: 1 / 3 });
  desk('there');
  await here.receive(opens());
  await seconds(4.5);
  fate = ({ outbound }) =>
    outbound.kind === 'ask' ? new Promise((resolve) => setTimeout(resolve, 7900)) : undefined;
  // One message at once, the next three seconds later; and that one takes its time.
  await here.receive(message({ kind: 'chose', answer: 'hums' }));
  await seconds(20);
  expect(numbers(tried)).toEqual([1, 2, 3]);
  expect(numbers(posted)).toEqual([1, 2, 3]);
});

test('on a clock that runs days ahead a failure is tried again, not given up', async () => {
  const ahead = desk('here', {}, { now: () => now + 6 * day, machine: () => now });
  let away = true;
  fate = async () => {
    if (away) throw new Error('the platform is away');
  };
  await ahead.receive(opens());
  await seconds(1);
  away = false;
  await seconds(3);
  expect(notices.filter(({ kind }) => kind === 'set-aside')).toEqual([]);
  expect(numbers(posted)).toEqual([1]);
});
