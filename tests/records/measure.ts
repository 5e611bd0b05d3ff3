import { mkdtemp, rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { SettledCase } from '../../src/outcomes/settled.ts';
import { recordsCommand } from '../../src/records/records-command.ts';
import { settings } from '../core/example-flow.ts';
import { flows } from '../flows/library.ts';

/**
 * How fast records are written, and what memory it takes. Figures of one run, on this machine:
 * node --expose-gc tests/records/measure.ts [RECORDS]
 */

const most = Number(process.argv[2] ?? 100_000);
const mb = (bytes: number): string => (bytes / 1e6).toFixed(1);
const heap = (): number => {
  globalThis.gc?.();
  return process.memoryUsage().heapUsed;
};
const live: number[] = [];

/** Every flow in turn, its complaints, faults and remedies in turn. The heap is looked at after a collection, ten times. */
async function* cases(n: number): AsyncGenerator<SettledCase> {
  const turn = <T>(list: readonly T[], i: number): T | undefined => list[i % list.length];
  for (let i = 0; i < n; i++) {
    if (i % Math.ceil(n / 10) === 0) live.push(heap());
    const flow = flows[i % flows.length] as (typeof flows)[number];
    yield {
      id: `thread:${i}`,
      flow: flow.flow,
      version: flow.version,
      opened: 1.7e12,
      settled: 1.7e12 + i * 60_000,
      complaint: turn(flow.complaints, i)?.id ?? null,
      details: {},
      seen: [],
      tried: [{ remedy: turn(flow.remedies, i)?.id ?? '', worked: true }],
      outcome: 'Fixed',
      barrier: null,
      safety: 'passed',
      fault: turn(flow.faults, i)?.id ?? null,
      confirmed: 'cure',
      said_by: 'desk',
      minutes: 5,
      waited: 0,
      parts: [],
      wrong_parts: [],
      follow_up: null,
      demonstration: false,
    };
  }
}

const dir = await mkdtemp(join(tmpdir(), 'measure-records-'));
const file = join(dir, 'records.csv');
try {
  if (!globalThis.gc) console.log('Without --expose-gc the heap holds what is not collected yet.');
  for (const n of [most / 10, most]) {
    live.length = 0;
    const before = heap();
    const began = performance.now();
    const code = await recordsCommand([file], {
      cases: cases(n),
      flows,
      community: settings.community,
      out: () => undefined,
      err: console.error,
    });
    const seconds = (performance.now() - began) / 1000;
    const after = heap();
    console.log(
      `${n} records, exit ${code}: ${Math.round(n / seconds)} rows/s, ${mb((await stat(file)).size)} MB of CSV; heap ${mb(before)} MB before, ${mb(Math.min(...live))} to ${mb(Math.max(...live))} during, ${mb(after)} after; rss ${mb(process.memoryUsage().rss)} MB`,
    );
  }
} finally {
  await rm(dir, { recursive: true, force: true });
}
