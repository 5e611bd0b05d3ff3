import { afterEach, beforeEach, expect, test } from 'vitest';
import type { DiscordServer } from '../../platforms/discord-server.ts';
import { openStage, type Stage } from './stage.ts';

/** A desk that takes longer than the three seconds that Discord waits for an answer. */

let stage: Stage;
let server: DiscordServer;
let wait = 0;
/** Taps whose answer the platform refused on purpose. */
let refused = 0;
const silent = 'It lights up but is silent';

beforeEach(async () => {
  wait = 0;
  refused = 0;
  stage = await openStage({ slow: () => new Promise((resolve) => setTimeout(resolve, wait)) });
  server = stage.server;
});
afterEach(async () => {
  await stage.close();
  expect(server.violations).toEqual([]);
  expect(server.pings).toEqual([]);
  expect(server.unacknowledged).toHaveLength(refused);
});

async function begin(): Promise<string> {
  const ann = server.person({ name: 'Ann' });
  await ann.command(server.places.repairs, 'mend', 'start', { about: silent });
  await stage.settled();
  return server.threads(server.places.repairs)[0] ?? '';
}

test('whoever taps or commands is told to wait, those behind them in line too, and gets the answer when it comes', async () => {
  const thread = await begin();
  const ann = server.person({ name: 'Anke' });
  const bea = server.person({ name: 'Bea' });
  wait = 2600;
  const question = server.messages(thread)[0];
  const [tapped, commanded] = await Promise.all([
    bea.tap(question as never, question?.buttons[0] ?? ''),
    ann.command(thread, 'mend', 'undo'),
  ]);
  expect([tapped.answered, commanded.answered]).toEqual([true, true]);
  await expect.poll(() => bea.privately(), { timeout: 10_000 }).toHaveLength(1);
  await expect.poll(() => ann.privately(), { timeout: 10_000 }).toHaveLength(1);
});

test('an offer that is taken up loses its buttons all the same', async () => {
  const ann = server.person({ name: 'Ann' });
  const thread = await ann.post(server.places.forum, { title: 'Radio', text: silent });
  wait = 2600;
  await ann.tap(stage.withButton(thread, 'Yes, please'), 'Yes, please');
  await expect
    .poll(() => server.messages(thread)[1], { timeout: 10_000 })
    .toMatchObject({ content: 'Good. We begin.', buttons: [] });
});

test('a form that comes too late is asked to be opened once more', async () => {
  const thread = await begin();
  const mo = server.person({ name: 'Mo', roles: ['mender'] });
  wait = 2600;
  const late = await mo.command(thread, 'bench', 'settle');
  expect(late.modal).toBeUndefined();
  expect(late.privately).toEqual([expect.stringContaining('tap it once more')]);
  wait = 0;
  expect((await mo.command(thread, 'bench', 'settle')).modal).toBeDefined();
});

test('where the tap can no longer be answered, it is said in the thread that it has to be done again', async () => {
  const thread = await begin();
  const bea = server.person({ name: 'Bea' });
  server.fail({ method: 'POST', path: /\/callback$/, times: 1, how: 'expired' });
  refused = 1;
  const question = server.messages(thread)[0];
  await bea.tap(question as never, question?.buttons[0] ?? '');
  await stage.settled();
  const said = server.messages(thread).map(({ text }) => text);
  expect(said.some((text) => text.includes('too late to be shown to you alone'))).toBe(true);
  expect(said.join()).not.toContain('only the owner and the menders');
});
