import { type App, HTTPReceiver, type ReceiverEvent, SocketModeReceiver } from '@slack/bolt';
import { silentLogger } from './api.ts';

/** How Slack's messages arrive, through Bolt's own receivers: they hold the socket, and check every signature. */
export interface Receiver {
  start(): Promise<void>;
  stop(): Promise<void>;
}

export interface Heard {
  readonly body: unknown;
  /** Once, and never more. */
  acknowledge(): Promise<void>;
}

/** At the latest so long after it came, something is acknowledged, milliseconds: Slack waits for three seconds. */
const patience = 2500;

/**
 * Bolt's own app acknowledges events before anybody has seen them. Here the desk says when; what it could not keep is not
 * acknowledged, so that Slack sends it again.
 */
function ownApp(hear: (heard: Heard) => Promise<void>): App {
  return {
    async processEvent({ body, ack }: ReceiverEvent): Promise<void> {
      let done = false;
      const acknowledge = async (): Promise<void> => {
        if (done) return;
        done = true;
        await ack();
      };
      const timer = setTimeout(() => void acknowledge().catch(() => undefined), patience);
      try {
        await hear({ body, acknowledge });
      } finally {
        clearTimeout(timer);
      }
      await acknowledge();
    },
  } as unknown as App;
}

export function socketReceiver(
  options: { readonly appToken: string; readonly apiUrl?: string },
  hear: (heard: Heard) => Promise<void>,
): Receiver {
  const receiver = new SocketModeReceiver({
    appToken: options.appToken,
    logger: silentLogger,
    // A connection that says nothing for so long is made anew.
    clientPingTimeout: 5000,
    ...(options.apiUrl === undefined
      ? {}
      : { installerOptions: { clientOptions: { slackApiUrl: options.apiUrl } } }),
  });
  receiver.init(ownApp(hear));
  return {
    async start() {
      await receiver.start();
    },
    async stop() {
      const closed = new Promise<void>((resolve) => {
        receiver.client.once('disconnected', () => resolve());
        setTimeout(resolve, 1000).unref();
      });
      await receiver.stop();
      await closed;
    },
  };
}

export function httpReceiver(
  options: { readonly signingSecret: string; readonly port: number },
  hear: (heard: Heard) => Promise<void>,
): Receiver {
  const receiver = new HTTPReceiver({
    signingSecret: options.signingSecret,
    port: options.port,
    endpoints: ['/slack/events', '/slack/commands', '/slack/interactive'],
    logger: silentLogger,
    // What could not be kept is told so, and Slack sends it again.
    processEventErrorHandler: async ({ response }) => {
      if (!response.headersSent) {
        response.writeHead(500);
        response.end();
      }
      return false;
    },
    unhandledRequestHandler: () => undefined,
  });
  receiver.init(ownApp(hear));
  return {
    async start() {
      await receiver.start(options.port);
    },
    async stop() {
      await receiver.stop();
    },
  };
}
