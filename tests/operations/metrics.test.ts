import { describe, expect, it } from 'vitest';
import type { Notice } from '../../src/notice.ts';
import { createMetrics, type MetricSources } from '../../src/operations/metrics.ts';
import { everyNotice } from './every-notice.ts';

const sources: MetricSources = {
  backlog: async () => ({ waiting: 3, oldest: 1_000_000, setAside: 2 }),
  queued: () => 5,
  now: () => 1_090_000,
};

/** The samples of a scrape by their name with labels, as `mendthread_turns_total{inbound="said",result="taken"}`. */
async function scraped(notices: readonly Notice[] = [], from = sources) {
  const metrics = createMetrics();
  for (const notice of notices) metrics.notify(notice);
  return samples(await metrics.read(from));
}
const samples = (text: string): Map<string, number> =>
  new Map(
    text
      .split('\n')
      .filter((line) => line !== '' && !line.startsWith('#'))
      .map((line) => [line.slice(0, line.lastIndexOf(' ')), Number(line.slice(line.lastIndexOf(' ') + 1))]),
  );

describe('the metrics', () => {
  it('count every notice', async () => {
    const found = await scraped(everyNotice(new Error('x')));
    const expected = {
      'turns_total{inbound="said",result="taken"}': 1,
      'turns_total{inbound="chose",result="seen"}': 1,
      'turns_total{inbound="said",result="busy"}': 1,
      'turns_total{inbound="rang",result="taken"}': 0,
      // Those that were not taken would make turns look fast.
      turn_seconds_count: 1,
      turn_seconds_sum: 0.0125,
      'turn_seconds_bucket{le="0.01"}': 0,
      'turn_seconds_bucket{le="0.025"}': 1,
      turns_failed_total: 1,
      'plan_seconds_count{from="memory"}': 1,
      'plan_seconds_sum{from="cache"}': 0.002,
      'plan_seconds_bucket{le="0.5",from="worked-out"}': 0,
      'plan_seconds_bucket{le="1",from="worked-out"}': 1,
      'timer_late_seconds_bucket{le="3600"}': 0,
      'timer_late_seconds_bucket{le="21600"}': 1,
      'timer_late_seconds_bucket{le="604800"}': 1,
      delivery_seconds_sum: 0.25,
      delivery_failures_total: 1,
      set_aside_total: 1,
      'cache_requests_total{of="case",result="hit"}': 1,
      'cache_requests_total{of="plan",result="hit"}': 0,
      'cache_requests_total{of="plan",result="bad"}': 1,
      'cache_requests_total{of="case",result="shut"}': 1,
      cache_breaker_open: 0,
      problems_total: 2,
    };
    expect(
      Object.fromEntries(Object.keys(expected).map((name) => [name, found.get(`mendthread_${name}`)])),
    ).toEqual(expected);
  });

  it('tell when the cache is not asked', async () => {
    const found = await scraped([{ kind: 'cache-breaker', open: true }]);
    expect(found.get('mendthread_cache_breaker_open')).toBe(1);
  });

  it('have no thread, message or person in them', async () => {
    const metrics = createMetrics();
    for (const notice of everyNotice(new Error('hunter2'))) metrics.notify(notice);
    await wait(50);
    const text = await metrics.read(sources);
    expect(text).not.toMatch(/terminal|hunter2|m1|m2/);
    const labels = [...text.matchAll(/^mendthread_\w+\{(.*)\}/gm)].flatMap(([, all = '']) =>
      [...all.matchAll(/(\w+)="/g)].map(([, label]) => label),
    );
    expect(new Set(labels)).toEqual(new Set(['inbound', 'result', 'of', 'from', 'le', 'quantile']));
  });

  it('take no time for less than none when a clock is set back', async () => {
    const found = await scraped([{ kind: 'timer', thread: 't', late: -5 }], { ...sources, now: () => 0 });
    expect(found.get('mendthread_timer_late_seconds_sum')).toBe(0);
    expect(found.get('mendthread_outbox_oldest_seconds')).toBe(0);
  });

  it('ask the journal and the queue at every scrape', async () => {
    const metrics = createMetrics();
    const first = samples(await metrics.read(sources));
    expect(first.get('mendthread_outbox_waiting')).toBe(3);
    expect(first.get('mendthread_outbox_oldest_seconds')).toBe(90);
    expect(first.get('mendthread_outbox_set_aside')).toBe(2);
    expect(first.get('mendthread_queue_length')).toBe(5);
    const empty = { ...sources, backlog: async () => ({ waiting: 0, oldest: null, setAside: 0 }) };
    const second = samples(await metrics.read(empty));
    expect(second.get('mendthread_outbox_waiting')).toBe(0);
    expect(second.get('mendthread_outbox_oldest_seconds')).toBe(0);
  });

  it('leave out what the journal cannot tell, and tell the rest', async () => {
    const metrics = createMetrics();
    await metrics.read(sources);
    const hanging = new Promise<never>(() => undefined);
    for (const backlog of [() => Promise.reject(new Error('away')), () => hanging]) {
      const found = samples(await metrics.read({ ...sources, backlog }));
      expect([...found.keys()].filter((name) => name.includes('outbox'))).toEqual([]);
      expect(found.get('mendthread_queue_length')).toBe(5);
    }
    expect(samples(await metrics.read(sources)).get('mendthread_outbox_waiting')).toBe(3);
  });

  it('tell how late the event loop was since the last scrape, without the time between two looks', async () => {
    const metrics = createMetrics();
    await metrics.read(sources);
    await wait(100);
    const idle = samples(await metrics.read(sources)).get(
      'mendthread_event_loop_delay_seconds{quantile="0.5"}',
    );
    // An idle loop is looked at every 10 ms, which is no delay.
    expect(idle).toBeLessThan(0.008);
    await wait(50);
    const until = performance.now() + 300;
    while (performance.now() < until);
    await wait(50);
    const found = samples(await metrics.read(sources));
    const late = found.get('mendthread_event_loop_delay_seconds{quantile="1"}');
    expect(late).toBeGreaterThan(0.2);
    expect(late).toBeLessThan(2);
    // Those that come with the process's count that time.
    expect([...found.keys()].filter((name) => name.includes('eventloop'))).toEqual([]);
  });

  it('are each its own, with those of the process', async () => {
    const [one, other] = [createMetrics(), createMetrics()];
    one.notify({ kind: 'problem', what: 'x' });
    expect(samples(await other.read(sources)).get('mendthread_problems_total')).toBe(0);
    const found = samples(await one.read(sources));
    expect(found.get('mendthread_problems_total')).toBe(1);
    expect(found.get('process_cpu_seconds_total')).toBeGreaterThan(0);
    expect(found.get('process_resident_memory_bytes')).toBeGreaterThan(1e6);
    expect(one.contentType).toMatch(/^text\/plain; version=0\.0\.4/);
  });
});

const wait = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms));
