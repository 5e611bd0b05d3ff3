import { execFile } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { availableParallelism, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs, promisify } from 'node:util';
import type { Flow } from '../../shared/flow.ts';
import type { Settings } from '../core/settings.ts';
import { measureLearning, printLearning } from './learning.ts';
import { fill } from './many.ts';
import { measurePictures, printPictures } from './pictures.ts';
import { measureStorage, type Rate, rawRate, type StorageFigures } from './storage.ts';
import { measureTurns, printTurns } from './turns.ts';

/** `npm run measure`: how long a turn takes, and what keeping it costs. Figures of one run, on this machine. */

const usage = `npm run measure [-- options]
     --part turns|pictures|storage|learning   one part alone
     --cases 500            rehearsed cases for the turns
     --settled 100000       settled cases to learn from
     --timers 20000         timers that fell due while the desk was down
     --postgres URL         a server where a database may be made and dropped (default: TEST_POSTGRES_URL)
     --quick                short and rough
     --json`;

interface Parts {
  readonly flows: readonly Flow[];
  readonly settings: Settings;
}

export async function measureCommand(
  args: readonly string[],
  { flows, settings }: Parts,
  env: NodeJS.ProcessEnv = process.env,
): Promise<number> {
  const given = options(args, env);
  const flow = flows.find((one) => one.flow === 'flat-panel-tv') ?? flows[0];
  if (!given || !flow) {
    console.error(usage);
    return 2;
  }
  if (!given.json) console.log(machine());
  const wants = (part: string): boolean => given.part === undefined || given.part === part;
  const turns = !wants('turns') ? null : measureTurns(flow, settings, given.cases);
  if (turns && !given.json) printTurns(turns);
  const pictures = wants('pictures') ? await measurePictures(flow, given.quick ? 30 : 300) : null;
  if (pictures && !given.json) printPictures(pictures);
  const storage = !wants('storage')
    ? null
    : await measureStorage({ flow, settings, postgres: given.postgres, each: given.quick ? 600 : 6000 });
  if (storage && !given.json) printStorage(storage);
  const many = !wants('storage') ? null : await measureMany(flow, settings, given.timers, given.quick);
  if (many && !given.json) printMany(many);
  const learning = !wants('learning')
    ? null
    : await measureLearning(flow, settings, given.quick ? Math.min(given.settled, 2000) : given.settled);
  if (learning && !given.json) printLearning(learning);
  if (!given.json) console.log(machine());
  if (given.json) console.log(JSON.stringify({ ...turns, pictures, storage, many, learning }));
  return 0;
}

function options(args: readonly string[], env: NodeJS.ProcessEnv) {
  try {
    const { values } = parseArgs({
      args: [...args],
      options: {
        part: { type: 'string' },
        cases: { type: 'string', default: '500' },
        timers: { type: 'string', default: '20000' },
        settled: { type: 'string', default: '100000' },
        postgres: { type: 'string' },
        quick: { type: 'boolean', default: false },
        json: { type: 'boolean', default: false },
      },
    });
    const cases = Number(values.cases);
    const timers = Number(values.timers);
    const settled = Number(values.settled);
    const whole = [cases, timers, settled].every((n) => Number.isInteger(n) && n > 0);
    if (!whole || ![undefined, 'turns', 'pictures', 'storage', 'learning'].includes(values.part)) return null;
    const postgres = values.postgres ?? (env.TEST_POSTGRES_URL || null);
    return { part: values.part, cases, timers, settled, postgres, quick: values.quick, json: values.json };
  } catch {
    return null;
  }
}

export interface ManyFigures {
  readonly timers: {
    readonly count: number;
    readonly f: number;
    readonly perSecond: number;
    readonly rang: number;
    readonly woken: number;
    /** Cases woken more than once. */
    readonly twice: number;
    /** Timers that were due and did not ring; that are not due yet; cases woken although theirs was not. */
    readonly left: number;
    readonly notDue: number;
    readonly early: number;
  };
  /** Bytes. */
  readonly memory: { readonly few: Memory; readonly many: Memory };
  /** Milliseconds from the start of the process, with so many events. */
  readonly start: {
    readonly events: number;
    readonly opened: number;
    readonly answered: number;
    readonly f: number;
  };
}
interface Memory {
  readonly cases: number;
  readonly rss: number;
  readonly heapUsed: number;
}

const day = 24 * 60 * 60_000;

