import { randomUUID } from 'node:crypto';
import { parseArgs } from 'node:util';
import { createDiscord } from '../adapters/discord/discord.ts';
import { createSlack } from '../adapters/slack/slack.ts';
import { createTerminal } from '../adapters/terminal/terminal.ts';
import type { Draw } from '../shared/adapter.ts';
import type { Community } from '../shared/community.ts';
import { type Flow, Level } from '../shared/flow.ts';
import { Advice } from './advice.ts';
import { noCache } from './cache/cache.ts';
import { openCache } from './cache/open-cache.ts';
import { demonstrationClock } from './clock.ts';
import { checkRates, type Settings as DeskSettings, platformsOf, readSettings } from './config.ts';
import { isCivilFor } from './core/follow-up.ts';
import { defaultBudget } from './core/plan/plan.ts';
import { emptyCase, fold } from './core/reduce.ts';
import type { Settings } from './core/settings.ts';
import { tablesOf } from './core/step.ts';
import type { Tables } from './core/tables.ts';
import { cacheVersion, type Desk, openDesk } from './desk.ts';
import { formatProblems } from './files/file-problem.ts';
import { readFlows } from './flows.ts';
import { flowsCommand } from './flows-command.ts';
import { cardCommand } from './job-card/card-command.ts';
import { createPrint } from './job-card/print.ts';
import { openJournal } from './journal/open-journal.ts';
import { backupCommand } from './keeping/backup.ts';
import { mustBeThere } from './keeping/desk.ts';
import { eraseCommand } from './keeping/erase.ts';
import { replayCommand } from './keeping/replay.ts';
import { reportCommand } from './keeping/report.ts';
import { restoreCommand } from './keeping/restore.ts';
import { decided } from './learning/decided.ts';
import { notGivenUp } from './learning/given-up.ts';
import { teacher } from './learning/in-use.ts';
import { learntCommand } from './learning/learnt-command.ts';
import { sqlBook } from './learning/sql-book.ts';
import { createLibrary } from './library/library.ts';
import { measureCommand } from './measure/measure-command.ts';
import { createLog, logNotice } from './operations/log.ts';
import type { DiscordAccess, Platforms, SlackAccess } from './operations/platforms.ts';
import { onStop } from './operations/shutdown.ts';
import { allSettled } from './outcomes/all-settled.ts';
import type { SettledCase } from './outcomes/settled.ts';
import { createDraw } from './pictures/draw.ts';
import { reckonCommand } from './reckon-command.ts';
import { monthlyCommand } from './records/monthly-command.ts';
import { recordsCommand } from './records/records-command.ts';
import { recordsSecret } from './records/secret.ts';
import { rehearseCommand } from './rehearsal/rehearse-command.ts';
import { scoresCommand } from './scores/scores-command.ts';

/** Picks the parts and starts them. */

const usage = `npm start                        the repair desk; with no platform set up, a conversation here
npm run chat -- [words]          a conversation in this terminal
     --level new|handy|trained   what the person here may do; you vouch for it (default: new)
     --new                       begin a new case, although one is open here
     --again                     go on with the case that ended last
     --case NAME                 the case of that name, to come back to
     --skip-waits                a demonstration: waits are skipped, prove nothing, and nothing is kept
     --json                      one JSON message a line, in and out, for programs; kept with --case only
npm run rehearse -- FLOW         simulated cases through a flow
npm run flows -- check           is every flow file in order? (more: npm run flows)
npm run reckon -- SUM NUMBERS    a sum of the work, such as: element 2200 W 230 V
npm run card -- CASE             a case's job card as PDF, by its thread or the code on its paper; --markdown
npm run records -- FILE          settled cases as Open Repair Data (CSV), without anybody's words
npm run monthly -- [FILE]        what the last month came to, as Markdown; --month YYYY-MM
npm run scores                   were the odds right? over the settled cases of this desk
npm run learnt -- show           what the settled cases say of the flows' numbers, and what is used (more: npm run learnt)
npm run backup -- FILE           a copy of all cases while the desk runs; --keys: of people's keys, apart
npm run restore -- FILE          into an empty journal; --keys likewise
npm run erase -- person ID       a person's words, names and pictures become unreadable
npm run report -- THREAD         one case's journal for a report; without words unless --words
npm run replay -- FILE           what happened in a reported case, and where it stands
npm run measure                  how long a turn takes`;

