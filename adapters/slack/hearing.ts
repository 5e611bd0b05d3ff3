import type { Answer } from '../../shared/adapter.ts';
import type { Person } from '../../shared/person.ts';
import { forgetOldest, wakes } from '../words.ts';
import { answering } from './answer.ts';
import { failure } from './api.ts';
import { actions, button, section } from './blocks.ts';
import { type Context, threadOf } from './context.ts';
import { write } from './ids.ts';
import { saidIn } from './inbound.ts';
import { home } from './outbound.ts';
import type { ChangedEvent, MessageEvent } from './payload.ts';
import { written } from './text.ts';

/** What people write, change and take away, and what becomes of channels. */

const system: Person = { id: 'slack:system', name: '', roles: [] };
/** Kinds of messages that people send; all others are Slack's own, or another program's. */
const spoken: ReadonlySet<string | undefined> = new Set([undefined, 'file_share', 'thread_broadcast']);
const isDirect = (channel: string): boolean => channel.startsWith('D');

export function createHearing(context: Context) {
  const { api, directory, desk, me, help, notice, now, give, stamp } = context;
  const offered = new Set<string>();

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
    const latest = top && !direct ? null : await desk.latest(top ? `slack:${channel}` : at);
    const asked = latest?.asks === true && !top;
    if (latest && (!latest.settled || heard.named || wakes(heard.words) || (direct && !top) || asked))
      return tell(message, latest.thread, by, heard);
    if (direct || heard.named) return opens(message, at, by, heard);
    if (top && help.has(channel)) await offer(message);
  }

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

  async function edited(event: ChangedEvent): Promise<void> {
    const before = event.previous_message;
    const message = event.message ?? before;
    if (!message?.user || message.user === me || message.bot_id) return;
    // A link that Slack unfolds changes the message, too, and not what was said.
    if (event.subtype === 'message_changed' && before?.text === message.text) return;
    const latest = await desk.latest(threadOf(event.channel, message.thread_ts ?? message.ts));
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
    const latest = await desk.latest(`slack:${channel}`);
    if (!latest) return;
    await give({ ...stamp(`${channel}:gone`, latest.thread, system), kind: 'changed', what: 'gone' });
  }

  async function showHome(user: string): Promise<void> {
    const by = await directory.person(user);
    const reply =
      by.roles.length === 0 ? null : await desk.request({ what: 'list', by, platform: 'slack', at: now() });
    await api
      .publish(user, home(reply))
      .catch((cause) => notice(`Slack: the home tab could not be shown. ${failure(cause).message}`));
  }

  return { said, edited, gone, showHome };
}