export async function measureMany(
  flow: Flow,
  settings: Settings,
  timers: number,
  quick: boolean,
): Promise<ManyFigures> {
  const [fewCases, manyCases] = quick ? [1000, 3000] : [1000, 100_000];
  const notDue = Math.ceil(timers / 20);
  const raw = quick ? 200 : 1500;
  /** With F before and after it, in the same folder. */
  const timed = async (dir: string, what: 'drain' | 'ready') => {
    const before = rawRate(dir, raw);
    const figures = await child(dir, what);
    return { ...figures, f: (before + rawRate(dir, raw)) / 2 };
  };
  const drain = await inFolder(async (dir) => {
    await fill(dir, timers, Date.now() - day, flow, settings, notDue);
    return timed(dir, 'drain');
  });
  const few = await inFolder(async (dir) => {
    await fill(dir, fewCases, Date.now() + day, flow, settings);
    return child(dir, 'memory');
  });
  const [many, start, events] = await inFolder(async (dir) => {
    const written = await fill(dir, manyCases, Date.now() + day, flow, settings);
    return [await child(dir, 'memory'), await timed(dir, 'ready'), written];
  });
  return {
    timers: {
      count: timers,
      f: drain.f,
      perSecond: (drain.rang * 1000) / drain.took,
      rang: drain.rang,
      woken: drain.woken,
      twice: drain.twice,
      left: drain.left,
      notDue: drain.notDue,
      early: drain.early,
    },
    memory: { few: { cases: fewCases, ...few }, many: { cases: manyCases, ...many } },
    start: { events, ...start },
  };
}

async function inFolder<T>(work: (dir: string) => Promise<T>): Promise<T> {
  const dir = mkdtempSync(join(tmpdir(), 'measure-'));
  try {
    return await work(dir);
  } finally {
    rmSync(dir, { recursive: true });
  }
}

// biome-ignore lint/suspicious/noExplicitAny: what the child prints depends on what it was asked.
async function child(dir: string, what: 'drain' | 'memory' | 'ready'): Promise<any> {
  const file = join(import.meta.dirname, 'many-child.ts');
  const { stdout } = await promisify(execFile)(process.execPath, ['--expose-gc', file, dir, what]);
  return JSON.parse(stdout);
}

/** Whatever else runs here slows the desk more than the disk. */
const machine = (): string =>
  `${availableParallelism()} processors, load ${(loadavg()[0] as number).toFixed(1)} over the last minute.`;

const times = (x: number): string => x.toFixed(2);

function printStorage({ sqlite, postgres }: StorageFigures): void {
  console.log(
    'Whole turns through a platform in memory, from receive to the acknowledgement, plans remembered; F: raw 4 KiB writes\nwith fdatasync a second, in the same minutes. "Written": the same turns written only, batched alike.',
  );
  const line = (name: string, r: Rate): void =>
    console.log(
      `  ${name.padEnd(22)} ${String(r.busy).padStart(2)} busy  ${r.whole.toFixed(0).padStart(5)}/s = ${times(r.whole / r.f)} F   written ${times(r.storage / r.f)} F, whole/written ${times(r.whole / r.storage)}   p50 ${times(r.p50)} ms, p99 ${times(r.p99)} ms   loop p99 ${times(r.loop)} ms   F ${r.f.toFixed(0)}/s${r.planned > 0 ? `   ${r.planned} plans worked out` : ''}`,
    );
  for (const rate of sqlite) line('SQLite', rate);
  for (const rate of postgres ?? [])
    line(`PostgreSQL, ${rate.instances} ${rate.instances === 1 ? 'desk' : 'desks'}`, rate);
  console.log(
    postgres
      ? '  Two desks: two runtimes with pools of their own, in one process. F is the disk of this folder, not asked of the server.'
      : '  PostgreSQL was left out: give --postgres URL, or start one with: eval "$(bash tests/services.sh start)"',
  );
}

function printMany({ timers, memory, start }: ManyFigures): void {
  const mega = (bytes: number): string => `${(bytes / 1e6).toFixed(0)} MB`;
  const { few, many } = memory;
  console.log(
    `${timers.count} timers that fell due a day ago: ${timers.perSecond.toFixed(0)}/s = ${times(timers.perSecond / timers.f)} F; rang ${timers.rang}, woken ${timers.woken}, woken twice ${timers.twice}, left ${timers.left}; of ${timers.notDue} not due yet, early ${timers.early}.`,
  );
  console.log(
    `Resident with ${few.cases} idle cases ${mega(few.rss)} (heap ${mega(few.heapUsed)}), with ${many.cases} ${mega(many.rss)} (heap ${mega(many.heapUsed)}): ${times(many.rss / few.rss)}.`,
  );
  console.log(
    `From the start of the process with ${start.events} events: journal open after ${start.opened.toFixed(0)} ms, first turn answered after ${start.answered.toFixed(0)} ms (${((start.answered * start.f) / 1000).toFixed(0)}/F).`,
  );
}
