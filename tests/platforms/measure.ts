import { spawn } from 'node:child_process';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { hostile } from '../adapters/hostile.ts';
import { type DiscordServer, startDiscord } from './discord-server.ts';
import { later, type SlackServer, startSlack } from './slack-server.ts';

/**
 * `npm run measure-platforms`: fifty people at once through one desk as `npm start` opens it, on loopback platforms; how soon
 * each tap is acknowledged, what is posted twice when the platform answers "failed" after it was done, and whom hostile
 * words call.
 */

const crowd = 50;
const rounds = 6;
const faults = 500;
const texts = 1000;
const root = join(import.meta.dirname, '../..');
const words = 'our telly has sound but no picture';
const wait = later;

/** A platform with people on it, whatever it is called. */
interface Place {
  readonly name: string;
  begin(i: number): Promise<void>;
  /** Questions of this person that show an answer. */
  answered(i: number): number;
  /** Whether this person's job card stands in their thread. */
  carded(i: number): boolean;
  /** Taps an answer of the question that is open for this person; false: none is. */
  tap(i: number): Promise<boolean>;
  say(i: number, text: string): Promise<void>;
  failNext(): void;
  /** Faults that befell a request. */
  failed(): number;
  acknowledged(): number[];
  unacknowledged(): number;
  doubles(): number;
  /** Told beside them, where the platform forgets. */
  beyond(): string;
  posted(): number;
  pings(): number;
  violations(): readonly string[];
}

function discordPlace(server: DiscordServer): Place {
  const people = Array.from({ length: crowd }, (_, i) => server.person({ name: `Person ${i}` }));
  const threads: string[] = [];
  return {
    name: 'Discord',
    async begin(i) {
      const came = await people[i]?.command(server.places.repairs, 'mend', 'start', {
        about: `${words} ${i}`,
      });
      // Fifty begin at once: which thread is whose, each is told alone.
      threads[i] = /<#(\d+)>/.exec(came?.privately.join() ?? '')?.[1] ?? '';
    },
    async tap(i) {
      const open = server.messages(threads[i] ?? '').findLast(({ buttons }) => buttons.includes('Undo'));
      const answer = open?.buttons[0];
      if (!open || !answer) return false;
      await people[i]?.tap(open, answer);
      return true;
    },
    async say(i, text) {
      await people[i]?.write(threads[i] ?? '', text);
    },
    answered: (i) =>
      server.messages(threads[i] ?? '').filter(({ text }) => text.includes(` · Person ${i}`)).length,
    carded: (i) => server.messages(threads[i] ?? '').some(({ text }) => text.includes('Job card')),
    failNext: () =>
      server.fail({ method: 'POST', path: /channels\/\d+\/messages$/, times: 1, how: '500-after' }),
    failed: () => server.requests().filter((one) => one.endsWith(' 500')).length,
    acknowledged: () => [...server.acknowledgedAfter],
    unacknowledged: () => server.unacknowledged.length,
    doubles: () => server.doubles.length,
    beyond: () => `, and after the platform had forgotten the nonce ${server.doublesBeyond.length}`,
    posted: () => threads.reduce((sum, thread) => sum + server.messages(thread ?? '').length, 0),
    pings: () => server.pings.length,
    violations: () => server.violations.map(String),
  };
}

function slackPlace(server: SlackServer): Place {
  const people = Array.from({ length: crowd }, (_, i) => server.person({ name: `Person ${i}` }));
  const general = server.channel('general');
  const threads: string[] = [];
  let planned = 0;
  return {
    name: 'Slack',
    async begin(i) {
      await people[i]?.command(general, '/mend', `start ${words} ${i}`);
      threads[i] = server.messages(general).find((one) => one.text.endsWith(`${words} ${i}`))?.ts ?? '';
    },
    async tap(i) {
      const open = server
        .thread(general, threads[i] ?? '')
        .findLast(({ blocks }) => blocks.some(({ block_id }) => block_id === 'controls'));
      const answers = open?.blocks.find(({ block_id }) => block_id === 'answers')?.elements as
        | { text: { text: string } }[]
        | undefined;
      const label = answers?.[0]?.text?.text;
      if (!open || label === undefined) return false;
      await people[i]?.tap(open, label);
      return true;
    },
    async say(i, text) {
      await people[i]?.write(general, text, { thread: threads[i] ?? '' });
    },
    answered: (i) =>
      server.thread(general, threads[i] ?? '').filter((one) => server.shown(one).includes(` · Person ${i}`))
        .length,
    carded: (i) =>
      server.thread(general, threads[i] ?? '').some((one) => server.shown(one).includes('Job card')),
    failNext: () => {
      planned += 1;
      server.fail({ method: 'chat.postMessage', times: 1, how: '500-after' });
    },
    failed: () => planned - server.faultsLeft,
    acknowledged: () => server.acknowledged,
    unacknowledged: () => server.unacknowledged,
    doubles: () => server.doubles,
    beyond: () => '',
    posted: () => server.messages(general).length,
    pings: () => server.pings.length,
    violations: () => server.violations,
  };
}

