import type { Adapter, Answer, Delivery, Desk, Draw, Receive } from '../../shared/adapter.ts';
import { DeliveryFailure } from '../../shared/adapter.ts';
import type { SlackPlace } from '../../shared/community.ts';
import type { Inbound } from '../../shared/inbound.ts';
import type { Person } from '../../shared/person.ts';
import { type Answering, answering, type Occasion } from './answer.ts';
import { createApi, failure, isGone, uncertain } from './api.ts';
import { actions, type Body, button, section } from './blocks.ts';
import { createDirectory } from './directory.ts';
import { write } from './ids.ts';
import { commanded, filled, type Meant, saidIn, tapped } from './inbound.ts';
import { body, home, replyBody } from './outbound.ts';
import {
  Actions,
  ChangedEvent,
  ChannelEvent,
  Command,
  EventCallback,
  HomeEvent,
  MemberLeft,
  MessageEvent,
  Shortcut,
  Submission,
} from './payload.ts';
import { type Heard, httpReceiver, socketReceiver } from './receivers.ts';
import { written } from './text.ts';

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
  /** Told in a sentence what the bot lacks. */
  readonly notice: (words: string) => void;
  readonly now: () => number;
}

const rememberedAtMost = 5000;
const system: Person = { id: 'slack:system', name: '', roles: [] };
const notTaken = 'Something went wrong on my side, and I did not take that in. Please send it again.';
/** Kinds of messages that people send; all others are Slack's own, or another program's. */
const spoken: ReadonlySet<string | undefined> = new Set([undefined, 'file_share', 'thread_broadcast']);

