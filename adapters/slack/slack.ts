import type { Adapter, Delivery, Draw, Print } from '../../shared/adapter.ts';
import { DeliveryFailure } from '../../shared/adapter.ts';
import type { SlackPlace } from '../../shared/community.ts';
import { createOrder } from '../order.ts';
import { createApi } from './api.ts';
import { createDelivering } from './delivering.ts';
import { createDirectory } from './directory.ts';
import { createEvents } from './events.ts';
import { type Heard, httpReceiver, socketReceiver } from './receivers.ts';

export interface SlackOptions {
  readonly botToken: string;
  /** Through a socket that the bot opens, or by requests that Slack makes. */
  readonly way:
    | { readonly kind: 'socket'; readonly appToken: string }
    | { readonly kind: 'http'; readonly signingSecret: string; readonly port: number };
  /** Where the API is; absent: Slack's own. */
  readonly apiUrl?: string;
  readonly place: SlackPlace;
  readonly draw: Draw;
  /** Absent: a job card to print is shown in words. */
  readonly print?: Print;
  /** Told in a sentence what the bot lacks. */
  readonly notice: (words: string) => void;
  readonly now: () => number;
}

/** Slack as a platform: a socket or a port that hears, and a Web API that posts. */
export function createSlack(options: SlackOptions): Adapter {
  const { place, draw, print = null, notice, now, way } = options;
  const api = createApi(options);
  const directory = createDirectory(api, place, notice, now);
  const order = createOrder();
  let events: ((heard: Heard) => Promise<void>) | null = null;
  let post: ((delivery: Delivery) => Promise<string>) | null = null;
  let stopped = false;

  async function hear(heard: Heard): Promise<void> {
    if (events === null || stopped) throw new DeliveryFailure('away', 'not listening');
    await events(heard);
  }

  const receiver =
    way.kind === 'socket'
      ? socketReceiver(
          { appToken: way.appToken, ...(options.apiUrl === undefined ? {} : { apiUrl: options.apiUrl }) },
          hear,
        )
      : httpReceiver(way, hear);

  return {
    name: 'slack',
    abilities: { buttons: 12, length: 3000, pictures: true, forms: true, pace: { all: 20, thread: 1 } },
    async start(receive, desk) {
      const { me, help, review } = await directory.begin();
      post = createDelivering({ api, draw, print, review });
      events = createEvents({
        api,
        directory,
        desk,
        me,
        help,
        order,
        notice,
        now,
        async give(inbound, answer) {
          const result = stopped ? 'busy' : await receive(inbound, answer);
          if (result === 'busy' && stopped) throw new DeliveryFailure('away', 'stopping');
        },
        stamp: (id, thread, by) => ({ id: `slack:${id}`.slice(0, 200), thread, at: now(), by }),
      });
      await receiver.start().catch((cause) => {
        events = null;
        throw new Error(
          way.kind === 'socket'
            ? 'SLACK_APP_TOKEN: Slack does not let the bot open a socket with it. Make an app-level token with connections:write, and switch Socket Mode on, on the page of your Slack app.'
            : `SLACK_PORT: nothing can be heard on port ${way.port} (${String((cause as { code?: unknown }).code ?? 'unknown')}).`,
        );
      });
    },
    async deliver(delivery) {
      if (post === null) throw new DeliveryFailure('away', 'Slack is not connected yet.');
      return post(delivery);
    },
    async stop() {
      stopped = true;
      await order.idle();
      await receiver.stop().catch(() => undefined);
    },
  };
}
