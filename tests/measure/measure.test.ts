import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { readSettings } from '../../src/config.ts';
import { defaultBudget } from '../../src/core/plan/plan.ts';
import { readFlows } from '../../src/flows.ts';
import { openJournal } from '../../src/journal/open-journal.ts';
import { fill, idle, placesIn } from '../../src/measure/many.ts';
import { measureMany } from '../../src/measure/measure-command.ts';
import { measureStorage } from '../../src/measure/storage.ts';

/** That the measures measure what they say; how fast is no business of a test. */

const read = await readSettings({});
if ('problems' in read) throw new Error(read.problems.join('\n'));
const files = await readFlows(read.settings.flowsDir);
if ('problems' in files) throw new Error('no flows');
const flow = files.flows.find((one) => one.flow === 'flat-panel-tv');
if (!flow) throw new Error('no television');
const settings = { community: read.settings.community, budget: defaultBudget };

test('whole turns and written ones are counted, and no plan is worked out in between', async () => {
  const { sqlite, postgres } = await measureStorage({ flow, settings, postgres: null, each: 300 });
  expect(postgres).toBeNull();
  expect(sqlite.map(({ busy }) => busy)).toEqual([1, 16, 64]);
  for (const rate of sqlite) {
    for (const figure of [rate.f, rate.whole, rate.storage, rate.p50]) expect(figure).toBeGreaterThan(0);
    expect(rate.p99).toBeGreaterThanOrEqual(rate.p50);
    expect(rate.planned).toBe(0);
  }
});

test('cases made in bulk are real ones, that rest until their timer', async () => {
  const dir = await mkdtemp(join(tmpdir(), 'many-'));
  const due = Date.now() + 60_000;
  const events = await fill(dir, 20, due, flow, settings);
  const journal = await openJournal({ ...placesIn(dir), report: () => undefined });
  expect((await journal.read(idle(20))).events).toHaveLength(events / 20);
  expect((await journal.read(idle(21))).events).toEqual([]);
  expect(await journal.nextDue()).toBe(due);
  await journal.close();
  await rm(dir, { recursive: true });
});

test('timers that fell due while the desk was down ring once each, and none early', async () => {
  const { timers, memory, start } = await measureMany(flow, settings, 300, true);
  expect(timers).toMatchObject({ count: 300, rang: 300, woken: 300, left: 0, early: 0 });
  expect(memory.few.rss).toBeGreaterThan(0);
  expect(start.answered).toBeGreaterThan(start.opened);
});
