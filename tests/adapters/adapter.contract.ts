import { afterEach, beforeAll, describe, expect, test } from 'vitest';
import type { Adapter } from '../../shared/adapter.ts';
import type { Event } from '../../shared/case.ts';
import type { Control } from '../../shared/inbound.ts';
import type { Ask } from '../../shared/outbound.ts';
import { memoryJournal } from '../../src/journal/memory.ts';
import { createRequests } from '../../src/runtime/requests.ts';
import { createRuntime, type Runtime } from '../../src/runtime/runtime.ts';
import { following } from '../conversations/thread.ts';
import { radio } from '../core/example-flow.ts';
import { nothingLearnt } from '../learning/nothing-learnt.ts';

/**
 * Whole cases through an adapter, its platform and back: whatever the platform, the same conversation leaves the same
 * journal, but for ids. What cannot be done there in the same words (a form, a tap) is done in the platform's own way.
 */
export interface Stage {
  readonly adapter: Adapter;
  /** After the adapter was started. */
  begin?(): Promise<void>;
  /** What the owner does, each resolved once the desk has taken it in. `ask` is the question that stands on the screen. */
  opens(words: string): Promise<void>;
  taps(ask: Ask, answer: string): Promise<void>;
  writes(words: string): Promise<void>;
  /** Through a form, where there are any. */
  enters(ask: Ask, reading: string): Promise<void>;
  asks(ask: Ask, control: Control): Promise<void>;
  /** What stands in the thread now, as text; a message that was changed stands there as it is now. */
  read(): Promise<string>;
  close(): Promise<void>;
}

/** Makes a stage whose clock is `now`. */
export type MakeStage = (now: () => number) => Promise<Stage>;

type Move =
  | { readonly tap: string }
  | { readonly write: string }
  | { readonly enter: string }
  | { readonly ask: Control }
  /** Minutes go by, and what is due rings. */
  | { readonly later: number };

interface Script {
  readonly name: string;
  readonly plan: readonly string[];
  readonly opens: string;
  readonly moves: readonly Move[];
}

const scripts: readonly Script[] = [
  {
    name: 'taps from complaint to mended',
    plan: ['drain', 'settings'],
    opens: 'It lights up but is silent',
    moves: [{ tap: 'silent' }, { tap: 'solid' }, { tap: 'done' }, { later: 31 }, { tap: 'works' }],
  },
  {
    name: 'words, an undo, and people in the end',
    plan: ['dial-lamp', 'knob-feel', 'settings'],
    opens: 'it hums',
    moves: [
      { tap: 'hums' },
      { tap: 'solid' },
      { write: 'yes, it glows' },
      { ask: 'undo' },
      { tap: 'no' },
      { ask: 'unsure' },
      { ask: 'person' },
    ],
  },
  {
    name: 'danger in the middle of it',
    plan: ['dial-lamp', 'settings'],
    opens: 'It lights up but is silent',
    moves: [{ tap: 'silent' }, { tap: 'solid' }, { write: 'there is smoke coming out of it' }],
  },
  {
    name: 'a proof of discharge, with readings',
    plan: ['reseat'],
    opens: 'It lights up but is silent',
    moves: [
      { tap: 'silent' },
      { tap: 'solid' },
      { tap: 'handy' },
      { tap: 'light' },
      { tap: 'yes' },
      { tap: 'unplugged' },
      { later: 21 },
      { tap: 'opened' },
      { enter: '1.55 V' },
      { enter: '0.3 V' },
      { enter: '0.1 V' },
      { enter: '1.55 V' },
      { ask: 'why' },
      { ask: 'where' },
    ],
  },
];

export function adapterContract(name: string, make: MakeStage): void {
  describe(`the adapter: ${name}`, () => {
    const reference = new Map<string, unknown[]>();
    const closing: (() => Promise<void>)[] = [];
    beforeAll(async () => {
      for (const script of scripts) reference.set(script.name, (await play(script, direct)).events);
    });
    afterEach(async () => {
      for (const close of closing.splice(0)) await close();
    });

    test.each(scripts)('leaves the same journal as any other: $name', async (script) => {
      const { events, read } = await play(script, make, closing);
      expect(events).toEqual(reference.get(script.name));
      const shown = await read();
      // What was answered is shown; what is open can be read.
      expect(shown.length).toBeGreaterThan(0);
    });
  });
}

