import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Event } from '../../shared/case.ts';
import type { Outbound } from '../../shared/outbound.ts';
import type { JournalTurn } from '../../src/journal/journal.ts';
import { openJournal, type Place } from '../../src/journal/open-journal.ts';
import type { SqlJournal } from '../../src/journal/sql.ts';
import type { Desk } from '../../src/keeping/desk.ts';
import { freshDatabase } from '../services.ts';

/** A desk's places in a folder or a database of its own, with a clock that the test moves. */
export interface KeptDesk extends Desk {
  readonly journal: Place;
  readonly keys: Place;
  readonly clock: { now: number };
  /** Said so far. */
  readonly said: string[];
  readonly warned: string[];
  open(): Promise<SqlJournal>;
  drop(): Promise<void>;
}

export type Kind = Place['kind'];

export const began = 1_700_000_000_000;

export async function keptDesk(kind: Kind): Promise<KeptDesk> {
  const clock = { now: began };
  const now = (): number => clock.now;
  const said: string[] = [];
  const warned: string[] = [];
  const { journal, keys, drop } = kind === 'sqlite' ? await inFolder() : await inServer();
  const opened: SqlJournal[] = [];
  return {
    journal,
    keys,
    clock,
    now,
    said,
    warned,
    out: (line) => void said.push(line),
    err: (line) => void warned.push(line),
    async open() {
      const one = await openJournal({ journal, keys, now, report: () => undefined });
      let closed = false;
      const once = {
        ...one,
        async close() {
          if (!closed) await one.close();
          closed = true;
        },
      };
      opened.push(once);
      return once;
    },
    async drop() {
      for (const one of opened) await one.close();
      await drop();
    },
  };
}

async function inFolder() {
  const dir = await mkdtemp(join(tmpdir(), 'kept-'));
  return {
    journal: { kind: 'sqlite', file: join(dir, 'desk.db') } as const,
    keys: { kind: 'sqlite', file: join(dir, 'keys.db') } as const,
    drop: () => rm(dir, { recursive: true }),
  };
}

async function inServer() {
  const { url, drop } = await freshDatabase();
  const place = { kind: 'postgres', url } as const;
  return { journal: place, keys: place, drop };
}

/** A folder for backups; the caller removes it. */
export const newFolder = (): Promise<string> => mkdtemp(join(tmpdir(), 'backups-'));

export const noted = (seq: number, words: string, by = 'ada', at = 1000 * seq): Event => ({
  kind: 'noted',
  seq,
  at,
  by,
  words,
});
export const opening = (words: string, by = 'ada', seq = 1): Event => ({
  kind: 'opened',
  seq,
  at: 1000 * seq,
  by,
  words,
  place: '',
});
export const joining = (seq: number, person: string, name: string): Event => ({
  kind: 'joined',
  seq,
  at: 1000 * seq,
  by: person,
  person,
  name,
  level: null,
  roles: [],
});
export const say = (words: string): Outbound => ({ kind: 'say', words });
export const remind = (key: string, due: number): Outbound => ({
  kind: 'remind',
  key,
  due,
  reason: 'a wait',
});
export const ask = (key: string, title: string): Outbound => ({
  kind: 'ask',
  key,
  step: 'x',
  phase: 'check',
  number: 1,
  title,
  hazards: [],
  how: [],
  notes: [],
  question: 'What?',
  tools: [],
  minutes: 1,
  wait: 0,
  choices: [],
  controls: [],
});
export const turn = (
  thread: string,
  inbound: string,
  after: number,
  more: Partial<JournalTurn> = {},
): JournalTurn => ({ thread, inbound, after, events: [], outbound: [], state: 'asking', ...more });

/** Three cases with everything a journal can hold. */
export async function furnished(journal: SqlJournal): Promise<void> {
  await journal.append(
    turn('t:1', 'a', 0, {
      events: [joining(1, 'ada', 'Ada Quillon'), opening('my set is at 5 Elm Row', 'ada', 2)],
      outbound: [say('Hello Ada Quillon'), ask('q1', 'Look, Ada Quillon'), remind('wait', 50)],
    }),
  );
  const waiting = await journal.take('t:1');
  for (const [i, { id }] of (waiting ?? []).entries()) await journal.delivered(id, `message ${i}`);
  await journal.append(
    turn('t:1', 'b', 2, {
      events: [joining(3, 'bo"b', 'Bob'), noted(4, 'call me on 0123 “Ω” 🔥 \u0000', 'bo"b')],
      outbound: [say('Bob said: 0123'), ask('q2', 'Still Elm Row?'), remind('late', 9_000)],
    }),
  );
  const [first] = (await journal.take('t:1')) ?? [];
  await journal.setAside(first?.id ?? '', 'the platform said no');
  await journal.release('t:1');
  await journal.append(
    turn('t","2', 'a', 0, { events: [opening('quietly odd', '"cy')], outbound: [say('odd')] }),
  );
  await journal.append(turn('u:3', 'a', 0, { outbound: [say('nobody yet')] }));
  await journal.append(
    turn('u:4', 'a', 0, {
      events: [{ kind: 'answered', seq: 1, at: 7, by: 'dee', level: 'new', step: 's', outcome: 'o' }],
    }),
  );
  await journal.reference('t:1', 'makes it write');
}

/** All that can be read of a journal through its port. */
export async function picture(journal: SqlJournal, threads: readonly string[]) {
  const of = async (thread: string) => ({
    ...(await journal.read(thread)),
    waiting: await journal.take(thread),
    references: [await journal.reference(thread, 'q1'), await journal.reference(thread, 'q2')],
  });
  const cases = [];
  for (const thread of threads) cases.push(await of(thread));
  const people = [];
  for (const person of ['ada', 'bo"b', '"cy', 'dee']) people.push(await journal.threadsOf(person));
  return { cases, people, backlog: await journal.backlog(), due: await journal.nextDue() };
}
export const furnishedThreads = ['t:1', 't","2', 'u:3', 'u:4'] as const;
