import { createSlack } from '../../../adapters/slack/slack.ts';
import type { Adapter, Draw, Print } from '../../../shared/adapter.ts';
import type { Event } from '../../../shared/case.ts';
import type { SlackPlace } from '../../../shared/community.ts';
import type { Earlier } from '../../../src/core/settings.ts';
import { memoryJournal } from '../../../src/journal/memory.ts';
import { erase } from '../../../src/keeping/erase.ts';
import { createRequests } from '../../../src/runtime/requests.ts';
import { createRuntime, type Runtime } from '../../../src/runtime/runtime.ts';
import { following } from '../../conversations/thread.ts';
import { testedRadio } from '../../core/example-flow.ts';
import { nothingLearnt } from '../../learning/nothing-learnt.ts';
import { later, type Posted, type SlackServer, startSlack } from '../../platforms/slack-server.ts';

/** A desk on the loopback Slack: the real adapter and runtime, an invented radio, and a clock that the test moves. */
export interface Stage {
  readonly server: SlackServer;
  readonly adapter: Adapter;
  readonly runtime: Runtime;
  readonly notices: readonly string[];
  settled(): Promise<void>;
  later(minutes: number): Promise<void>;
  events(place: string): Promise<readonly Event[]>;
  /** The latest message in a channel with such a button. */
  withButton(channel: string, label: string): Posted;
  close(): Promise<void>;
}

export const place: SlackPlace = {
  help_channels: ['help'],
  review_channel: 'review',
  mender_group: 'menders',
  moderator_group: 'moderators',
};

export const freePort = async (): Promise<number> => {
  const { createServer } = await import('node:net');
  const server = createServer();
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const { port } = server.address() as { port: number };
  await new Promise((resolve) => server.close(resolve));
  return port;
};

const drawn: Draw = async () => ({ png: Uint8Array.from([137, 80, 78, 71]), width: 1, height: 1 });

export async function slackOn(
  server: SlackServer,
  mode: 'socket' | 'http',
  now: () => number,
  notices: string[],
  draw = drawn,
  print?: Print,
): Promise<Adapter> {
  const port = await freePort();
  server.listensAt(`http://127.0.0.1:${port}`);
  const slack = createSlack({
    botToken: server.botToken,
    way:
      mode === 'socket'
        ? { kind: 'socket', appToken: server.appToken }
        : { kind: 'http', signingSecret: server.signingSecret, port },
    apiUrl: server.url,
    place,
    draw,
    ...(print ? { print } : {}),
    notice: (words) => notices.push(words),
    now,
  });
  const { pace: _, ...abilities } = slack.abilities;
  return { ...slack, abilities };
}

export async function openStage({
  plan = ['dial-lamp', 'settings'],
  mode = 'socket',
  draw = drawn,
  earlier,
  print,
}: {
  readonly plan?: readonly string[];
  readonly mode?: 'socket' | 'http';
  readonly draw?: Draw;
  readonly earlier?: Earlier;
  readonly print?: Print;
} = {}): Promise<Stage> {
  const server = await startSlack({ mode });
  let now = Date.UTC(2031, 5, 4, 9, 0);
  const notices: string[] = [];
  const adapter = await slackOn(server, mode, () => now, notices, draw, print);
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
  await adapter.start(runtime.receive, desk);
  const settled = async (): Promise<void> => {
    for (let i = 0; i < 3; i++) {
      await runtime.idle();
      await later(15);
    }
  };
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
    async events(at) {
      const latest = await journal.latest(at);
      return latest ? (await journal.read(latest.thread)).events : [];
    },
    withButton(channel, label) {
      const found = server
        .messages(channel)
        .findLast((one) => JSON.stringify(one.blocks).includes(JSON.stringify(label)));
      if (!found)
        throw new Error(
          `No “${label}” in:\n${server
            .messages(channel)
            .map((one) => server.shown(one))
            .join('\n---\n')}`,
        );
      return found;
    },
    async close() {
      await adapter.stop();
      await runtime.stop();
      await server.stop();
    },
  };
}
