import { serveOperations } from '../../src/operations/http.ts';
import { createLog, logNotice } from '../../src/operations/log.ts';
import { createMetrics } from '../../src/operations/metrics.ts';
import { onStop } from '../../src/operations/shutdown.ts';

/** A program that serves and logs, for tests of signals: `stopping-program.ts [hang]`. Says its address, then its steps. */

const hang = process.argv[2] === 'hang';
const notify = logNotice(createLog({ level: 'info' }));
const metrics = createMetrics();
const server = await serveOperations({
  host: '127.0.0.1',
  port: 0,
  checks: {},
  notify,
  metrics: {
    contentType: metrics.contentType,
    read: () =>
      metrics.read({
        backlog: async () => ({ waiting: 0, oldest: null, setAside: 0 }),
        queued: () => 0,
        now: Date.now,
      }),
  },
});

const step = (name: string, run: () => Promise<void> | void) => ({
  name,
  run: () => {
    console.log(name);
    return run();
  },
});
onStop(
  [
    step('drain', () => server.draining()),
    step('finish', () => (hang ? new Promise<void>(() => undefined) : undefined)),
    step('close', () => server.close()),
  ],
  { notify },
);
console.log(server.url);
