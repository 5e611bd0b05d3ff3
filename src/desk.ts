import type { Adapter, Draw, Desk as Requests } from '../shared/adapter.ts';
import type { Flow } from '../shared/flow.ts';
import { type Cache, noCache } from './cache/cache.ts';
import { openCache } from './cache/open-cache.ts';
import type { Settings as DeskSettings } from './config.ts';
import type { Settings } from './core/settings.ts';
import type { Journal } from './journal/journal.ts';
import { memoryJournal } from './journal/memory.ts';
import { openJournal } from './journal/open-journal.ts';
import { erase } from './keeping/erase.ts';
import { sweep } from './keeping/retention.ts';
import { notGivenUp } from './learning/given-up.ts';
import { type Following, followBook } from './learning/in-use.ts';
import { createModerating } from './learning/moderating.ts';
import { sqlBook } from './learning/sql-book.ts';
import { type LearningBook, memoryBook } from './learning/store.ts';
import type { Notify } from './notice.ts';
import { type OperationsServer, serveOperations } from './operations/http.ts';
import { createMetrics } from './operations/metrics.ts';
import type { StopStep } from './operations/shutdown.ts';
import { allSettled } from './outcomes/all-settled.ts';
import { type EarlierCases, earlierCases } from './outcomes/earlier.ts';
import { createDraw } from './pictures/draw.ts';
import { keepDigest } from './runtime/digest.ts';
import { usualManners } from './runtime/manners.ts';
import { createRequests } from './runtime/requests.ts';
import { createRuntime, type Runtime } from './runtime/runtime.ts';
import { type Solver, workerSolver } from './runtime/solver.ts';

/** A desk put together from its settings: journal, cache, runtime, and what its operator looks at. */
export interface Desk {
  readonly runtime: Runtime;
  /** What platforms may ask beside sending messages. */
  readonly requests: Requests;
  readonly journal: Journal;
  readonly draw: Draw;
  /** What is to be done, in this order, when the program stops; the adapters stop first. */
  readonly stopping: readonly StopStep[];
}

export interface DeskOptions {
  readonly settings: DeskSettings;
  readonly core: Settings;
  readonly flows: readonly Flow[];
  readonly adapters: readonly Adapter[];
  readonly now: () => number;
  readonly moved: () => boolean;
  readonly log: Notify;
  /** True for a desk on chat platforms: many people, and menders who want their list in the morning. */
  readonly serves?: boolean;
}

/** How often settled cases are looked through for words that were kept long enough, and how many at once. */
const sweepEvery = 60 * 60_000;
const sweepAtOnce = 100;

/** How often earlier cases are read anew. */
const loadEvery = 60 * 60_000;

/** What is kept in the cache is good for programs that fold events and make plans alike: raise it when one of them changes. */
export const cacheVersion = '5';

