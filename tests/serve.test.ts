import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, expect, test } from 'vitest';
import { startDiscord } from './platforms/discord-server.ts';
import { later, startSlack } from './platforms/slack-server.ts';

/** The program as its operator starts it, on loopback platforms. */

const root = join(import.meta.dirname, '..');
const closing: (() => Promise<unknown>)[] = [];
afterEach(async () => {
  for (const close of closing.splice(0).reverse()) await close();
});

interface Running {
  readonly child: ChildProcess;
  readonly said: () => string;
  readonly ended: Promise<number | null>;
}

async function start(
  settings: string,
  env: Record<string, string>,
  dir?: string,
): Promise<Running & { readonly dir: string }> {
  const folder = dir ?? (await mkdtemp(join(tmpdir(), 'desk-')));
  if (!dir) closing.push(() => rm(folder, { recursive: true, force: true }));
  const example = await readFile(join(root, 'community.example.yaml'), 'utf8');
  await writeFile(join(folder, 'community.yaml'), `${example}\n${settings}\n`);
  const clean = Object.fromEntries(
    Object.entries(process.env).filter(([name]) => !/^(DISCORD|SLACK|HTTP|JOURNAL|KEYS|CACHE)_/.test(name)),
  );
  const child = spawn(process.execPath, [join(root, 'src/main.ts'), 'start'], {
    cwd: folder,
    env: { ...clean, JOURNAL_URL: 'sqlite:desk.db', LOG_LEVEL: 'warn', ...env },
  });
  let said = '';
  for (const stream of [child.stdout, child.stderr]) stream?.on('data', (chunk) => (said += String(chunk)));
  const ended = new Promise<number | null>((resolve) => child.on('exit', resolve));
  closing.push(async () => {
    child.kill('SIGKILL');
    await ended;
  });
  return { child, said: () => said, ended, dir: folder };
}

async function until(holds: () => boolean, what: () => string): Promise<void> {
  for (let i = 0; i < 300 && !holds(); i++) await later(50);
  if (!holds()) throw new Error(what());
}

const waitOpen = (desk: Running, on: string) =>
  until(
    () => desk.said().includes(`is open on ${on}`),
    () => `it did not open:\n${desk.said()}`,
  );

test('npm start opens the desk on both platforms; it stops on SIGTERM, and goes on where it was', async () => {
  const discord = await startDiscord();
  const slack = await startSlack();
  closing.push(
    () => discord.close(),
    () => slack.stop(),
  );
  const settings = [
    `discord: { guild: "${discord.guild}", help_channels: [help], review_channel: bench, mender_roles: [mender], moderator_roles: [moderator] }`,
    'slack: { help_channels: [help], review_channel: review, mender_group: menders, moderator_group: moderators }',
  ].join('\n');
  const env = {
    DISCORD_TOKEN: discord.token,
    DISCORD_API_URL: discord.url,
    SLACK_BOT_TOKEN: slack.botToken,
    SLACK_APP_TOKEN: slack.appToken,
    SLACK_API_URL: slack.url,
  };
  const ann = discord.person({ name: 'Ann' });
  const bea = slack.person({ name: 'Bea' });
  const first = await start(settings, env);
  await waitOpen(first, 'discord and slack');
  expect(first.said()).not.toContain(discord.token);
  await ann.command(discord.places.repairs, 'mend', 'start', { about: 'our telly has sound but no picture' });
  const general = slack.channel('general');
  await bea.command(general, '/mend', 'start our telly has sound but no picture');
  const thread = (): string => discord.threads(discord.places.repairs)[0] ?? '';
  const asked = (): boolean =>
    JSON.stringify(discord.messages(thread())).includes('Do I understand you right') &&
    slack.messages(general).some((one) => slack.shown(one).includes('Do I understand you right'));
  await until(asked, () => `nothing was asked:\n${first.said()}`);
  first.child.kill('SIGTERM');
  expect(await first.ended).toBe(0);

  const second = await start(settings, env, first.dir);
  await waitOpen(second, 'discord and slack');
  const question = slack
    .messages(general)
    .findLast((one) => slack.shown(one).includes('Do I understand you right'));
  await bea.tap(question as never, 'Flat-panel television: there is sound, but no picture');
  await until(
    () => slack.messages(general).some((one) => slack.shown(one).includes('guarantee')),
    () => `it did not go on:\n${second.said()}`,
  );
  await bea.tap(
    slack.messages(general).findLast((one) => slack.shown(one).includes('guarantee')) as never,
    'Where are we?',
  );
  await until(
    () => slack.uploads.length > 0,
    () => `no picture:\n${second.said()}`,
  );
  expect([...discord.violations, ...slack.violations, ...slack.pings]).toEqual([]);
  second.child.kill('SIGTERM');
  expect(await second.ended).toBe(0);
});

test('what is missing or wrong is one sentence that says which, and never the secret', async () => {
  const slack = await startSlack();
  closing.push(() => slack.stop());
  const missing = await start('slack: { help_channels: [help] }', {});
  expect(await missing.ended).toBe(1);
  expect(missing.said().trim().split('\n')).toEqual([
    expect.stringMatching(/^SLACK_APP_TOKEN: .*Basic Information/),
    expect.stringMatching(/^SLACK_BOT_TOKEN: .*OAuth & Permissions/),
  ]);
  const wrong = await start('slack: {}', {
    SLACK_BOT_TOKEN: 'xoxb-hush-hush',
    SLACK_APP_TOKEN: slack.appToken,
    SLACK_API_URL: slack.url,
  });
  expect(await wrong.ended).toBe(1);
  expect(wrong.said().trim()).toMatch(/^SLACK_BOT_TOKEN: Slack does not know this token\./);
  expect(wrong.said()).not.toContain('hush');
});