async function main(argv: readonly string[]): Promise<number> {
  const [command = 'start', ...rest] = argv;
  switch (command) {
    case 'start':
    case 'chat':
      if (rest.includes('--help')) return help();
      return command === 'chat' ? chat(rest) : start(rest);
    case 'rehearse':
      return rehearseCommand(rest, led(await load()));
    case 'measure':
      return measureCommand(rest, led(await load()));
    case 'scores':
      return withSettled(await kept(), (desk) => scoresCommand(rest, desk));
    case 'card':
      return cardWith(rest, await kept());
    case 'monthly':
      return withSettled(await kept(), (desk) => monthlyCommand(rest, { ...desk, now: Date.now }));
    case 'records':
      return recordsWith(rest, await kept());
    case 'learnt':
      return learntWith(rest);
    case 'reckon':
      return reckonCommand(rest, await load());
    case 'flows':
      return flowsCommand(rest, communitySettings);
    case 'backup':
      return backupCommand(rest, await kept());
    case 'restore':
      return restoreCommand(rest, await kept());
    case 'erase':
      return eraseWith(rest, await kept());
    case 'report':
      return reportCommand(rest, await kept());
    case 'replay':
      return replayCommand(rest, { ...voice, flows: (await load()).flows });
    case 'help':
    case '--help':
      return help();
    default:
      console.error(`There is no command ${command}.\n\n${usage}`);
      return 2;
  }
}

function help(): number {
  console.log(usage);
  return 0;
}

export interface Loaded {
  readonly flows: readonly Flow[];
  readonly settings: Settings;
  readonly desk: DeskSettings;
}

/** Settings and flows, or one message with all their problems. */
async function load(): Promise<Loaded> {
  const read = await readSettings();
  if ('problems' in read) throw new Advice(read.problems.join('\n'));
  const { community, flowsDir } = read.settings;
  const files = await readFlows(flowsDir, false);
  if ('problems' in files) throw new Advice(formatProblems(files.problems));
  const rates = checkRates(community, files.flows);
  if (rates.length > 0) throw new Advice(rates.join('\n'));
  if (files.flows.length === 0) throw new Advice(`There is no flow in ${flowsDir}.`);
  return {
    flows: files.flows,
    settings: {
      community: community satisfies Community,
      budget: defaultBudget,
      library: createLibrary(files.flows),
    },
    desk: read.settings,
  };
}

/** For simulated cases: the flow that is named leads them, and nothing is chosen. */
const led = ({ settings: { library: _, ...settings }, ...rest }: Loaded): Loaded => ({ ...rest, settings });

/** The community's settings without any flow, for whoever is writing one. */
async function communitySettings(): Promise<Settings> {
  const read = await readSettings();
  if ('problems' in read) throw new Advice(read.problems.join('\n'));
  return { community: read.settings.community, budget: defaultBudget };
}

const voice = {
  out: (line: string): void => console.log(line),
  err: (line: string): void => console.error(line),
};

/** What commands about kept cases are given. */
async function kept() {
  const { flows, settings, desk } = await load();
  const { journal, keys } = desk;
  if (journal.kind === 'memory' || keys === null)
    throw new Advice('JOURNAL_URL is memory:, and a desk in memory keeps nothing.');
  return { ...voice, journal, keys, now: Date.now, flows, settings, cacheUrl: desk.cacheUrl };
}

/** What is worked out from the settled cases of this desk. */
async function withSettled(
  desk: Awaited<ReturnType<typeof kept>>,
  work: (
    given: typeof voice &
      Pick<Loaded, 'flows' | 'settings'> & {
        cases: AsyncIterable<SettledCase>;
        learnt: (flow: Flow) => Tables | undefined;
      },
  ) => Promise<number>,
): Promise<number> {
  const { flows, settings } = desk;
  const opened = await openJournal({ journal: desk.journal, keys: desk.keys, report: desk.err });
  try {
    const { learnt } = decided(await sqlBook(opened.db).read(0));
    const used = teacher({ flows, settings })(learnt);
    return await work({
      ...voice,
      cases: allSettled(opened, flows),
      flows,
      settings,
      learnt: ({ flow: id }) => {
        const flow = used.settings.numbers?.has(id) ? used.flows.find((one) => one.flow === id) : undefined;
        return flow && tablesOf(flow, settings);
      },
    });
  } finally {
    await opened.close();
  }
}