export async function openDesk(options: DeskOptions): Promise<Desk> {
  const { settings, adapters, now, moved, log } = options;
  const metrics = createMetrics();
  const notify: Notify = (notice) => {
    log(notice);
    metrics.notify(notice);
  };
  const { journal, cache, book } = await openStores(settings, now, notify);
  const earlier = earlierCases({ journal, flows: options.flows, settings: options.core });
  const given = { flows: options.flows, settings: { ...options.core, earlier: earlier.find } };
  const learning = await followBook(book, given, notify);
  const { flows, settings: core } = learning.taught;
  const solver: Solver | null = settings.http || options.serves ? workerSolver() : null;
  const runtime = createRuntime({
    journal,
    flows,
    settings: core,
    now,
    moved,
    adapters,
    notify,
    cache,
    turned: earlier.turned,
    ...(solver ? { solve: solver.solve } : {}),
    ...(options.serves ? { manners: usualManners } : {}),
  });
  learning.follow(runtime.use);
  /** Past the runtime's turns something was taken out of a case. */
  const forgetCached: Runtime['forgetCached'] = async (thread) => {
    await earlier.refresh(thread);
    return runtime.forgetCached(thread);
  };
  const requests = createRequests({
    journal,
    settings: core,
    caseOf: runtime.caseOf,
    flowOf: runtime.flowOf,
    erase: async (person) => (await erase(journal, person, { now, forgetCached })).touched.length,
    learning: createModerating(
      {
        book,
        cases: async function* () {
          yield* allSettled(journal, options.flows, await notGivenUp(journal));
        },
        flows: options.flows,
        settings: options.core,
        now,
      },
      learning.look,
    ),
  });
  const digest = options.serves
    ? keepDigest({
        journal,
        desk: requests,
        platforms: adapters.map(({ name }) => name),
        community: core.community,
        now,
        notify,
        wake: runtime.wake,
      })
    : null;
  const server = settings.http
    ? await serveOperations({
        ...settings.http,
        checks: {
          journal: async () => {
            await journal.backlog();
          },
        },
        metrics: {
          contentType: metrics.contentType,
          read: () => metrics.read({ backlog: () => journal.backlog(), queued: () => runtime.waiting, now }),
        },
        notify,
      })
    : null;
  const sweeping = keepSweeping(options, journal, forgetCached, notify);
  const loading = keepLoading(earlier, notify);
  return {
    runtime,
    requests,
    journal,
    draw: createDraw({ flows, cache }),
    stopping: steps({ server, sweeping, loading, digest, learning, runtime, solver, cache, journal }),
  };
}

async function openStores(
  { journal: place, keys, cacheUrl }: DeskSettings,
  now: () => number,
  notify: Notify,
): Promise<{ journal: Journal; cache: Cache; book: LearningBook }> {
  if (place.kind === 'memory' || keys === null)
    return { journal: memoryJournal(), cache: noCache, book: memoryBook() };
  const journal = await openJournal({
    journal: place,
    keys,
    report: (what) => notify({ kind: 'problem', what }),
  });
  const cache = await openCache({ url: cacheUrl, db: journal.db, version: cacheVersion, notify, now });
  return { journal, cache, book: sqlBook(journal.db) };
}

function keepSweeping(
  { core, now }: DeskOptions,
  journal: Journal,
  forgetCached: Runtime['forgetCached'],
  notify: Notify,
): NodeJS.Timeout {
  const { retention_days: days } = core.community;
  let busy = false;
  const timer = setInterval(async () => {
    if (busy) return;
    busy = true;
    try {
      const report = (what: string): void => notify({ kind: 'problem', what });
      while (
        (await sweep(journal, { now: now(), days, limit: sweepAtOnce, forgetCached, report })) === sweepAtOnce
      );
    } catch (cause) {
      notify({ kind: 'problem', what: 'Old words could not be taken out', cause });
    }
    busy = false;
  }, sweepEvery);
  timer.unref();
  return timer;
}

/** Now and each hour: other instances settle cases, too, and commands erase. */
function keepLoading(earlier: EarlierCases, notify: Notify): { stop(): Promise<void> } {
  const load = (): unknown =>
    earlier
      .load()
      .catch((cause) => notify({ kind: 'problem', what: 'Earlier cases could not be read', cause }));
  load();
  const timer = setInterval(load, loadEvery);
  timer.unref();
  return {
    async stop() {
      clearInterval(timer);
      await earlier.stop();
    },
  };
}

function steps(parts: {
  readonly server: OperationsServer | null;
  readonly sweeping: NodeJS.Timeout;
  readonly loading: { stop(): Promise<void> };
  readonly digest: { stop(): void } | null;
  readonly learning: Following;
  readonly runtime: Runtime;
  readonly solver: Solver | null;
  readonly cache: Cache;
  readonly journal: Journal;
}): StopStep[] {
  const { server, sweeping, loading, digest, learning, runtime, solver, cache, journal } = parts;
  return [
    {
      name: 'turns and deliveries',
      async run() {
        clearInterval(sweeping);
        digest?.stop();
        learning.stop();
        await runtime.stop();
        await solver?.stop();
        await loading.stop();
      },
    },
    { name: 'the cache', run: () => cache.close() },
    { name: 'the journal', run: () => journal.close(), releases: true },
    { name: 'health', run: () => server?.close() },
  ];
}
