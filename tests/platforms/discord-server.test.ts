import { afterEach, expect, test } from 'vitest';
import { createDiscord } from '../../adapters/discord/discord.ts';
import type { Inbound } from '../../shared/inbound.ts';
import { type DiscordServer, startDiscord } from './discord-server.ts';

let closing: (() => Promise<void>)[] = [];
afterEach(async () => {
  for (const close of closing.reverse()) await close();
  closing = [];
});

async function connected(server: DiscordServer) {
  const received: Inbound[] = [];
  const adapter = createDiscord({
    token: server.token,
    apiUrl: server.url,
    place: {
      guild: server.guild,
      help_channels: ['help'],
      review_channel: 'bench',
      mender_roles: ['mender'],
      moderator_roles: ['moderator'],
    },
    draw: async () => ({ png: new Uint8Array([1]), width: 1, height: 1 }),
    notice: (words) => console.log(words),
    now: Date.now,
  });
  closing.push(() => adapter.stop());
  await adapter.start(
    async (inbound) => {
      received.push(inbound);
      return 'taken';
    },
    { latest: async () => null, request: async () => ({ words: 'nothing', cases: [] }) },
  );
  return { adapter, received };
}

test('a bot connects, hears a command and answers it', async () => {
  const server = await startDiscord();
  closing.push(() => server.close());
  const { received } = await connected(server);
  const ann = server.person({ name: 'Ann' });
  const came = await ann.command(server.places.repairs, 'mend', 'start', { about: 'It hums' });
  expect(came.answered).toBe(true);
  expect(received).toMatchObject([{ kind: 'opened', words: 'It hums' }]);
  expect(server.violations).toEqual([]);
});