async function recordsWith(
  args: readonly string[],
  place: Awaited<ReturnType<typeof kept>>,
): Promise<number> {
  const secret = await recordsSecret(place.keys, place.now, place.err);
  return withSettled(place, (desk) =>
    recordsCommand(args, { ...desk, community: desk.settings.community, secret }),
  );
}

async function cardWith(args: readonly string[], desk: Awaited<ReturnType<typeof kept>>): Promise<number> {
  const { flows, settings } = await load();
  mustBeThere(desk.journal, 'journal');
  const journal = await openJournal({ journal: desk.journal, keys: desk.keys, report: desk.err });
  try {
    // The desk itself goes by the numbers that were accepted.
    const { learnt } = decided(await sqlBook(journal.db).read(0));
    const taught = teacher({ flows, settings })(learnt);
    const draw = createDraw({ flows: taught.flows, cache: noCache });
    return await cardCommand(args, { ...voice, ...taught, journal, draw, now: Date.now });
  } finally {
    await journal.close();
  }
}

/** Learning is about the cases of this desk, and about what people decided of them. */
async function learntWith(args: readonly string[]): Promise<number> {
  const { journal: place, keys, now, err, flows, settings } = await kept();
  const journal = await openJournal({ journal: place, keys, report: err });
  try {
    const which = await notGivenUp(journal);
    return await learntCommand(args, {
      ...voice,
      book: sqlBook(journal.db),
      cases: () => allSettled(journal, flows, which),
      knows: async (id) => (await journal.read(id)).events.length > 0,
      flows,
      settings,
      now,
    });
  } finally {
    await journal.close();
  }
}

async function eraseWith(args: readonly string[], desk: Awaited<ReturnType<typeof kept>>): Promise<number> {
  const { journal, keys, now, err, settings } = desk;
  const notify = logNotice(createLog({ level: 'error' }));
  const opened = await openJournal({ journal, keys, report: err });
  const cache = await openCache({ url: desk.cacheUrl, db: opened.db, version: cacheVersion, notify, now });
  try {
    return await eraseCommand(args, {
      ...desk,
      forgetCached: (thread) => cache.remove('case', thread),
      keyBackupDays: settings.community.key_backup_days,
      retentionDays: settings.community.retention_days,
    });
  } finally {
    await cache.close();
    await opened.close();
  }
}

/** The desk on the platforms that the settings name; in this terminal where they name none. */
async function start(args: readonly string[]): Promise<number> {
  const loaded = await load();
  const read = platformsOf(loaded.settings.community);
  if ('problems' in read) throw new Advice(read.problems.join('\n'));
  const { discord, slack } = read.platforms;
  if (!discord && !slack) return chat(args);
  if (args.length > 0) throw new Advice(`“start” takes no words here.\n\n${usage}`);
  return serve(loaded, read.platforms);
}

async function serve({ desk: settings, settings: core, flows }: Loaded, to: Platforms): Promise<number> {
  const log = logNotice(createLog({ level: settings.logLevel }));
  let opened: Desk | null = null;
  const shared = {
    draw: ((picture) => (opened as Desk).draw(picture)) satisfies Draw,
    print: createPrint({
      draw: (picture) => (opened as Desk).draw(picture),
      community: core.community,
      now: Date.now,
    }),
    notice: voice.err,
    now: Date.now,
  };
  const adapters = [
    ...(to.discord ? [createDiscord({ ...shared, ...given(to.discord) })] : []),
    ...(to.slack ? [createSlack({ ...shared, ...given(to.slack) })] : []),
  ];
  opened = await openDesk({
    settings,
    core,
    flows,
    adapters,
    now: Date.now,
    moved: () => false,
    log,
    serves: true,
  });
  const { runtime, requests, stopping } = opened;
  const done = Promise.withResolvers<number>();
  const listening = adapters.map((one) => ({ name: one.name, run: () => one.stop() }));
  const stop = onStop([...listening, ...stopping], { notify: log, exit: done.resolve });
  try {
    await Promise.all(adapters.map((one) => one.start(runtime.receive, requests)));
    voice.err(`${core.community.name} is open on ${adapters.map(({ name }) => name).join(' and ')}.`);
  } catch (cause) {
    await stop.stop();
    await done.promise;
    throw cause instanceof Error ? new Advice(cause.message) : cause;
  }
  return done.promise;
}

