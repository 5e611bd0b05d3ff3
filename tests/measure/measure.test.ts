import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import pg from 'pg';
import { expect, it, test } from 'vitest';
import { readSettings } from '../../src/config.ts';
import { defaultBudget } from '../../src/core/plan/plan.ts';
import { readFlows } from '../../src/flows.ts';
import { memoryJournal } from '../../src/journal/memory.ts';
import { openJournal } from '../../src/journal/open-journal.ts';
import { measureLearning } from '../../src/measure/learning.ts';
import { fill, idle, placesIn } from '../../src/measure/many.ts';
import { measureMany } from '../../src/measure/measure-command.ts';
import { ownDatabase } from '../../src/measure/own-database.ts';
import { kinds, openScene, platform } from '../../src/measure/scene.ts';
import { measureStorage, wholeTurns } from '../../src/measure/storage.ts';
import { describePostgres, postgresUrl } from '../services.ts';

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
    expect(rate.turns).toBe(rate.timed);
  }
});

test('turns of conversations that run side by side are all counted', async () => {
  let kept = 0;
  const journal = memoryJournal();
  const scene = openScene(
    {
      ...journal,
      append: (turn) => {
        kept += 1;
        return journal.append(turn);
      },
    },
    flow,
    settings,
  );
  for (let kind = 0; kind < kinds; kind++) await scene.converse(`${platform}:before${kind}`, kind);
  kept = 0;
  const { turns } = await wholeTurns([scene], 16, 200);
  expect(turns).toBeGreaterThan(16);
  expect(turns).toBe(kept);
  await scene.runtime.stop();
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
  expect(timers).toMatchObject({
    count: 300,
    rang: 300,
    woken: 300,
    twice: 0,
    left: 0,
    notDue: 15,
    early: 0,
  });
  expect(memory.few.rss).toBeGreaterThan(0);
  expect(start.answered).toBeGreaterThan(start.opened);
});

test('learning is measured over settled cases of a real journal, and other orders give the same bytes', async () => {
  const figures = await measureLearning(flow, settings, 60);
  expect(figures.cases).toBe(60);
  expect(figures.events).toBeGreaterThan(60 * 10);
  expect(figures.same).toEqual({ orders: 3, of: 3 });
  for (const figure of [
    figures.update.p50,
    figures.figures,
    figures.rebuild.journal,
    figures.rebuild.counting,
  ])
    expect(figure).toBeGreaterThan(0);
  expect(figures.update.p99).toBeGreaterThanOrEqual(figures.update.p50);
});

describePostgres('measuring on PostgreSQL', () => {
  it('happens in a database of its own, with one desk and two', async () => {
    const { postgres } = await measureStorage({
      flow,
      settings,
      postgres: postgresUrl ?? null,
      each: 300,
    });
    expect(postgres?.map(({ instances, busy }) => [instances, busy])).toEqual([
      [1, 1],
      [1, 16],
      [2, 1],
      [2, 16],
    ]);
    for (const rate of postgres ?? []) {
      expect(rate.storage).toBeGreaterThan(0);
      expect(rate.turns).toBeGreaterThan(0);
      expect(rate.turns).toBe(rate.timed);
    }
  });
});

describePostgres('a database for measuring', () => {
  it('is empty, and gone once dropped', async () => {
    const own = await ownDatabase(postgresUrl ?? '');
    const client = new pg.Client({ connectionString: own.url });
    await client.connect();
    const { rows } = await client.query(
      `select count(*)::int as n from pg_class where relnamespace = 'public'::regnamespace`,
    );
    expect(rows).toEqual([{ n: 0 }]);
    await client.end();
    await own.drop();
    // 3D000 is "invalid catalog name" (PostgreSQL documentation, appendix A).
    await expect(new pg.Client({ connectionString: own.url }).connect()).rejects.toMatchObject({
      code: '3D000',
    });
  });
});
