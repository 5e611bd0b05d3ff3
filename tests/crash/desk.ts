import { type Adapter, DeliveryFailure } from '../../shared/adapter.ts';
import { openCache } from '../../src/cache/open-cache.ts';
import { openJournal } from '../../src/journal/open-journal.ts';
import type { Notice } from '../../src/notice.ts';
import { onStop } from '../../src/operations/shutdown.ts';
import { createRuntime, type Runtime } from '../../src/runtime/runtime.ts';
import { type FromDesk, notOpened, platform, type ToDesk } from './protocol.ts';
import { flow, settings } from './scene.ts';

/** A desk in a process of its own: the real journal, cache and runtime; a chat platform at the other end of a channel. */

let doom: { readonly at: string; left: number } | null = null;
let ahead = 0;
let runtime: Runtime | null = null;
let calls = 0;
const answers = new Map<number, PromiseWithResolvers<string>>();

function passing(point: string): void {
  if (doom?.at !== point) return;
  doom.left -= 1;
  // SIGKILL to oneself is there before the call comes back.
  if (doom.left === 0) process.kill(process.pid, 'SIGKILL');
}

const send = (message: FromDesk): void => {
  process.send?.(message);
};

function notify(notice: Notice): void {
  if (notice.kind === 'problem') problem(notice.what, notice.cause);
  else if (notice.kind === 'turn-failed') problem(`A turn in ${notice.thread} failed`, notice.cause);
  else if (notice.kind === 'set-aside')
    problem(`Message ${notice.message} in ${notice.thread} was set aside`, notice.cause);
}
const problem = (what: string, cause: unknown): void =>
  send({ kind: 'problem', what: `${what}: ${cause instanceof Error ? cause.message : String(cause)}` });

const adapter: Adapter = {
  name: platform,
  abilities: { buttons: 5, length: 2000, pictures: false, forms: false },
  start: async () => undefined,
  deliver(delivery) {
    calls += 1;
    const answer = Promise.withResolvers<string>();
    answers.set(calls, answer);
    send({ kind: 'deliver', call: calls, delivery });
    return answer.promise;
  },
  stop: async () => undefined,
};

async function open({ journal: place, keys, claimAge }: Extract<ToDesk, { kind: 'open' }>): Promise<void> {
  const report = (what: string): void => problem(what, '');
  const journal = await openJournal({ journal: place, keys, claimAge, report, passing });
  const cache = await openCache({ url: null, db: journal.db, version: 'crash', notify, now: Date.now });
  const desk = createRuntime({
    journal,
    cache,
    flows: [flow],
    settings,
    now: () => Date.now() + ahead,
    machine: Date.now,
    // To this desk its clock is right: nothing is a demonstration.
    moved: () => false,
    adapters: [adapter],
    notify,
    claimAge,
    passing,
  });
  onStop(
    [
      { name: 'the desk', run: () => desk.stop() },
      { name: 'the cache', run: () => cache.close() },
      { name: 'the journal', run: () => journal.close(), releases: true },
    ],
    { notify },
  );
  runtime = desk;
}

async function heard(message: ToDesk): Promise<void> {
  switch (message.kind) {
    case 'open':
      ahead = message.ahead;
      await open(message).catch((cause) => {
        problem('The journal could not be opened', cause);
        process.exit(notOpened);
      });
      send({ kind: 'opened' });
      return;
    case 'die':
      doom = { at: message.at, left: message.pass };
      return;
    case 'clock':
      ahead = message.ahead;
      await runtime?.ring().catch((cause) => problem('Timers could not be rung', cause));
      return;
    case 'inbound': {
      const { id, thread } = message.inbound;
      const result = await runtime?.receive(message.inbound).catch(() => 'failed' as const);
      send({ kind: 'received', id, thread, result: result ?? 'failed' });
      return;
    }
    case 'posted':
      answers.get(message.call)?.resolve(message.reference);
      answers.delete(message.call);
      return;
    case 'not-posted':
      answers
        .get(message.call)
        ?.reject(new DeliveryFailure(message.code, 'The platform says no.', { after: message.after }));
      answers.delete(message.call);
      return;
    case 'tell': {
      const cases = [];
      for (const thread of message.threads)
        cases.push({ thread, text: JSON.stringify(await runtime?.caseOf(thread)) });
      send({ kind: 'told', cases });
      return;
    }
    default:
      message satisfies never;
  }
}

process.on('message', (message) => void heard(message as ToDesk));
// The world is gone.
process.on('disconnect', () => process.exit(4));
send({ kind: 'loaded' });
