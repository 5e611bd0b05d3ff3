import { createActing } from './acting.ts';
import { type Context, partsOf } from './context.ts';
import { createHearing } from './hearing.ts';
import { commanded, filled, type Meant, tapped } from './inbound.ts';
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
import type { Heard } from './receivers.ts';
import { written } from './text.ts';

/** Everything that Slack sends arrives here, and nothing of it is believed before it was parsed. */
export function createEvents(context: Context): (heard: Heard) => Promise<void> {
  const { me, order } = context;
  const { said, edited, gone, showHome } = createHearing(context);
  const acted = createActing(context);

  async function hear({ body: payload, acknowledge }: Heard): Promise<void> {
    const event = EventCallback.safeParse(payload);
    if (event.success) return happened(event.data.event);
    const command = Command.safeParse(payload);
    if (command.success) {
      const { user_id, channel_id, trigger_id } = command.data;
      const occasion = { channel: channel_id, thread: null, trigger: trigger_id, acknowledge };
      const meant = commanded(command.data, me);
      return order.in(channel_id, () => acted(meant, `command:${trigger_id}`, user_id, occasion, null));
    }
    const tap = Actions.safeParse(payload);
    if (tap.success) {
      const { user, container, channel, message, trigger_id, actions: taps } = tap.data;
      const where = channel?.id ?? container?.channel_id ?? null;
      const ts = message?.ts ?? container?.message_ts ?? null;
      const thread = message?.thread_ts ?? container?.thread_ts ?? ts;
      const occasion = { channel: where, thread, trigger: trigger_id, acknowledge };
      const id = `tap:${where}:${ts}:${taps[0]?.action_ts}:${user.id}`;
      return order.in(where ?? user.id, () => acted(tapped(tap.data), id, user.id, occasion, ts));
    }
    const form = Submission.safeParse(payload);
    if (form.success) {
      const { user, view } = form.data;
      const meant = filled(form.data);
      const [channel, thread] = meant.kind === 'give' && meant.thread ? partsOf(meant.thread) : [null, null];
      const occasion = { channel, thread, acknowledge };
      return order.in(channel ?? user.id, () =>
        acted(meant, `form:${view.id}:${user.id}`, user.id, occasion, null),
      );
    }
    const shortcut = Shortcut.safeParse(payload);
    if (shortcut.success) {
      const { user, channel, message, trigger_id, action_ts } = shortcut.data;
      const thread = message.thread_ts ?? message.ts;
      const occasion = { channel: channel.id, thread, trigger: trigger_id, acknowledge };
      const id = `shortcut:${channel.id}:${message.ts}:${action_ts}`;
      const meant: Meant = { kind: 'start', words: written(message.text, me) };
      return order.in(channel.id, () => acted(meant, id, user.id, occasion, null));
    }
  }

  async function happened(event: Record<string, unknown>): Promise<void> {
    const changed = ChangedEvent.safeParse(event);
    if (changed.success) return order.in(changed.data.channel, () => edited(changed.data));
    const message = MessageEvent.safeParse(event);
    if (message.success) return order.in(message.data.channel, () => said(message.data));
    const opened = HomeEvent.safeParse(event);
    if (opened.success) return showHome(opened.data.user);
    const closed = ChannelEvent.safeParse(event);
    if (closed.success) return order.in(closed.data.channel, () => gone(closed.data.channel));
    const left = MemberLeft.safeParse(event);
    if (left.success && left.data.user === me)
      return order.in(left.data.channel, () => gone(left.data.channel));
  }

  return hear;
}