/** Plays a script on a stage; resolves with the journal's events but for ids, places and names of the platform. */
async function play(
  { plan, opens, moves }: Script,
  make: MakeStage,
  closing: (() => Promise<void>)[] = [],
): Promise<{ readonly events: unknown[]; read(): Promise<string> }> {
  let now = Date.UTC(2031, 5, 4, 9, 0);
  const journal = memoryJournal({ now: () => now });
  const stage = await make(() => now);
  let ask: Ask | null = null;
  let thread = '';
  const { adapter } = stage;
  const settings = following(...plan);
  const watched: Adapter = {
    name: adapter.name,
    abilities: adapter.abilities,
    start: (receive, desk) => adapter.start(receive, desk),
    stop: () => adapter.stop(),
    async deliver(delivery) {
      const reference = await adapter.deliver(delivery);
      thread = delivery.thread;
      if (delivery.outbound.kind === 'ask') ask = delivery.outbound;
      return reference;
    },
  };
  const runtime: Runtime = createRuntime({
    journal,
    flows: [radio],
    settings,
    now: () => now,
    machine: Date.now,
    moved: () => false,
    adapters: [watched],
    notify: () => undefined,
  });
  const close = async (): Promise<void> => {
    await adapter.stop();
    await runtime.stop();
    await stage.close();
  };
  closing.push(close);
  const desk = createRequests({
    journal,
    settings,
    caseOf: runtime.caseOf,
    flowOf: runtime.flowOf,
    learning: nothingLearnt(),
    erase: async () => 0,
  });
  await adapter.start(runtime.receive, desk);
  await stage.begin?.();
  const open = (): Ask => {
    if (ask === null) throw new Error('nothing was asked yet');
    return ask;
  };
  await stage.opens(opens);
  await runtime.idle();
  for (const move of moves) {
    if ('tap' in move) await stage.taps(open(), move.tap);
    else if ('write' in move) await stage.writes(move.write);
    else if ('enter' in move) await stage.enters(open(), move.enter);
    else if ('ask' in move) await stage.asks(open(), move.ask);
    else {
      now += move.later * 60_000;
      await runtime.ring();
    }
    await runtime.idle();
  }
  const { events } = await journal.read(thread);
  if (closing.length === 0) await close();
  return { events: events.map(plain), read: () => stage.read() };
}

/** People by the order in which they come up; nothing else of an event is the platform's. */
function plain(event: Event): unknown {
  const text = JSON.stringify(event, (key, value: unknown) => {
    if (key === 'place' || key === 'name') return '';
    if ((key === 'by' || key === 'person') && value !== 'desk') return 'owner';
    return value;
  });
  return JSON.parse(text);
}

/** No platform at all: what the desk would be told by a perfect one. */
const direct: MakeStage = async (now) => {
  let count = 0;
  let give: (content: object) => Promise<void> = async () => undefined;
  const by = { id: 'owner', name: 'Ann', roles: [] };
  return {
    adapter: {
      name: 'direct',
      abilities: { buttons: 5, length: 2000, pictures: true, forms: true },
      async start(receive) {
        give = async (content) => {
          count += 1;
          await receive({ id: `d${count}`, thread: 'direct:1', at: now(), by, ...content } as never);
        };
      },
      deliver: async ({ id }) => id,
      stop: async () => undefined,
    },
    opens: (words) => give({ kind: 'opened', words, place: '' }),
    taps: ({ key }, answer) => give({ kind: 'chose', answer, of: key }),
    writes: (words) => give({ kind: 'said', words }),
    enters: ({ key }, reading) => give({ kind: 'measured', reading, of: key }),
    asks: (_, what) => give({ kind: 'asked', what }),
    read: async () => '',
    close: async () => undefined,
  };
};
