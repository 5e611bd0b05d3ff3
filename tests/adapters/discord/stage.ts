import { createDiscord } from '../../../adapters/discord/discord.ts';
import type { Adapter, Draw, Print } from '../../../shared/adapter.ts';
import type { Event } from '../../../shared/case.ts';
import type { DiscordPlace } from '../../../shared/community.ts';
import type { Earlier } from '../../../src/core/settings.ts';
import { memoryJournal } from '../../../src/journal/memory.ts';
import { erase } from '../../../src/keeping/erase.ts';
import { createRequests } from '../../../src/runtime/requests.ts';
import { createRuntime, type Runtime } from '../../../src/runtime/runtime.ts';
import { following } from '../../conversations/thread.ts';
import { testedRadio } from '../../core/example-flow.ts';
import { nothingLearnt } from '../../learning/nothing-learnt.ts';
import type { Someone } from '../../platforms/discord/person.ts';
import type { Shown } from '../../platforms/discord/shown.ts';
import { type DiscordServer, startDiscord } from '../../platforms/discord-server.ts';

/** A desk on the loopback Discord: the real adapter and runtime, an invented radio, and a clock that the test moves. */
export interface Stage {
  readonly server: DiscordServer;
  readonly adapter: Adapter;
  readonly runtime: Runtime;
  /** What the operator was told. */
  readonly notices: readonly string[];
  /** Resolves when everything that was begun is done, what failed and is tried again not counted. */
  settled(): Promise<void>;
  later(minutes: number): Promise<void>;
  /** What the journal has of the latest case at a place. */
  events(place: string): Promise<readonly Event[]>;
  /** The words with which the latest case at a place was opened; null where there is none. */
  openedWith(place: string): Promise<string | null>;
  /** The latest message in a channel with such a button. */
  withButton(channel: string, label: string): Shown;
  /** Taps the latest button that stands for this answer (the flow's id), and waits for what comes of it. */
  answer(who: Someone, channel: string, ...ids: readonly string[]): Promise<void>;
  close(): Promise<void>;
}

export const png = Uint8Array.from([137, 80, 78, 71, 13, 10, 26, 10]);
const drawn: Draw = async () => ({ png, width: 1, height: 1 });

export const placeOf = (server: DiscordServer, more: Partial<DiscordPlace> = {}): DiscordPlace => ({
  guild: server.guild,
  help_channels: ['help'],
  review_channel: 'bench',
  mender_roles: ['mender'],
  moderator_roles: ['moderator'],
  ...more,
});

export async function openStage({
  plan = ['dial-lamp', 'settings'],
  place = {},
  draw = drawn,
  earlier,
  print,
  slow = async () => undefined,
}: {
  readonly plan?: readonly string[];
  readonly place?: Partial<DiscordPlace>;
  readonly draw?: Draw;
  readonly earlier?: Earlier;
  readonly print?: Print;
  /** Awaited before the desk takes anything in. */
  readonly slow?: () => Promise<void>;
} = {}): Promise<Stage> {
  const server = await startDiscord();
  let now = Date.UTC(2031, 5, 4, 9, 0);
  const notices: string[] = [];
  const discord = createDiscord({
    token: server.token,
    apiUrl: server.url,
    place: placeOf(server, place),
    draw,
    ...(print ? { print } : {}),
    notice: (words) => notices.push(words),
    now: () => now,
  });
  // The loopback server lets everything pass: what paces the desk would only make the tests slow.
  const { pace: _, ...abilities } = discord.abilities;
  const adapter: Adapter = { ...discord, abilities };
  const journal = memoryJournal({ now: () => now });
  const settings = { ...following(...plan), ...(earlier ? { earlier } : {}) };
  const runtime = createRuntime({
    journal,
    flows: [testedRadio],
    settings,
    now: () => now,
    machine: Date.now,
    moved: () => false,
    adapters: [adapter],
    notify: () => undefined,
  });
  const desk = createRequests({
    journal,
    settings,
    caseOf: runtime.caseOf,
    flowOf: runtime.flowOf,
    learning: nothingLearnt(),
    erase: async (person) =>
      (await erase(journal, person, { now: () => now, forgetCached: runtime.forgetCached })).touched.length,
  });
  await adapter.start(async (inbound, answer) => {
    await slow();
    return runtime.receive(inbound, answer);
  }, desk);

  const events = async (place: string): Promise<readonly Event[]> => {
    const latest = await desk.latest(`discord:${place}`);
    return latest === null ? [] : (await journal.read(latest.thread)).events;
  };

  async function settled(): Promise<void> {
    await server.quiet(60);
    await runtime.idle();
    await server.quiet(30);
  }
  return {
    server,
    adapter,
    runtime,
    notices,
    settled,
    async later(minutes) {
      now += minutes * 60_000;
      await runtime.ring();
      await settled();
    },
    events,
    async openedWith(place) {
      const opened = (await events(place)).find(({ kind }) => kind === 'opened');
      return opened?.kind === 'opened' ? opened.words : null;
    },
    withButton(channel, label) {
      const messages = server.messages(channel);
      const found = messages.findLast(({ buttons }) => buttons.includes(label));
      if (!found)
        throw new Error(
          `nobody can tap “${label}” there:\n${messages.map(({ text, buttons }) => `${text} [${buttons}]`).join('\n')}`,
        );
      return found;
    },
    async answer(who, channel, ...ids) {
      for (const id of ids) {
        const buttons = server.messages(channel).flatMap((message) =>
          message.wire.components
            .flatMap(({ components }) => components ?? [])
            .filter(({ custom_id: custom }) => custom?.startsWith('a|') && custom.endsWith(`|${id}`))
            .map(({ label }) => ({ message, label: label ?? '' })),
        );
        const last = buttons.at(-1);
        if (!last) throw new Error(`${id} cannot be answered: ${server.messages(channel).at(-1)?.text}`);
        await who.tap(last.message, last.label);
        await settled();
      }
    },
    async close() {
      await adapter.stop();
      await runtime.stop();
      await server.close();
    },
  };
}
