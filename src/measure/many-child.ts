import { sql } from 'kysely';
import { readSettings } from '../config.ts';
import { defaultBudget } from '../core/plan/plan.ts';
import { readFlows } from '../flows.ts';
import { openJournal } from '../journal/open-journal.ts';
import { idle, placesIn } from './many.ts';
import { openScene } from './scene.ts';

/** A desk in a process of its own on a journal with many cases; says what it took. */

const [dir = '', what = 'ready'] = process.argv.slice(2);
const read = await readSettings();
if ('problems' in read) throw new Error(read.problems.join('\n'));
const files = await readFlows(read.settings.flowsDir);
if ('problems' in files) throw new Error('flows');
const flow = files.flows.find((one) => one.flow === 'flat-panel-tv') ?? files.flows[0];
if (!flow) throw new Error('no flow');
const journal = await openJournal({ ...placesIn(dir), report: (problem) => console.error(problem) });
const scene = openScene(journal, flow, { community: read.settings.community, budget: defaultBudget });

const by = { id: 'asker', name: 'An asker', level: 'handy' as const, roles: [] };
const where = (i: number) =>
  scene.runtime.receive({
    kind: 'asked',
    what: 'where',
    id: `where${i}`,
    thread: idle(i),
    at: Date.now(),
    by,
  });

async function drained(): Promise<unknown> {
  const began = performance.now();
  await scene.runtime.ring();
  await scene.runtime.idle();
  const took = performance.now() - began;
  const now = Date.now();
  const count = async (query: ReturnType<typeof sql<{ n: number }>>): Promise<number> =>
    (await query.execute(journal.db)).rows[0]?.n ?? Number.NaN;
  const woken = sql`(select case_id from events where body ->> 'kind' = 'woken')`;
  return {
    took,
    rang: await count(sql`select count(*) as n from turns where inbound like 'rang:%'`),
    woken: await count(sql`select count(*) as n from ${woken} as woken`),
    twice: await count(
      sql`select count(*) as n from (select case_id from ${woken} as woken group by case_id having count(*) > 1) as twice`,
    ),
    left: await count(sql`select count(*) as n from timers where due <= ${now}`),
    // Of the waits; those that woke are to be asked again, too, if nobody answers.
    notDue: await count(sql`select count(*) as n from timers where due > ${now} and key not like 'after:%'`),
    // By the rest that was asked for: a turn never says of itself that it came too soon.
    early: await count(
      sql`select count(*) as n from events where body ->> 'kind' = 'rested' and body ->> 'due' > ${now} and case_id in ${woken}`,
    ),
  };
}

async function resident(): Promise<unknown> {
  for (let i = 1; i <= 50; i++) await where(i * 17);
  await scene.runtime.idle();
  globalThis.gc?.();
  await new Promise((resolve) => setTimeout(resolve, 200));
  globalThis.gc?.();
  const { rss, heapUsed } = process.memoryUsage();
  return { rss, heapUsed };
}

async function ready(): Promise<unknown> {
  const opened = performance.now();
  await where(1);
  return { opened, answered: performance.now() };
}

const result = what === 'drain' ? await drained() : what === 'memory' ? await resident() : await ready();
console.log(JSON.stringify(result));
await scene.runtime.stop();
await journal.close();
