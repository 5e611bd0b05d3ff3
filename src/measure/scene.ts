import type { Adapter } from '../../shared/adapter.ts';
import type { Flow } from '../../shared/flow.ts';
import type { Ask } from '../../shared/outbound.ts';
import type { Settings } from '../core/settings.ts';
import type { Journal, JournalTurn } from '../journal/journal.ts';
import type { Notify } from '../notice.ts';
import { createRuntime, type Runtime } from '../runtime/runtime.ts';

/** A desk with people who answer at once, on a platform in memory: what the journal costs a whole turn. */
export interface Scene {
  readonly runtime: Runtime;
  /** One conversation up to its first wait or its end; each of a few kinds. Resolves to its number of turns. */
  converse(thread: string, kind: number): Promise<number>;
  /** From `receive` to the acknowledgement, of each turn since the last call, milliseconds. */
  times(): number[];
  /** Plans worked out since the last call. */
  planned(): number;
}

export const platform = 'measure';
/** Kinds of conversations. */
export const kinds = 8;
type Content =
  | { readonly kind: 'opened'; readonly words: string; readonly place: string }
  | { readonly kind: 'chose'; readonly answer: string; readonly of: string };

/** Answers given at most. */
const longest = 14;

export function openScene(journal: Journal, flow: Flow, settings: Settings): Scene {
  /** Who waits for the next thing said in a thread; null: it rests or is over. */
  const listening = new Map<string, (ask: Ask | null) => void>();
  const adapter: Adapter = {
    name: platform,
    abilities: { buttons: 25, length: 4000, pictures: false, forms: false },
    start: async () => undefined,
    stop: async () => undefined,
    async deliver({ id, thread, outbound }) {
      if (outbound.kind === 'ask') listening.get(thread)?.(outbound);
      const waits = outbound.kind === 'remind' && outbound.later !== true;
      if (waits || outbound.kind === 'settle' || outbound.kind === 'handover') listening.get(thread)?.(null);
      return id;
    },
  };
  let planned = 0;
  let times: number[] = [];
  let count = 0;
  const notify: Notify = (notice) => {
    if (notice.kind === 'plan') planned += 1;
    if (notice.kind === 'problem' || notice.kind === 'turn-failed') throw notice.cause;
  };
  const runtime = createRuntime({
    journal,
    flows: [flow],
    settings,
    now: Date.now,
    moved: () => false,
    adapters: [adapter],
    notify,
  });

  async function give(thread: string, content: Content): Promise<Ask | null> {
    const { promise, resolve } = Promise.withResolvers<Ask | null>();
    listening.set(thread, resolve);
    const began = performance.now();
    count += 1;
    const received = await runtime.receive({
      id: `m${count}`,
      thread,
      at: Date.now(),
      by: { id: 'asker', name: 'An asker', level: 'handy', roles: [] },
      ...content,
    });
    times.push(performance.now() - began);
    if (received !== 'taken') throw new Error(`A turn was ${received}.`);
    return promise;
  }

  return {
    runtime,
    async converse(thread, kind) {
      let turns = 1;
      let ask = await give(thread, {
        kind: 'opened',
        words: 'there is sound but no picture',
        place: '',
      } as never);
      while (ask && turns < longest) {
        const choices = ask.choices.filter(({ id }) => id !== 'danger');
        const choice = choices[(kind + turns) % choices.length];
        if (!choice) break;
        ask = await give(thread, { kind: 'chose', answer: choice.id, of: ask.key });
        turns += 1;
      }
      listening.delete(thread);
      return turns;
    },
    times() {
      const all = times;
      times = [];
      return all;
    },
    planned() {
      const so = planned;
      planned = 0;
      return so;
    },
  };
}

/** A journal that remembers the turns written through it, by thread. */
export function recording(journal: Journal): {
  readonly journal: Journal;
  readonly turns: Map<string, JournalTurn[]>;
} {
  const turns = new Map<string, JournalTurn[]>();
  return {
    turns,
    journal: {
      ...journal,
      append: (turn) => {
        turns.set(turn.thread, [...(turns.get(turn.thread) ?? []), turn]);
        return journal.append(turn);
      },
    },
  };
}
