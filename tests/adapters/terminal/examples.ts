import { PassThrough } from 'node:stream';
import type { Page } from '../../../adapters/terminal/outbound.ts';
import { createTerminal, type TerminalOptions } from '../../../adapters/terminal/terminal.ts';
import type { Desk } from '../../../shared/adapter.ts';
import type { Inbound } from '../../../shared/inbound.ts';
import type { Ask, Outbound } from '../../../shared/outbound.ts';

const noDesk: Desk = {
  latest: async () => null,
  request: async () => ({ words: '', cases: [] }),
};

/** Messages and a scripted desk, built by hand. The appliance and its figures are made up. */

export const NOON = Date.UTC(2031, 5, 4, 12, 0);

export const PAGE: Page = { width: 80, colour: false, person: 'p1', now: NOON, timeZone: 'UTC' };

const ASK: Ask = {
  kind: 'ask',
  key: 'q1',
  step: 'torch-test',
  phase: 'check',
  number: 3,
  title: 'Look for a faint picture with a torch',
  hazards: [],
  how: [],
  notes: [],
  question: 'Can you see a faint picture?',
  tools: [],
  minutes: 0,
  wait: 0,
  choices: [
    { id: 'faint', label: 'Yes, a faint image' },
    { id: 'black', label: 'No, completely black' },
  ],
  controls: [],
};

export function ask(changes: Partial<Ask> = {}): Ask {
  return { ...ASK, ...changes };
}

export const TORCH = ask({
  hazards: [
    {
      word: 'WARNING',
      text: 'Keep the back on. Mains voltage inside can kill, even with the set switched off.',
    },
    { word: 'NOTICE', text: 'Do not press on the panel.' },
  ],
  how: [
    'Darken the room and switch the set on.',
    'Hold a bright torch close to the screen, at a slant, and look along its beam for something that moves or for letters.',
  ],
  tools: ['a torch', 'a dark room'],
  minutes: 3,
  controls: ['unsure', 'cannot', 'why', 'where', 'undo', 'person', 'stop'],
});

export const STANDBY = ask({
  key: 'q2',
  step: 'standby-rail',
  number: 7,
  title: 'Measure the standby voltage',
  question: 'What does the meter show?',
  choices: [
    { id: 'none', label: 'Under 1 V' },
    { id: 'low', label: '1 V to 4.5 V' },
    { id: 'good', label: '4.5 V or more' },
  ],
  controls: ['unsure', 'cannot', 'stop'],
  reading: { unit: 'V', current: 'dc', example: '4.97 V' },
});

export const SETTLED: Outbound = {
  kind: 'settle',
  outcome: 'Fixed',
  fault: 'fuse',
  belief: 0.9,
  words: 'Good: it works again.',
  card: '# Job card\n\n- Outcome: Fixed',
};

/** What the desk does with an inbound message: the messages it sends before it is done with it. */
export type Script = (inbound: Inbound) => readonly Outbound[];

export interface Stage {
  readonly input: PassThrough;
  readonly received: Inbound[];
  /** All that was written so far. */
  written(): string;
  readonly terminal: ReturnType<typeof createTerminal>;
  /** Sends a message that nobody's line brought about, such as one of a timer. */
  send(outbound: Outbound): Promise<string>;
}

/** A terminal on streams in memory, with a desk that answers by the script. Started. */
export async function stage(script: Script, changes: Partial<TerminalOptions> = {}): Promise<Stage> {
  const input = new PassThrough();
  const output = new PassThrough();
  const received: Inbound[] = [];
  let written = '';
  let ids = 0;
  output.on('data', (chunk: Buffer) => {
    written += chunk.toString('utf8');
  });
  const terminal = createTerminal({
    input,
    output,
    person: { id: 'p1', name: 'Nilo', level: 'new', roles: [] },
    thread: 't1',
    json: false,
    colour: false,
    width: 80,
    skipWaits: false,
    now: () => NOON,
    advance: async () => undefined,
    moved: () => false,
    newId: () => `in-${++ids}`,
    ...changes,
  });
  let sent = 0;
  const send = (outbound: Outbound) => terminal.deliver({ id: `out-${++sent}`, thread: 't1', outbound });
  await terminal.start(async (inbound) => {
    received.push(inbound);
    // A desk takes its time: whoever does not wait for it mixes up the order.
    for (const outbound of script(inbound)) {
      await new Promise((resolve) => setTimeout(resolve, 2));
      await send(outbound);
    }
    return 'taken';
  }, noDesk);
  return { input, received, written: () => written, terminal, send };
}
