import { monitorEventLoopDelay } from 'node:perf_hooks';
import { Counter, collectDefaultMetrics, Gauge, Histogram, Registry } from 'prom-client';
import { Inbound } from '../../shared/inbound.ts';
import type { Backlog } from '../journal/journal.ts';
import type { Notice, Notify } from '../notice.ts';

/** What the desk notices, as numbers for Prometheus. No thread and no person is a label: there is no end of them. */
export interface Metrics {
  readonly notify: Notify;
  /** The text of a scrape. What a source cannot tell in time is left out of it, so that it never looks like nothing. */
  read(sources: MetricSources): Promise<string>;
  /** Of the text. */
  readonly contentType: string;
}

/** What is asked at every scrape. */
export interface MetricSources {
  backlog(): Promise<Backlog>;
  /** Messages taken in that wait for their turn. */
  queued(): number;
  /** The clock of the journal, milliseconds. */
  now(): number;
}

/** How long a scrape waits for the journal, milliseconds. */
const patience = 2000;
/** How often the event loop is looked at, milliseconds. */
const resolution = 10;

const [minute, hour, day] = [60, 3600, 86_400];
const buckets = {
  work: [0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10],
  late: [1, 2, 5, 15, minute, 5 * minute, 15 * minute, hour, 6 * hour, day, 3 * day, 7 * day],
  delivery: [0.01, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30, minute, 5 * minute, hour, day],
};

type Of<K extends Notice['kind']> = Extract<Notice, { kind: K }>;

/** Counted from the start, so that the first of a kind is seen as an increase. */
const inbounds = Inbound.options.flatMap((option) => [...option.shape.kind.values]);
const results: readonly Of<'turn'>['result'][] = ['taken', 'seen', 'busy'];
const cached: readonly Of<'cache'>['of'][] = ['case', 'plan'];
const cacheResults: readonly Of<'cache'>['result'][] = ['hit', 'miss', 'bad', 'failed', 'shut'];

export function createMetrics(): Metrics {
  const registry = new Registry();
  const registers = [registry];
  collectDefaultMetrics({ register: registry });
  // They count the time between two looks as delay; ours does not.
  for (const { name } of registry.getMetricsAsArray()) {
    if (name.startsWith('nodejs_eventloop_lag')) registry.removeSingleMetric(name);
  }

  const counter = <L extends string = never>(name: string, help: string, labelNames: readonly L[] = []) =>
    new Counter({ name: `mendthread_${name}`, help, labelNames, registers });
  const histogram = <L extends string = never>(
    name: string,
    help: string,
    bounds: number[],
    labelNames: readonly L[] = [],
  ) => new Histogram({ name: `mendthread_${name}`, help, buckets: bounds, labelNames, registers });
  const gauge = <L extends string = never>(name: string, help: string, labelNames: readonly L[] = []) =>
    new Gauge({ name: `mendthread_${name}`, help, labelNames, registers });

  const turns = counter('turns_total', 'Messages that came in, and what became of them.', [
    'inbound',
    'result',
  ]);
  const turnTime = histogram(
    'turn_seconds',
    'From a message to its turn kept, of turns taken.',
    buckets.work,
  );
  const turnsFailed = counter('turns_failed_total', 'Turns that could not be taken: a fault inside.');
  const planTime = histogram(
    'plan_seconds',
    'How long it took to have a plan, and from where.',
    buckets.work,
    ['from'],
  );
  const timerLate = histogram('timer_late_seconds', 'How long after its time a timer rang.', buckets.late);
  const deliveryTime = histogram(
    'delivery_seconds',
    'From a message written to delivered.',
    buckets.delivery,
  );
  const deliveryFailures = counter('delivery_failures_total', 'Tries of a delivery that failed.');
  const setAside = counter('set_aside_total', 'Messages that will not be delivered.');
  const cacheRequests = counter('cache_requests_total', 'What the cache was asked, and what came back.', [
    'of',
    'result',
  ]);
  const breaker = gauge('cache_breaker_open', '1 while the cache is not asked.');
  const problems = counter('problems_total', 'Other problems, told in the log.');

  const waiting = gauge('outbox_waiting', 'Messages on their way out.');
  const oldest = gauge('outbox_oldest_seconds', 'Age of the oldest message on its way out; 0 without any.');
  const aside = gauge('outbox_set_aside', 'Messages set aside, for people to look at.');
  const queue = gauge('queue_length', 'Messages taken in that wait for their turn.');
  const loopDelay = gauge('event_loop_delay_seconds', 'How late the event loop was since the last scrape.', [
    'quantile',
  ]);
  const loop = monitorEventLoopDelay({ resolution });
  loop.enable();

  for (const inbound of inbounds) for (const result of results) turns.inc({ inbound, result }, 0);
  for (const of of cached) for (const result of cacheResults) cacheRequests.inc({ of, result }, 0);

  const notify: Notify = (notice) => {
    switch (notice.kind) {
      case 'turn':
        turns.inc({ inbound: notice.inbound, result: notice.result });
        if (notice.result === 'taken') turnTime.observe(seconds(notice.took));
        return;
      case 'turn-failed':
        turnsFailed.inc();
        return;
      case 'plan':
        planTime.observe({ from: notice.from }, seconds(notice.took));
        return;
      case 'timer':
        timerLate.observe(seconds(notice.late));
        return;
      case 'delivered':
        deliveryTime.observe(seconds(notice.waited));
        return;
      case 'delivery-failed':
        deliveryFailures.inc();
        return;
      case 'set-aside':
        setAside.inc();
        return;
      case 'cache':
        cacheRequests.inc({ of: notice.of, result: notice.result });
        return;
      case 'cache-breaker':
        breaker.set(notice.open ? 1 : 0);
        return;
      case 'problem':
        problems.inc();
        return;
      default:
        notice satisfies never;
    }
  };

  return {
    notify,
    contentType: registry.contentType,
    async read(sources) {
      const backlog = await inTime(sources.backlog);
      if (backlog === null) for (const one of [waiting, oldest, aside]) one.remove();
      else {
        waiting.set(backlog.waiting);
        oldest.set(backlog.oldest === null ? 0 : seconds(sources.now() - backlog.oldest));
        aside.set(backlog.setAside);
      }
      queue.set(sources.queued());
      for (const [quantile, delay] of delays(loop)) loopDelay.set({ quantile }, delay);
      return registry.metrics();
    },
  };
}

/** From milliseconds; a clock that was set back gives no time less than none. */
const seconds = (milliseconds: number): number => Math.max(0, milliseconds) / 1000;

/** The monitor measures from look to look, so an idle loop shows its resolution. */
function delays(loop: ReturnType<typeof monitorEventLoopDelay>): [quantile: string, seconds: number][] {
  const late = (nanoseconds: number): number => Math.max(0, nanoseconds / 1e9 - resolution / 1000);
  const found: [string, number][] =
    loop.count === 0
      ? []
      : [
          ['0.5', late(loop.percentile(50))],
          ['0.99', late(loop.percentile(99))],
          ['1', late(loop.max)],
        ];
  loop.reset();
  return found;
}

/** Null where it fails or takes too long. */
async function inTime(backlog: MetricSources['backlog']): Promise<Backlog | null> {
  let timer: NodeJS.Timeout | undefined;
  const late = new Promise<null>((resolve) => {
    timer = setTimeout(resolve, patience, null);
  });
  try {
    return await Promise.race([backlog(), late]);
  } catch {
    return null;
  } finally {
    clearTimeout(timer);
  }
}
