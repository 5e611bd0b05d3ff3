import { random } from '../../src/rehearsal/random.ts';
import { createAskers } from './askers.ts';
import { type Counts, judge } from './check.ts';
import { type Database, postgresDatabase, sqliteDatabase } from './database.ts';
import type { Desk } from './desks.ts';
import { createKiller, type Kills } from './killer.ts';
import { createMail } from './mail.ts';
import { lookInside } from './outside.ts';
import { chatPlatform } from './platform.ts';
import { type FromDesk, points } from './protocol.ts';
import { createShift, sleep } from './shift.ts';

/** Desks that die again and again, in a world that does not; and in the end the question whether anything was lost. */
export interface RunOptions {
  readonly journal: 'sqlite' | 'postgres';
  readonly kills: number;
  readonly seed: number;
  readonly instances: number;
  /** Seconds from one crash of the database to the next; null: it stays up. */
  readonly restartDatabase: number | null;
  /** The run ends by then, whatever was killed so far; null: when all kills are done. */
  readonly minutes: number | null;
  readonly say: (line: string) => void;
}

export interface Report {
  readonly options: Omit<RunOptions, 'say'>;
  readonly kills: Readonly<Kills>;
  /** Desks that were asked to stop in the midst of their work, and did. */
  readonly stops: number;
  /** Crashes of the database. */
  readonly restarts: number;
  readonly seconds: number;
  /** Times that the desks' clock was moved. */
  readonly clockMoves: number;
  /** Times that people were told that there is too much to do. */
  readonly turnedAway: number;
  readonly counts: Counts;
  /** Empty when every promise was kept. */
  readonly broken: readonly string[];
  /** What desks complained of, the last of it. */
  readonly problems: readonly string[];
}

/** Shorter than in earnest, so that a run need not wait long for the claims of the dead. */
const claimAge = 1000;
/** People at work at the same time. */
const busy = 14;
const minute = 60_000;
const day = 24 * 60 * minute;

export async function crashRun(options: RunOptions): Promise<Report> {
  const { journal, restartDatabase } = options;
  const database =
    journal === 'sqlite' ? await sqliteDatabase() : await postgresDatabase({ own: restartDatabase !== null });
  try {
    return await runOn(database, options);
  } finally {
    await database.drop();
  }
}

