import { closeSync, fdatasyncSync, mkdtempSync, openSync, rmSync, unlinkSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { monitorEventLoopDelay } from 'node:perf_hooks';
import type { Flow } from '../../shared/flow.ts';
import type { Settings } from '../core/settings.ts';
import type { Journal, JournalTurn } from '../journal/journal.ts';
import { openJournal, type Place } from '../journal/open-journal.ts';
import { ownDatabase } from './own-database.ts';
import { kinds, openScene, platform, recording, type Scene } from './scene.ts';

/**
 * What keeping costs, as ratios to F: raw writes of 4 KiB with fdatasync a second, taken before and after each figure in the
 * same folder, since rates drift by a factor of two within minutes.
 */
export interface StorageOptions {
  readonly flow: Flow;
  readonly settings: Settings;
  /** Of a server on which a database of its own is made, and dropped afterwards; null: PostgreSQL is left out. */
  readonly postgres: string | null;
  /** Milliseconds for each figure. */
  readonly each: number;
}

export interface Rate {
  readonly busy: number;
  readonly instances: number;
  /** Raw writes a second. */
  readonly f: number;
  /** Whole turns, and turns written only, a second. */
  readonly whole: number;
  readonly storage: number;
  readonly p50: number;
  readonly p99: number;
  /** Whole turns counted, and turns timed: the same number, or a figure is wrong. */
  readonly turns: number;
  readonly timed: number;
  /** Milliseconds by which the event loop was late at the 99th percentile, mean of the rounds. */
  readonly loop: number;
  readonly planned: number;
}

export interface StorageFigures {
  readonly sqlite: readonly Rate[];
  readonly postgres: readonly Rate[] | null;
}

export async function measureStorage(options: StorageOptions): Promise<StorageFigures> {
  const dir = mkdtempSync(join(tmpdir(), 'measure-'));
  try {
    const file = (name: string): Place => ({ kind: 'sqlite', file: join(dir, name) });
    const sqlite = await rates(options, dir, [1, 16, 64], [1], file('desk.db'), file('keys.db'));
    if (options.postgres === null) return { sqlite, postgres: null };
    const own = await ownDatabase(options.postgres);
    try {
      const place: Place = { kind: 'postgres', url: own.url };
      return { sqlite, postgres: await rates(options, dir, [1, 16], [1, 2], place, place) };
    } finally {
      await own.drop();
    }
  } finally {
    rmSync(dir, { recursive: true });
  }
}

async function rates(
  { flow, settings, each }: StorageOptions,
  dir: string,
  busies: readonly number[],
  instances: readonly number[],
  journal: Place,
  keys: Place,
): Promise<Rate[]> {
  const open = (): Promise<Journal> => openJournal({ journal, keys, report: (what) => console.error(what) });
  const journals = [await open()];
  if (instances.includes(2)) journals.push(await open());
  const recorder = recording(journals[0] as Journal);
  // Every kind once, so that all plans are remembered and the turns recorded.
  const warm = openScene(recorder.journal, flow, settings);
  for (let kind = 0; kind < kinds; kind++) await warm.converse(`${platform}:warm${kind}`, kind);
  await warm.runtime.idle();
  await warm.runtime.stop();
  const recorded = [...recorder.turns.values()];
  const scenes = journals.map((one) => openScene(one, flow, settings));
  for (const [i, scene] of scenes.entries())
    for (let kind = 0; kind < kinds; kind++) await scene.converse(`${platform}:plan${i}-${kind}`, kind);

  const results: Rate[] = [];
  for (const count of instances)
    for (const busy of busies) {
      const desks = scenes.slice(0, count);
      for (const desk of desks) {
        desk.times();
        desk.planned();
      }
      const f = [rawRate(dir, each / 6)];
      let turns = 0;
      const whole: number[] = [];
      const storage: number[] = [];
      const late: number[] = [];
      // In turns, so that a slow minute of the machine meets both.
      for (let round = 0; round < 3; round++) {
        const loop = monitorEventLoopDelay({ resolution: 1 });
        loop.enable();
        const counted = await wholeTurns(desks, busy, each / 3);
        turns += counted.turns;
        whole.push(counted.perSecond);
        loop.disable();
        late.push(Math.max(0, loop.percentile(99) / 1e6 - 1));
        storage.push(await writtenTurns(journals.slice(0, count), recorded, busy, each / 3));
        f.push(rawRate(dir, each / 6));
      }
      const times = desks.flatMap((desk) => desk.times()).sort((a, b) => a - b);
      const at = (q: number): number => times[Math.min(times.length - 1, Math.floor(q * times.length))] ?? 0;
      results.push({
        busy,
        instances: count,
        f: mean(f),
        whole: mean(whole),
        storage: mean(storage),
        turns,
        timed: times.length,
        p50: at(0.5),
        p99: at(0.99),
        loop: mean(late),
        planned: desks.reduce((sum, desk) => sum + desk.planned(), 0),
      });
    }
  for (const { runtime } of scenes) await runtime.stop();
  for (const one of journals) await one.close();
  return results;
}

let serial = 0;

export async function wholeTurns(
  desks: readonly Scene[],
  busy: number,
  ms: number,
): Promise<{ readonly turns: number; readonly perSecond: number }> {
  const began = performance.now();
  let turns = 0;
  await Promise.all(
    Array.from({ length: busy }, async (_, i) => {
      const desk = desks[i % desks.length] as Scene;
      while (performance.now() - began < ms) {
        serial += 1;
        // Not `turns += await`: what the others count meanwhile would be lost.
        const taken = await desk.converse(`${platform}:w${serial}`, serial % kinds);
        turns += taken;
      }
    }),
  );
  return { turns, perSecond: (turns * 1000) / (performance.now() - began) };
}

/** The same turns with nobody deciding or delivering: they are written, and marked as delivered. */
async function writtenTurns(
  journals: readonly Journal[],
  recorded: readonly (readonly JournalTurn[])[],
  busy: number,
  ms: number,
): Promise<number> {
  const began = performance.now();
  let turns = 0;
  await Promise.all(
    Array.from({ length: busy }, async (_, i) => {
      const journal = journals[i % journals.length] as Journal;
      while (performance.now() - began < ms) {
        serial += 1;
        const thread = `${platform}:s${serial}`;
        for (const turn of recorded[serial % recorded.length] ?? []) {
          const done = await journal.append({ ...turn, thread });
          if (done.kind !== 'done') throw new Error(`A turn was ${done.kind}.`);
          for (const { id } of done.messages) await journal.delivered(id, id);
          turns += 1;
        }
        await journal.release(thread);
      }
    }),
  );
  return (turns * 1000) / (performance.now() - began);
}

/** Raw writes of 4 KiB with fdatasync a second. */
export function rawRate(dir: string, ms: number): number {
  const file = join(dir, 'raw');
  const at = openSync(file, 'w');
  const page = Buffer.alloc(4096, 1);
  const began = performance.now();
  let writes = 0;
  while (performance.now() - began < ms) {
    writeSync(at, page);
    fdatasyncSync(at);
    writes += 1;
  }
  const rate = (writes * 1000) / (performance.now() - began);
  closeSync(at);
  unlinkSync(file);
  return rate;
}

const mean = (list: readonly number[]): number => list.reduce((a, b) => a + b, 0) / list.length;