/** What is not set is left out: clients take an absent address and an empty one for different things. */
function given<A extends DiscordAccess | SlackAccess>({ apiUrl, ...access }: A) {
  return { ...access, ...(apiUrl === null ? {} : { apiUrl }) };
}

async function chat(args: readonly string[]): Promise<number> {
  const { values, positionals } = options(args);
  const { flows, settings, desk: given } = await load();
  const json = values.json === true;
  const level = Level.safeParse(values.level ?? 'new');
  if (!level.success) throw new Advice(`--level is one of ${Level.options.join(', ')}.`);
  // A person at the terminal may say that they are handy; a program's level is what its operator said.
  const vouched = values.level !== undefined || json;
  const skipWaits = values['skip-waits'] === true;
  const keeps = given.journal.kind !== 'memory' && !skipWaits && (!json || values.case !== undefined);
  const desk: DeskSettings = keeps ? given : { ...given, journal: { kind: 'memory' }, keys: null };

  const clock = demonstrationClock();
  const wanted = { name: values.case ?? 'case', fresh: values.new === true, again: values.again === true };
  const thread = keeps ? await threadFor(desk, wanted, settings) : null;
  let opened: Desk | null = null;
  const colour = !json && process.stdout.isTTY === true && !process.env.NO_COLOR;
  const terminal = createTerminal({
    input: process.stdin,
    output: process.stdout,
    person: { id: 'terminal', name: 'you', ...(vouched ? { level: level.data } : {}), roles: [] },
    thread: thread?.name ?? 'terminal',
    json,
    colour,
    width: Math.min(80, process.stdout.columns ?? 80),
    skipWaits,
    keeps,
    resumes: thread?.open ?? false,
    now: clock.now,
    moved: clock.moved,
    async advance(minutes) {
      clock.advance(minutes);
      await opened?.runtime.ring();
    },
    drained: async () => opened?.runtime.idle(),
    ...(positionals.length > 0 ? { firstWords: positionals.join(' ') } : {}),
    newId: randomUUID,
  });
  // Somebody reads standard error along with the conversation: there it says only what is wrong.
  const log = logNotice(createLog({ level: json ? desk.logLevel : 'error' }));
  opened = await openDesk({
    settings: desk,
    core: settings,
    flows,
    adapters: [terminal],
    now: clock.now,
    moved: clock.moved,
    log,
  });
  const { runtime, requests, stopping } = opened;
  const done = Promise.withResolvers<number>();
  const stop = onStop([{ name: 'the conversation', run: () => terminal.stop() }, ...stopping], {
    notify: log,
    exit: done.resolve,
  });
  await terminal.start(runtime.receive, requests);
  await Promise.race([terminal.ended, done.promise]);
  await stop.stop();
  return done.promise;
}

/**
 * The thread of a named case: the latest open one, else one that ended and is to be asked after by now or taken up again, else
 * the next that nobody has written in.
 */
async function threadFor(
  { journal: place, keys }: DeskSettings,
  { name, fresh, again }: { readonly name: string; readonly fresh: boolean; readonly again: boolean },
  { community }: Settings,
): Promise<{ readonly name: string; readonly open: boolean }> {
  if (place.kind === 'memory' || keys === null) return { name: 'terminal', open: false };
  const journal = await openJournal({ journal: place, keys, report: voice.err });
  try {
    let open: string | null = null;
    let asked: string | null = null;
    let last: string | null = null;
    const now = Date.now();
    for (let number = 1; ; number++) {
      const thread = `terminal/${name}${number === 1 ? '' : `-${number}`}`;
      const kase = fold(emptyCase(thread), (await journal.read(thread)).events);
      if (kase.asker === '') {
        const found = fresh ? null : (open ?? (again ? last : asked));
        return { name: found ?? thread, open: found !== null };
      }
      last = thread;
      if (kase.state !== 'settled') open = thread;
      else if ((kase.followUp?.due ?? Infinity) <= now && isCivilFor(kase, community, now)) asked = thread;
    }
  } finally {
    await journal.close();
  }
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
        new: { type: 'boolean' },
        again: { type: 'boolean' },
        case: { type: 'string' },
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
