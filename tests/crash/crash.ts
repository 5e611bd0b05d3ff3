import { parseArgs } from 'node:util';
import { points } from './protocol.ts';
import { crashRun, type Report } from './run.ts';

/** The command: kills desks as told, prints what was found, and exits with 1 when anything was lost or doubled. */

const usage = `npm run crash -- [options]       kills desks under load, and checks that nothing is lost and nothing doubled
     --journal sqlite|postgres   default: sqlite. PostgreSQL: that of TEST_POSTGRES_URL, or one started for the run
     --kills N                   how many desks die, a few more where a point was missed (default: 50)
     --minutes M                 an end to it by the clock
     --instances 1|3             desks at the same time; 3 with PostgreSQL only
     --restart-database SECONDS  PostgreSQL crashes, too, every so many seconds
     --seed S                    what people do, where and when desks die; not how the machine times it
     --json                      the report as JSON`;

async function main(): Promise<number> {
  const { values } = parseArgs({
    options: {
      journal: { type: 'string', default: 'sqlite' },
      kills: { type: 'string' },
      seed: { type: 'string' },
      instances: { type: 'string', default: '1' },
      'restart-database': { type: 'string' },
      minutes: { type: 'string' },
      json: { type: 'boolean', default: false },
      help: { type: 'boolean', default: false },
    },
  });
  const number = (text: string | undefined): number | null => (text === undefined ? null : Number(text));
  const { journal } = values;
  const minutes = number(values.minutes);
  const restartDatabase = number(values['restart-database']);
  const kills = number(values.kills) ?? (minutes === null ? 50 : Number.MAX_SAFE_INTEGER);
  const seed = number(values.seed) ?? Math.floor(Math.random() * 1e6);
  const instances = Number(values.instances);
  const wrong =
    (journal !== 'sqlite' && journal !== 'postgres') ||
    [kills, seed, minutes ?? 0, restartDatabase ?? 1].some((one) => !Number.isFinite(one) || one < 0) ||
    ![1, 3].includes(instances) ||
    (journal === 'sqlite' && (instances !== 1 || restartDatabase !== null)) ||
    (kills === 0 && minutes === null);
  if (values.help || wrong) {
    console.error(usage);
    return values.help ? 0 : 2;
  }
  const report = await crashRun({
    journal: journal === 'postgres' ? 'postgres' : 'sqlite',
    kills,
    seed,
    instances,
    restartDatabase,
    minutes,
    say: (line) => console.error(line),
  });
  console.log(values.json ? JSON.stringify(report, null, 2) : table(report));
  if (report.broken.length === 0) return 0;
  console.error(
    `\nBroken promises: ${report.broken.length}. The same again: --seed ${seed}, with the options above.`,
  );
  for (const what of report.broken.slice(0, 30)) console.error(`- ${what}`);
  return 1;
}

function table({ options, kills, stops, restarts, seconds, clockMoves, turnedAway, counts }: Report): string {
  const { journal, instances, seed } = options;
  const { again, timers } = counts;
  const rows: readonly (readonly [string, string | number])[] = [
    ['journal', `${journal}, ${instances} at a time, seed ${seed}, ${Math.round(seconds)} s`],
    ['desks killed', kills.all],
    ...points.map((point) => [`  at ${point}`, kills.at[point]] as const),
    ['  at any moment', kills.anyMoment],
    ['  while starting', kills.whileStarting],
    ['desks stopped in order', stops],
    ['database crashed', restarts],
    ['clock moved', clockMoves],
    ['cases', `${counts.cases}, of ${counts.snapshots} a snapshot`],
    ['messages of people', `${counts.sent}, acknowledged ${counts.acknowledged}`],
    ['  lost', counts.lost],
    ['  doubled', counts.doubled],
    ['  turned away for a while', turnedAway],
    ['events', counts.events],
    ['messages to people', counts.messages],
    ['  not delivered', counts.undelivered],
    ['  sent again after a crash', `${again.afterCrash}, dropped by their id`],
    ['  sent again unanswered', `${again.notAnswered}, dropped by their id`],
    ['  sent again for no reason', again.unexplained],
    ['timers set', timers.set],
    ['  rang', timers.rang],
    ['  taken back', timers.takenBack],
  ];
  return rows.map(([name, value]) => `${name.padEnd(28)}${value}`).join('\n');
}

process.exitCode = await main();
