import { expect } from 'vitest';
import { createDiscord } from '../../../adapters/discord/discord.ts';
import type { Ask } from '../../../shared/outbound.ts';
import type { Shown } from '../../platforms/discord/shown.ts';
import { startDiscord } from '../../platforms/discord-server.ts';
import { adapterContract, type Stage } from '../adapter.contract.ts';

const controls: Readonly<Record<string, string>> = {
  unsure: 'Not sure',
  cannot: 'I cannot do this',
  why: 'Why this?',
  where: 'Where are we?',
  undo: 'Undo',
  person: 'Ask a person',
  stop: 'Stop',
};

adapterContract('discord', async (now): Promise<Stage> => {
  const server = await startDiscord();
  const { repairs } = server.places;
  const ann = server.person({ name: 'Ann' });
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
    draw: async () => ({ png: new Uint8Array([137, 80, 78, 71]), width: 1, height: 1 }),
    notice: (words) => expect.fail(words),
    now,
  });
  let taken = 0;
  // The loopback server lets everything pass: what paces the desk would only make the test slow.
  const { pace: _, ...abilities } = adapter.abilities;
  const watched = {
    ...adapter,
    abilities,
    start: (...[receive, desk]: Parameters<typeof adapter.start>) =>
      adapter.start(async (inbound, answer) => {
        const kept = await receive(inbound, answer);
        taken += 1;
        return kept;
      }, desk),
  };
  /** Done, and the desk has taken it in. */
  const untilTaken = async <T>(work: () => Promise<T>): Promise<T> => {
    const before = taken;
    const result = await work();
    await expect.poll(() => taken).toBeGreaterThan(before);
    return result;
  };
  const thread = (): string => server.threads(repairs)[0] ?? '';
  const last = (label: string): Shown => {
    const found = server.messages(thread()).findLast(({ buttons }) => buttons.includes(label));
    if (!found) throw new Error(`nobody can tap “${label}”: ${server.messages(thread()).at(-1)?.text}`);
    return found;
  };
  const tap = (label: string) => untilTaken(() => ann.tap(last(label), label));
  const labelOf = ({ choices }: Ask, answer: string): string =>
    choices.find(({ id }) => id === answer)?.label ?? answer;
  return {
    adapter: watched,
    async opens(about) {
      await untilTaken(() => ann.command(repairs, 'mend', 'start', { about }));
    },
    async taps(ask, answer) {
      await tap(labelOf(ask, answer));
    },
    async writes(words) {
      await untilTaken(() => ann.write(thread(), words));
    },
    async enters(_, reading) {
      const { modal } = await tap('Enter the reading');
      if (!modal) throw new Error('there was no form');
      const label = modal.components[0]?.label ?? '';
      await untilTaken(() => ann.submit(modal, { [label]: reading }));
    },
    async asks(_, control) {
      await tap(controls[control] ?? control);
    },
    read: async () =>
      server
        .messages(thread())
        .map(({ text }) => text)
        .join('\n\n'),
    async close() {
      await server.quiet();
      await server.close();
      expect(server.violations).toEqual([]);
      expect(server.pings).toEqual([]);
      expect(server.unacknowledged).toEqual([]);
    },
  };
});
