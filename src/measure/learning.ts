import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Event } from '../../shared/case.ts';
import type { Flow } from '../../shared/flow.ts';
import type { Settings } from '../core/settings.ts';
import { step, tablesOf } from '../core/step.ts';
import type { Journal } from '../journal/journal.ts';
import { openJournal } from '../journal/open-journal.ts';
import { addCase, removeCase, type Tally } from '../learning/counts.ts';
import { undecided } from '../learning/decided.ts';
import { figuresOf } from '../learning/figures.ts';
import { notGivenUp } from '../learning/given-up.ts';
import { rebuild } from '../learning/rebuild.ts';
import { allSettled } from '../outcomes/all-settled.ts';
import type { SettledCase } from '../outcomes/settled.ts';
import { random } from '../rehearsal/random.ts';
import { runCase } from '../rehearsal/run.ts';
import { drawTruth } from '../rehearsal/truth.ts';
import { placesIn } from './many.ts';
import { platform } from './scene.ts';

/** What learning costs with very many settled cases. */
export interface LearningFigures {
  readonly cases: number;
  readonly events: number;
  /** Of one more settled case, counted and taken back again, milliseconds each. */
  readonly update: { readonly p50: number; readonly p99: number; readonly limit: number };
  /** All figures of the flow anew with their intervals and cases, as `learnt show` has them; milliseconds. */
  readonly figures: number;
  /** From the journal in SQLite, seconds; of the cases alone, once read, seconds. */
  readonly rebuild: { readonly journal: number; readonly counting: number; readonly limit: number };
  /** How many other orders gave the same bytes, of how many. */
  readonly same: { readonly orders: number; readonly of: number };
}

const limits = { update: 2, rebuild: 20 };

export async function measureLearning(
  flow: Flow,
  settings: Settings,
  cases: number,
): Promise<LearningFigures> {
  const dir = mkdtempSync(join(tmpdir(), 'measure-'));
  const journal = await openJournal({ ...placesIn(dir), report: (what) => console.error(what) });
  try {
    const events = await fillSettled(journal, cases, flow, settings);
    const { took: fromJournal, value: tally } = await timed(async () =>
      rebuild(allSettled(journal, [flow], await notGivenUp(journal)), [flow], settings, new Set()),
    );
    const all = await Array.fromAsync(allSettled(journal, [flow]));
    const counted = await timed(() => rebuild(all, [flow], settings, new Set()));
    const bytes = bytesOf(tally);
    const orders = [all.toReversed(), shuffled(all, 1), shuffled(all, 2)];
    let same = 0;
    for (const one of orders)
      if (bytesOf(await rebuild(one, [flow], settings, new Set())).equals(bytes)) same++;
    return {
      cases: tally.flows.get(flow.flow)?.cases.size ?? 0,
      events,
      update: { ...updates(tally, all, flow, settings), limit: limits.update },
      figures: (await timed(async () => figuresOf(flow, tally, undecided, settings, Date.now()))).took,
      rebuild: {
        journal: fromJournal / 1000,
        counting: counted.took / 1000,
        limit: limits.rebuild,
      },
      same: { orders: same, of: orders.length },
    };
  } finally {
    await journal.close();
    rmSync(dir, { recursive: true });
  }
}

/** Kinds of cases. */
const kinds = 12;

/** The events of a rehearsed case up to its end. */
function courseOf(flow: Flow, settings: Settings, index: number): readonly Event[] {
  const events: Event[] = [];
  const truth = drawTruth(tablesOf(flow, settings), 1, index, 0.2, settings.community.reliability.handy);
  runCase(flow, settings, truth, 'handy', {
    turn: (kase, inbound) => void events.push(...step(kase, inbound, flow, settings).events),
  });
  return events;
}

/** Rehearsed cases, each with a mender's word on what it was; resolves to the number of events. */
export async function fillSettled(
  journal: Journal,
  cases: number,
  flow: Flow,
  settings: Settings,
): Promise<number> {
  const courses = Array.from({ length: kinds }, (_, i) => courseOf(flow, settings, i));
  const faults = flow.faults.map(({ id }) => id).filter((id) => id !== 'something-else');
  const day = 24 * 60 * 60_000;
  const chance = random('settled', flow.flow);
  let written = 0;
  let next = 0;
  /** As many at a time as go into one transaction. */
  const write = async (): Promise<void> => {
    while (next < cases) {
      const i = next++;
      const course = courses[i % courses.length] as readonly Event[];
      const last = course.at(-1) as Event;
      const fault = faults[Math.floor(chance.next() ** 2 * faults.length)] as string;
      const at = Date.now() - Math.floor(chance.next() * 2000) * day;
      const seq = last.seq + 1;
      const settled: Event = {
        kind: 'settled',
        seq,
        at,
        by: 'mender',
        outcome: 'Fixed',
        fault,
        barrier: null,
      };
      // Each event is one of its own: the journal seals it for its place.
      const events = [...course.map((event) => ({ ...event })), settled];
      written += events.length;
      const turn = { inbound: 'all', after: 0, events, outbound: [], state: 'settled' as const };
      await journal.append({ ...turn, thread: `${platform}:settled${i}` });
    }
  };
  await Promise.all(Array.from({ length: 48 }, write));
  return written;
}

function updates(tally: Tally, all: readonly SettledCase[], flow: Flow, settings: Settings) {
  const tables = tablesOf(flow, settings);
  const times = all.slice(0, 5000).flatMap((one, i) => {
    const more = { ...one, id: `more ${i}` };
    const began = performance.now();
    addCase(tally, more, tables);
    const between = performance.now();
    removeCase(tally, more);
    return [between - began, performance.now() - between];
  });
  const sorted = times.toSorted((a, b) => a - b);
  const at = (share: number): number => sorted[Math.floor(share * (sorted.length - 1))] ?? 0;
  return { p50: at(0.5), p99: at(0.99) };
}

/** All that a tally holds, exactly. */
function bytesOf({ flows }: Tally): Buffer {
  const ordered = <V>(map: ReadonlyMap<string, V>): [string, V][] =>
    [...map].toSorted(([a], [b]) => (a < b ? -1 : 1));
  const told = ordered(flows).map(([flow, { cases, cells }]) => [flow, ordered(cases), ordered(cells)]);
  return Buffer.from(
    JSON.stringify(told, (_, value) => (typeof value === 'bigint' ? String(value) : (value as unknown))),
  );
}

function shuffled<T>(list: readonly T[], seed: number): T[] {
  const chance = random('order', seed);
  return list
    .map((one) => ({ one, at: chance.next() }))
    .toSorted((a, b) => a.at - b.at)
    .map(({ one }) => one);
}

async function timed<T>(work: () => Promise<T>): Promise<{ readonly took: number; readonly value: T }> {
  const began = performance.now();
  const value = await work();
  return { took: performance.now() - began, value };
}

export function printLearning({ cases, events, update, figures, rebuild: all, same }: LearningFigures): void {
  console.log(
    `Learning, with ${cases} confirmed cases (${events} events): one more counted or taken back p50 ${update.p50.toFixed(4)} ms, p99 ${update.p99.toFixed(4)} ms (limit ${update.limit} ms);\n  all figures of the flow anew, with intervals and cases: ${figures.toFixed(0)} ms.\n  Rebuilt from the journal (SQLite) in ${all.journal.toFixed(1)} s, of which counting ${all.counting.toFixed(1)} s (limit ${all.limit} s). Other orders with the same bytes: ${same.orders} of ${same.of}.`,
  );
}
