import { randomUUID } from 'node:crypto';
import { parseArgs } from 'node:util';
import { createTerminal } from '../adapters/terminal/terminal.ts';
import type { Community } from '../shared/community.ts';
import { type Flow, Level } from '../shared/flow.ts';
import { demonstrationClock } from './clock.ts';
import { checkRates, readSettings } from './config.ts';
import { defaultBudget } from './core/plan/plan.ts';
import type { Settings } from './core/settings.ts';
import { formatProblems } from './files/file-problem.ts';
import { readFlows } from './flows.ts';
import { flowsCommand } from './flows-command.ts';
import { memoryJournal } from './journal/memory.ts';
import { measureCommand } from './rehearsal/measure.ts';
import { rehearseCommand } from './rehearsal/rehearse-command.ts';
import { createRuntime, type Runtime } from './runtime.ts';

/** Picks the parts and starts them. */

const usage = `npm start                        the repair desk; with no platform set up, a conversation here
npm run chat -- [words]          a conversation in this terminal
     --level new|handy|trained   what the person here may do; you vouch for it (default: new)
     --skip-waits                a demonstration: waits are skipped, and prove nothing
     --json                      one JSON message a line, in and out, for programs
npm run rehearse -- FLOW         simulated cases through a flow
npm run flows -- check           is every flow file in order?
npm run measure                  how long a turn takes`;

async function main(argv: readonly string[]): Promise<number> {
  const [command = 'start', ...rest] = argv;
  switch (command) {
    case 'start':
    case 'chat':
      return chat(rest);
    case 'rehearse':
      return rehearseCommand(rest, await load());
    case 'measure':
      return measureCommand(rest, await load());
    case 'flows':
      return flowsCommand(rest);
    case 'help':
    case '--help':
      console.log(usage);
      return 0;
    default:
      console.error(`There is no command ${command}.\n\n${usage}`);
      return 2;
  }
}

export interface Loaded {
  readonly flows: readonly Flow[];
  readonly settings: Settings;
}

/** Settings and flows, or one message with all their problems. */
async function load(): Promise<Loaded> {
  const read = await readSettings();
  if ('problems' in read) throw new Advice(read.problems.join('\n'));
  const { community, flowsDir } = read.settings;
  const files = await readFlows(flowsDir);
  if ('problems' in files) throw new Advice(formatProblems(files.problems));
  const rates = checkRates(community, files.flows);
  if (rates.length > 0) throw new Advice(rates.join('\n'));
  if (files.flows.length === 0) throw new Advice(`There is no flow in ${flowsDir}.`);
  return {
    flows: files.flows,
    settings: { community: community satisfies Community, budget: defaultBudget },
  };
}

/** Something the operator can put right; printed without a stack. */
class Advice extends Error {}

async function chat(args: readonly string[]): Promise<number> {
  const { values, positionals } = options(args);
  const { flows, settings } = await load();
  const json = values.json === true;
  const level = Level.safeParse(values.level ?? 'new');
  if (!level.success) throw new Advice(`--level is one of ${Level.options.join(', ')}.`);
  // A person at the terminal may say that they are handy; a program's level is what its operator said.
  const vouched = values.level !== undefined || json;

  const clock = demonstrationClock();
  let runtime: Runtime | null = null;
  const colour = !json && process.stdout.isTTY === true && !process.env.NO_COLOR;
  const terminal = createTerminal({
    input: process.stdin,
    output: process.stdout,
    person: { id: 'terminal', name: 'you', ...(vouched ? { level: level.data } : {}), roles: [] },
    thread: 'terminal',
    json,
    colour,
    width: Math.min(80, process.stdout.columns ?? 80),
    skipWaits: values['skip-waits'] === true,
    now: clock.now,
    moved: clock.moved,
    async advance(minutes) {
      clock.advance(minutes);
      await runtime?.ring();
    },
    ...(positionals.length > 0 ? { firstWords: positionals.join(' ') } : {}),
    newId: randomUUID,
  });
  runtime = createRuntime({
    journal: memoryJournal(),
    flow: flows[0] as Flow,
    settings,
    now: clock.now,
    moved: clock.moved,
    adapter: terminal,
    report: (problem) => console.error(problem),
  });
  process.once('SIGINT', () => void terminal.stop());
  process.once('SIGTERM', () => void terminal.stop());
  await terminal.start(runtime.receive);
  await terminal.ended;
  await runtime.stop();
  await terminal.stop();
  return 0;
}

function options(args: readonly string[]) {
  try {
    return parseArgs({
      args: [...args],
      allowPositionals: true,
      options: {
        level: { type: 'string' },
        json: { type: 'boolean' },
        'skip-waits': { type: 'boolean' },
      },
    });
  } catch (cause) {
    throw new Advice(`${cause instanceof Error ? cause.message : String(cause)}\n\n${usage}`);
  }
}

try {
  process.exitCode = await main(process.argv.slice(2));
} catch (cause) {
  if (!(cause instanceof Advice)) throw cause;
  console.error(cause.message);
  process.exitCode = 1;
}
// Input that is still open would keep the program alive.
process.stdin.unref?.();