async function desk(settings: string, env: Record<string, string>): Promise<() => Promise<void>> {
  const dir = await mkdtemp(join(tmpdir(), 'measure-'));
  const example = await readFile(join(root, 'community.example.yaml'), 'utf8');
  await writeFile(join(dir, 'community.yaml'), `${example}\n${settings}\n`);
  const child = spawn(process.execPath, [join(root, 'src/main.ts'), 'start'], {
    cwd: dir,
    env: { ...process.env, JOURNAL_URL: 'sqlite:desk.db', LOG_LEVEL: 'error', ...env },
  });
  let said = '';
  for (const stream of [child.stdout, child.stderr]) stream?.on('data', (chunk) => (said += String(chunk)));
  for (let i = 0; i < 300 && !said.includes('is open on'); i++) await wait(50);
  if (!said.includes('is open on')) throw new Error(said);
  return async () => {
    child.kill('SIGTERM');
    await new Promise((resolve) => child.on('exit', resolve));
    await rm(dir, { recursive: true, force: true });
  };
}

const everybody = (work: (i: number) => Promise<unknown>): Promise<unknown> =>
  Promise.all(Array.from({ length: crowd }, (_, i) => work(i)));

async function quiet(place: Place): Promise<void> {
  for (let before = -1, same = 0; same < 4; ) {
    await wait(700);
    const now = place.posted();
    same = now === before ? same + 1 : 0;
    before = now;
  }
}

const sum = (count: (i: number) => number): number =>
  Array.from({ length: crowd }, (_, i) => count(i)).reduce((all, one) => all + one, 0);

async function measure(place: Place): Promise<void> {
  await everybody((i) => place.begin(i));
  await quiet(place);
  const begun = place.acknowledged().length;
  for (let round = 0; round < rounds; round++) {
    await everybody((i) => place.tap(i));
    await quiet(place);
  }
  // Refusals are acknowledged, too: without answers that were kept, nothing was measured.
  const kept = sum((i) => place.answered(i));
  for (let i = 0; i < crowd; i++)
    if (place.answered(i) === 0) throw new Error(`${place.name}: no answer of person ${i} was kept`);
  const times = place
    .acknowledged()
    .slice(begun)
    .toSorted((a, b) => a - b);
  const starts = Math.max(...place.acknowledged().slice(0, begun));
  const at = (q: number): string =>
    `${(times[Math.min(times.length - 1, Math.floor(q * times.length))] ?? 0).toFixed(0)} ms`;
  console.log(
    `${place.name}: ${crowd} people at once, ${times.length} answers acknowledged, ${kept} of them kept by now: p50 ${at(0.5)}, p99 ${at(0.99)}, last ${at(1)} (a case begun: ${starts.toFixed(0)} ms at most); not acknowledged in 3 s: ${place.unacknowledged()}.`,
  );
  const before = place.doubles();
  // One for each thread at a time: a message that failed is to get through at its next try.
  for (let turn = 0; place.failed() < faults && turn < 40; turn++) {
    const left = Math.min(crowd, faults - place.failed());
    for (let i = 0; i < left; i++) place.failNext();
    const before = place.failed();
    await everybody((i) => place.say(i, turn % 2 === 0 ? 'why' : 'where'));
    for (let n = 0; n < 60 && place.failed() < before + left; n++) await wait(250);
    await quiet(place);
  }
  console.log(
    `${place.name}: ${place.failed()} posts that were done and answered with 500: posted twice ${place.doubles() - before}${place.beyond()}.`,
  );
  for (let done = 0; done < texts; done += crowd) {
    await everybody((i) => place.say(i, hostile[(done + i) % hostile.length] ?? 'x'));
    await wait(1200);
  }
  await everybody((i) => place.say(i, 'card'));
  await quiet(place);
  const cards = sum((i) => Number(place.carded(i)));
  if (cards < crowd) throw new Error(`${place.name}: ${crowd - cards} job cards are missing`);
  console.log(
    `${place.name}: ${texts} hostile texts and a job card in every thread: people called ${place.pings()}; messages against the platform's rules in all of this ${place.violations().length}.`,
  );
  for (const one of place.violations().slice(0, 5)) console.log(`  ${one}`);
}

const discord = await startDiscord();
const stopDiscord = await desk(`discord: { guild: "${discord.guild}", review_channel: bench }`, {
  DISCORD_TOKEN: discord.token,
  DISCORD_API_URL: discord.url,
});
await measure(discordPlace(discord));
await stopDiscord();
await discord.close();
const slack = await startSlack();
const stopSlack = await desk('slack: { review_channel: review }', {
  SLACK_BOT_TOKEN: slack.botToken,
  SLACK_APP_TOKEN: slack.appToken,
  SLACK_API_URL: slack.url,
});
await measure(slackPlace(slack));
await stopSlack();
await slack.stop();