async function runOn(database: Database, { say, ...options }: RunOptions): Promise<Report> {
  const { seed, instances, restartDatabase, minutes } = options;
  const draw = random('crash', seed);
  const began = Date.now();
  const until = minutes === null ? Number.POSITIVE_INFINITY : began + minutes * minute;
  const broken: string[] = [];
  const problems: string[] = [];
  const outages: { from: number; to: number }[] = [];

  // The clock of the desks.
  let ahead = 0;
  let clockMoves = 0;
  const now = (): number => Date.now() + ahead;
  function moveClock(by: number): void {
    ahead += Math.round(by);
    clockMoves += 1;
    for (const desk of shift.open()) desk.send({ kind: 'clock', ahead });
  }

  // The platform, the people, and the desks.
  const platform = chatPlatform({
    draw: random('platform', seed),
    now,
    shown: ({ thread, outbound }) => askers.shown(thread, outbound),
  });
  const mail = createMail({ open: () => shift.open(), heard: (thread) => askers.heard(thread) });
  const askers = createAskers({ seed, busy, now, send: mail.send });
  const shift = createShift({ database, claimAge, ahead: () => ahead, heard });
  const killer = createKiller({
    shift,
    draw,
    outages: restartDatabase !== null,
    newcomer: askers.newcomer,
  });
  /** Cases as desks told them. */
  const told = new Map<string, string>();
  let answered = 0;

  function heard(message: FromDesk, desk: Desk): void {
    switch (message.kind) {
      case 'deliver':
        platform.deliver(message.delivery, message.call, desk.number, desk.send);
        return;
      case 'received':
        mail.received(message);
        return;
      case 'told':
        answered += 1;
        for (const { thread, text } of message.cases) told.set(thread, text);
        return;
      case 'problem':
        problems.push(`desk ${desk.number}: ${message.what}`);
        if (problems.length > 200) problems.shift();
        // As long as the database is there, there is nothing to complain of but a cache that took too long.
        if (restartDatabase === null && !message.what.startsWith('The cache fails'))
          broken.push(`the run: ${problems.at(-1)}`);
        return;
      case 'loaded':
      case 'opened':
        return;
      default:
        message satisfies never;
    }
  }

  // The world goes on by itself.
  const living = setInterval(() => {
    askers.act();
    mail.again();
  }, 10);
  const clock = setInterval(() => {
    // Mostly past a wait of half an hour; at times past the days that a part takes.
    moveClock(draw.next() < 0.03 ? 3 * day + 5 * day * draw.next() : (5 + 40 * draw.next()) * minute);
  }, 350);
  const over = Promise.withResolvers<'over'>();
  const restarting = (async () => {
    if (restartDatabase === null || !database.restart) return;
    while ((await Promise.race([sleep(restartDatabase * 1000), over.promise])) !== 'over') {
      const from = Date.now();
      await database.restart();
      outages.push({ from, to: Date.now() });
      say(`the database crashed and is back, ${outages.length} times`);
    }
  })();

  let whole = true;
  try {
    await Promise.all(Array.from({ length: instances }, (_, place) => shift.occupy(place)));
    // Points that were missed are made up for, if that takes no more than some.
    const most = options.kills === 0 ? 0 : options.kills + points.length;
    const { kills } = killer;
    while ((kills.all < options.kills || (killer.behind && kills.all < most)) && Date.now() < until) {
      await killer.strike();
      if (kills.all % 25 === 0)
        say(`${kills.all} kills, ${askers.threads} cases, ${platform.posts.length} postings`);
    }
    while (options.kills === 0 && Date.now() < until) await sleep(100);
  } catch (cause) {
    whole = false;
    broken.push(`the run: ${cause instanceof Error ? cause.message : String(cause)}`);
  } finally {
    over.resolve('over');
    clearInterval(clock);
    clearInterval(living);
    await restarting;
  }
  const seconds = (Date.now() - began) / 1000;

  if (whole) {
    await drain();
    await tell();
  }
  for (const wrong of await Promise.all(shift.places.map(shift.stop)))
    if (wrong !== null) broken.push(`the run: ${wrong}`);
  await shift.close();

  const { kills, stops } = killer;
  for (const point of points)
    if (kills.all >= 2 * points.length && kills.at[point] === 0)
      broken.push(`the run: nobody died at ${point}, so it proves nothing about it`);
  const judgement = judge({
    sent: mail.sent,
    posts: platform.posts,
    ends: shift.ends,
    outages,
    told,
    ...(await lookInside(database)),
  });
  return {
    options,
    kills,
    stops,
    restarts: outages.length,
    seconds,
    clockMoves,
    turnedAway: platform.turnedAway,
    counts: judgement.counts,
    broken: [...broken, ...judgement.broken],
    problems,
  };

  /** Nobody kills any more, and nobody says anything new: all that is under way comes to its end. */
  async function drain(): Promise<void> {
    const patience = Date.now() + 90_000;
    for (let quiet = 0; quiet < 3; ) {
      if (Date.now() > patience) {
        broken.push('the run: what was under way came to no end');
        return;
      }
      mail.again();
      // At another hour each time: nobody is asked at night how it went on.
      moveClock(4 * day + 5 * 60 * minute);
      await sleep(250);
      const [left] = await database.query(
        'select (select count(*) from timers) as timers, (select count(*) from outbox where state = 0) as messages',
      );
      const none = Number(left?.timers) === 0 && Number(left?.messages) === 0 && mail.unanswered === 0;
      quiet = none ? quiet + 1 : 0;
    }
  }

  /** Has all cases told, each by a desk that may never have had to do with it. */
  async function tell(): Promise<void> {
    const threads = (await database.query('select thread from cases')).map(({ thread }) => String(thread));
    const desks = shift.open();
    for (let from = 0, asked = 1; from < threads.length; from += 50, asked++) {
      desks[asked % desks.length]?.send({ kind: 'tell', threads: threads.slice(from, from + 50) });
      for (let i = 0; i < 3000 && answered < asked; i++) await sleep(10);
    }
  }
}