/** Slack as a platform: a socket or a port that hears, and a Web API that posts. */
export function createSlack(options: SlackOptions): Adapter {
  const { place, draw, notice, now } = options;
  const api = createApi(options);
  const directory = createDirectory(api, place, notice, now);
  let receive: Receive | null = null;
  let desk: Desk | null = null;
  let me = '';
  let review: string | null = null;
  let help: ReadonlySet<string> = new Set();
  /** Deliveries of which nobody knows whether they were posted. */
  const doubtful = new Set<string>();
  /** Threads in which something was posted since the start: before that, another life of this desk may have. */
  const postedIn = new Set<string>();
  const offered = new Set<string>();
  const queues = new Map<string, Promise<void>>();
  let stopped = false;

  /** One after the other within a channel. */
  function inOrder<T>(channel: string, work: () => Promise<T>): Promise<T> {
    const turn = (queues.get(channel) ?? Promise.resolve()).then(work);
    const last = turn.then(
      () => undefined,
      () => undefined,
    );
    queues.set(channel, last);
    void last.then(() => {
      if (queues.get(channel) === last) queues.delete(channel);
    });
    return turn;
  }

  async function give(inbound: Inbound, answer?: (one: Answer) => void): Promise<void> {
    if (!receive || stopped) throw new DeliveryFailure('away', 'not listening');
    const result = await receive(inbound, answer);
    if (result === 'busy' && stopped) throw new DeliveryFailure('away', 'stopping');
  }
  const stamp = (id: string, thread: string, by: Person) => ({
    id: `slack:${id}`.slice(0, 200),
    thread,
    at: now(),
    by,
  });
  const threadOf = (channel: string, ts: string): string => `slack:${channel}/${ts}`;
  const partsOf = (thread: string): readonly [string, string] => {
    const [channel = '', ts = ''] = thread.replace(/^slack:/, '').split('/');
    return [channel, ts];
  };
  const isDirect = (channel: string): boolean => channel.startsWith('D');

  // What people write.

  async function said(message: MessageEvent): Promise<void> {
    const { user, channel, ts } = message;
    if (!user || user === me || message.bot_id || !spoken.has(message.subtype)) return;
    const heard = saidIn(message, me);
    const top = message.thread_ts === undefined || message.thread_ts === ts;
    const direct = isDirect(channel);
    if (top && !direct && !heard.named && !help.has(channel)) return;
    const by = await directory.person(user);
    const at = threadOf(channel, message.thread_ts ?? ts);
    // In a direct message people write below, not into threads; the case that is open hears it.
    const latest = top && !direct ? null : await (desk as Desk).latest(top ? `slack:${channel}` : at);
    if (latest && (!latest.settled || heard.named || wakes(heard.words) || (direct && !top)))
      return tell(message, latest.thread, by, heard);
    if (direct || heard.named) return opens(message, at, by, heard);
    if (top && help.has(channel)) await offer(message);
  }

  /** A settled case is left alone by talk that goes on in its thread. */
  const wakes = (words: string): boolean => /^(again|take it up again)[.!]?$/i.test(words);

  type SaidHere = ReturnType<typeof saidIn>;

  async function opens(message: MessageEvent, thread: string, by: Person, heard: SaidHere): Promise<void> {
    const { channel, ts } = message;
    await aloud(message, async (answer) => {
      const opened = { kind: 'opened' as const, words: heard.words, place: directory.channelName(channel) };
      await give({ ...stamp(`${channel}:${ts}`, thread, by), ...opened }, answer);
      await shown(message, thread, by, heard, answer);
    });
  }

  async function tell(message: MessageEvent, thread: string, by: Person, heard: SaidHere): Promise<void> {
    const { channel, ts } = message;
    await aloud(message, async (answer) => {
      if (heard.words !== '') {
        const content = {
          kind: 'said' as const,
          words: heard.words,
          ...(heard.aside ? { aside: true as const } : {}),
        };
        await give({ ...stamp(`${channel}:${ts}`, thread, by), ...content }, answer);
      }
      await shown(message, thread, by, heard, answer);
    });
  }

  async function shown(
    { channel, ts }: MessageEvent,
    thread: string,
    by: Person,
    { photos, others }: SaidHere,
    answer: (one: Answer) => void,
  ): Promise<void> {
    if (photos.length > 0)
      await give(
        { ...stamp(`${channel}:${ts}:photo`, thread, by), kind: 'photo', references: [...photos] },
        answer,
      );
    if (others > 0)
      answer({
        kind: 'whisper',
        to: by.id,
        words: 'I can keep photos only, up to 10 MB each. Please send a photo, or tell it in words.',
      });
  }

  /** Private words about something that was written. */
  async function aloud(
    message: MessageEvent,
    work: (answer: (one: Answer) => void) => Promise<void>,
  ): Promise<void> {
    const answer = answering(
      {
        user: message.user ?? '',
        channel: message.channel,
        thread: message.thread_ts ?? null,
        acknowledge: async () => undefined,
      },
      api,
    );
    await work((one) => answer.give(one, threadOf(message.channel, message.thread_ts ?? message.ts)));
    await answer
      .end()
      .catch((cause) => notice(`Slack: a private answer could not be shown. ${failure(cause).message}`));
  }

  /** One quiet message under a new post; nothing more unless its author wants it. */
  async function offer({ channel, ts, user }: MessageEvent): Promise<void> {
    const id = `offer:${channel}:${ts}`;
    if (offered.has(id)) return;
    offered.add(id);
    forgetOldest(offered);
    const value = (yes: boolean) => write({ t: 'offer', yes, to: user ?? '', ts });
    const words = 'I can help to find the fault, step by step, and call people when it needs them. Shall I?';
    await api.post(
      channel,
      ts,
      {
        text: words,
        blocks: [
          section(words),
          actions('offer', [
            button('offer:yes', 'Yes, please', value(true), 'primary'),
            button('offer:no', 'No, thanks', value(false)),
          ]),
        ],
      },
      id,
    );
  }

  // What people tap and command.

  async function acted(
    meant: Meant,
    id: string,
    user: string,
    occasion: Omit<Occasion, 'user'>,
    message: string | null,
  ): Promise<void> {
    const answer = answering({ ...occasion, user }, api);
    try {
      const by = await directory.person(user);
      await means(meant, id, by, occasion, message, answer);
    } catch (cause) {
      notice(`Slack: something that was tapped could not be taken in. ${failure(cause).message}`);
      answer.whisper(notTaken);
    }
    await answer
      .end()
      .catch((cause) => notice(`Slack: a private answer could not be shown. ${failure(cause).message}`));
  }

  async function means(
    meant: Meant,
    id: string,
    by: Person,
    occasion: Omit<Occasion, 'user'>,
    message: string | null,
    answer: Answering,
  ): Promise<void> {
    switch (meant.kind) {
      case 'give': {
        const thread = await caseFor(meant, by, occasion);
        if (thread === null) {
          answer.whisper(
            meant.content.kind === 'asked'
              ? 'Which case? In its thread, write my name and the word, such as “@… undo”; “/mend mine” shows your cases.'
              : 'Which case? “/bench list” numbers them: write the number behind the word, such as “/bench take 2”.',
          );
          return;
        }
        await give({ ...stamp(id, thread, by), ...meant.content } as Inbound, (one) =>
          answer.give(one, thread),
        );
        return;
      }
      case 'start':
        return start(meant.words, id, by, occasion, answer);
      case 'request': {
        const asked = { by, platform: 'slack', at: now() };
        const { what, sure } = meant;
        const reply = await (desk as Desk).request(
          what === 'forget' ? { ...asked, what, sure } : { ...asked, what },
        );
        answer.say(replyBody(reply));
        return;
      }
      case 'offer':
        return offerAnswered(meant, id, by, occasion, message, answer);
      case 'nothing':
        answer.whisper(meant.words);
        return;
      default:
        return meant satisfies never;
    }
  }

  /** Commands name no thread on Slack: the case is named by its number, or is the only one it can be. */
  async function caseFor(
    { thread, number, content }: Extract<Meant, { kind: 'give' }>,
    by: Person,
    { channel, thread: here }: Omit<Occasion, 'user'>,
  ): Promise<string | null> {
    if (thread !== undefined) return thread;
    const asked = { by, platform: 'slack', at: now() };
    if (channel !== null && here !== null) {
      const latest = await (desk as Desk).latest(threadOf(channel, here));
      if (latest) return latest.thread;
    }
    const bench = content.kind === 'acted' || content.kind === 'wanted' || number !== undefined;
    const { cases } = await (desk as Desk).request({ ...asked, what: bench ? 'list' : 'mine' });
    if (number !== undefined) return cases[number - 1]?.thread ?? null;
    if (bench) return cases.length === 1 ? (cases[0]?.thread ?? null) : null;
    return cases.find((one) => one.thread.startsWith(`slack:${channel}/`))?.thread ?? null;
  }

  async function start(
    words: string,
    id: string,
    by: Person,
    { channel, thread: here }: Omit<Occasion, 'user'>,
    answer: Answering,
  ): Promise<void> {
    if (channel === null) return;
    if (here !== null && (await (desk as Desk).latest(threadOf(channel, here)))) {
      answer.whisper('There is a case in this thread already.');
      return;
    }
    const first = body(
      { kind: 'say', words: words === '' ? 'A repair begins here.' : `A repair begins here: ${words}` },
      '',
      null,
    );
    const ts = here ?? (await api.post(channel, null, first as Body, `start:${id}`));
    const thread = threadOf(channel, ts);
    await give(
      { ...stamp(id, thread, by), kind: 'opened', words, place: directory.channelName(channel) },
      (one) => answer.give(one, thread),
    );
  }

  /** Only whoever wrote the post says whether help is wanted. */
  async function offerAnswered(
    { yes, to, ts }: Extract<Meant, { kind: 'offer' }>,
    id: string,
    by: Person,
    { channel }: Omit<Occasion, 'user'>,
    message: string | null,
    answer: Answering,
  ): Promise<void> {
    if (by.id !== `slack:${to}`) {
      answer.whisper('Thank you. Only whoever wrote the post can answer this.');
      return;
    }
    if (channel === null) return;
    const done = async (words: string): Promise<void> => {
      const now = body({ kind: 'say', words }, '', null);
      if (message !== null && now) await api.update(channel, message, now).catch(() => undefined);
    };
    if (!yes) return done('All right, I keep quiet. “/mend start” calls me.');
    const thread = threadOf(channel, ts);
    const words = written(await api.words(channel, ts), me);
    await give(
      { ...stamp(id, thread, by), kind: 'opened', words, place: directory.channelName(channel) },
      (one) => answer.give(one, thread),
    );
    await done('Good. We begin.');
  }

  // Everything that Slack sends arrives here, and nothing of it is believed before it was parsed.

  async function hear({ body: payload, acknowledge }: Heard): Promise<void> {
    if (!receive || stopped) throw new DeliveryFailure('away', 'not listening');
    const event = EventCallback.safeParse(payload);
    if (event.success) return happened(event.data.event);
    const command = Command.safeParse(payload);
    if (command.success) {
      const { user_id, channel_id, trigger_id } = command.data;
      const occasion = { channel: channel_id, thread: null, trigger: trigger_id, acknowledge };
      const meant = commanded(command.data, me);
      return inOrder(channel_id, () => acted(meant, `command:${trigger_id}`, user_id, occasion, null));
    }
    const tap = Actions.safeParse(payload);
    if (tap.success) {
      const { user, container, channel, message, trigger_id, actions: taps } = tap.data;
      const where = channel?.id ?? container?.channel_id ?? null;
      const ts = message?.ts ?? container?.message_ts ?? null;
      const thread = message?.thread_ts ?? container?.thread_ts ?? ts;
      const occasion = { channel: where, thread, trigger: trigger_id, acknowledge };
      const id = `tap:${where}:${ts}:${taps[0]?.action_ts}:${user.id}`;
      return inOrder(where ?? user.id, () => acted(tapped(tap.data), id, user.id, occasion, ts));
    }
    const form = Submission.safeParse(payload);
    if (form.success) {
      const { user, view } = form.data;
      const meant = filled(form.data);
      const [channel, thread] = meant.kind === 'give' && meant.thread ? partsOf(meant.thread) : [null, null];
      const occasion = { channel, thread, acknowledge };
      return inOrder(channel ?? user.id, () => acted(meant, `form:${view.id}:${user.id}`, user.id, occasion, null));
    }
    const shortcut = Shortcut.safeParse(payload);
    if (shortcut.success) {
      const { user, channel, message, trigger_id, action_ts } = shortcut.data;
      const thread = message.thread_ts ?? message.ts;
      const occasion = { channel: channel.id, thread, trigger: trigger_id, acknowledge };
      const id = `shortcut:${channel.id}:${message.ts}:${action_ts}`;
      const meant: Meant = { kind: 'start', words: written(message.text, me) };
      return inOrder(channel.id, () => acted(meant, id, user.id, occasion, null));
    }
  }

  async function happened(event: Record<string, unknown>): Promise<void> {
    const changed = ChangedEvent.safeParse(event);
    if (changed.success) return inOrder(changed.data.channel, () => edited(changed.data));
    const message = MessageEvent.safeParse(event);
    if (message.success) return inOrder(message.data.channel, () => said(message.data));
    const opened = HomeEvent.safeParse(event);
    if (opened.success) return showHome(opened.data.user);
    const closed = ChannelEvent.safeParse(event);
    if (closed.success) return inOrder(closed.data.channel, () => gone(closed.data.channel));
    const left = MemberLeft.safeParse(event);
    if (left.success && left.data.user === me)
      return inOrder(left.data.channel, () => gone(left.data.channel));
  }

  async function edited(event: ChangedEvent): Promise<void> {
    const before = event.previous_message;
    const message = event.message ?? before;
    if (!message?.user || message.user === me || message.bot_id) return;
    // A link that Slack unfolds changes the message, too, and not what was said.
    if (event.subtype === 'message_changed' && before?.text === message.text) return;
    const latest = await (desk as Desk).latest(threadOf(event.channel, message.thread_ts ?? message.ts));
    if (!latest || latest.settled) return;
    const by = await directory.person(message.user);
    const what = event.subtype === 'message_changed' ? 'edited' : 'deleted';
    await give({
      ...stamp(`${event.channel}:${message.ts}:${event.event_ts ?? event.ts}:${what}`, latest.thread, by),
      kind: 'changed',
      what,
      ...(what === 'edited' ? { words: written(message.text, me) } : {}),
    });
  }

  /** Of a channel that is gone the latest case hears at once, the others when something cannot be delivered. */
  async function gone(channel: string): Promise<void> {
    const latest = await (desk as Desk).latest(`slack:${channel}`);
    if (!latest || latest.settled) return;
    await give({ ...stamp(`${channel}:gone`, latest.thread, system), kind: 'changed', what: 'gone' });
  }

  async function showHome(user: string): Promise<void> {
    const by = await directory.person(user);
    const reply =
      by.roles.length === 0
        ? null
        : await (desk as Desk).request({ what: 'list', by, platform: 'slack', at: now() });
    await api
      .publish(user, home(reply))
      .catch((cause) => notice(`Slack: the home tab could not be shown. ${failure(cause).message}`));
  }

  // Deliver.

  async function deliver(delivery: Delivery): Promise<string> {
    if (!receive) throw new DeliveryFailure('away', 'Slack is not connected yet.');
    const { id, outbound, thread, amends } = delivery;
    const toMenders = outbound.kind === 'bench' || thread === 'slack:bench';
    if (toMenders && review === null) return '';
    if (outbound.kind === 'amend' && amends === undefined) return '';
    const [channel, ts] = toMenders ? [review as string, null] : partsOf(thread);
    try {
      if (outbound.kind === 'show' && ts !== null && (await pictured(outbound, channel, ts))) return '';
      const link = outbound.kind === 'bench' ? await api.link(...partsOf(thread)) : null;
      const made = body(outbound, thread, link);
      if (made === null) return '';
      if (amends !== undefined) {
        const [where = '', message = ''] = amends.split('/');
        try {
          await api.update(where, message, made);
          return amends;
        } catch (cause) {
          if (!isGone(cause)) throw cause;
          if (outbound.kind === 'amend') return '';
        }
      }
      return `${channel}/${await postOnce(channel, ts, made, id)}`;
    } catch (cause) {
      throw failure(cause);
    }
  }

  /** Slack drops no doubles: where it may have been posted already, it is looked for first. */
  async function postOnce(channel: string, ts: string | null, made: Body, id: string): Promise<string> {
    const place = `${channel}/${ts}`;
    if (doubtful.has(id) || !postedIn.has(place)) {
      const there = await api.find(channel, ts, id);
      if (there !== null) {
        doubtful.delete(id);
        return there;
      }
    }
    try {
      const posted = await api.post(channel, ts, made, id);
      doubtful.delete(id);
      postedIn.add(place);
      forgetOldest(postedIn);
      return posted;
    } catch (cause) {
      if (uncertain(cause)) doubtful.add(id);
      throw cause;
    }
  }

  async function pictured(
    { picture, alt }: Extract<Delivery['outbound'], { kind: 'show' }>,
    channel: string,
    ts: string,
  ): Promise<boolean> {
    try {
      const { png } = await draw(picture);
      await api.upload(channel, ts, png, alt);
      return true;
    } catch {
      // The words say the same.
      return false;
    }
  }

  const receiver =
    options.way.kind === 'socket'
      ? socketReceiver(
          {
            appToken: options.way.appToken,
            ...(options.apiUrl === undefined ? {} : { apiUrl: options.apiUrl }),
          },
          hear,
        )
      : httpReceiver(options.way, hear);

  return {
    name: 'slack',
    abilities: { buttons: 12, length: 3000, pictures: true, forms: true, pace: { all: 20, thread: 1 } },
    async start(listen, ask) {
      const self = await directory.begin();
      me = self.me;
      review = self.review;
      help = self.help;
      desk = ask;
      receive = listen;
      await receiver.start().catch((cause) => {
        receive = null;
        throw new Error(
          options.way.kind === 'socket'
            ? 'SLACK_APP_TOKEN: Slack does not let the bot open a socket with it. Make an app-level token with connections:write, and switch Socket Mode on, on the page of your Slack app.'
            : `SLACK_PORT: nothing can be heard on port ${options.way.port} (${String((cause as { code?: unknown }).code ?? 'unknown')}).`,
        );
      });
    },
    deliver,
    async stop() {
      stopped = true;
      await Promise.all(queues.values());
      await receiver.stop().catch(() => undefined);
    },
  };
}

function forgetOldest(known: Set<string>): void {
  if (known.size > rememberedAtMost) known.delete(known.keys().next().value as string);
}
