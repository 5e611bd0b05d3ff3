import { z } from 'zod';

/** What Slack sends, as far as it is read. All of it is hostile until it fits. */

const id = z.string().regex(/^[A-Z0-9]{1,30}$/);
const ts = z.string().regex(/^\d{1,15}\.\d{1,10}$/);
const text = z.string().max(60_000).default('');

const File = z.object({
  id: z.string().max(60).default(''),
  mimetype: z.string().max(100).default(''),
  size: z.number().default(0),
});

export const MessageEvent = z.object({
  type: z.enum(['message', 'app_mention']),
  subtype: z.string().optional(),
  channel: id,
  channel_type: z.string().optional(),
  user: id.optional(),
  bot_id: z.string().optional(),
  app_id: z.string().optional(),
  text,
  ts,
  thread_ts: ts.optional(),
  files: z.array(File).optional(),
});
export type MessageEvent = z.infer<typeof MessageEvent>;

export const ChangedEvent = z.object({
  type: z.literal('message'),
  subtype: z.enum(['message_changed', 'message_deleted']),
  channel: id,
  ts,
  event_ts: z.string().max(40).optional(),
  message: z
    .object({ user: id.optional(), bot_id: z.string().optional(), text, ts, thread_ts: ts.optional() })
    .optional(),
  previous_message: z
    .object({ user: id.optional(), bot_id: z.string().optional(), text, ts, thread_ts: ts.optional() })
    .optional(),
});
export type ChangedEvent = z.infer<typeof ChangedEvent>;

export const HomeEvent = z.object({
  type: z.literal('app_home_opened'),
  user: id,
  tab: z.string().optional(),
});
export const ChannelEvent = z.object({
  type: z.enum([
    'channel_deleted',
    'channel_archive',
    'group_deleted',
    'group_archive',
    'channel_left',
    'group_left',
  ]),
  channel: id,
});
export const MemberLeft = z.object({ type: z.literal('member_left_channel'), user: id, channel: id });

export const EventCallback = z.object({
  type: z.literal('event_callback'),
  event_id: z.string().max(60).default(''),
  event: z.record(z.string(), z.unknown()),
});

const User = z.object({ id });

export const Command = z.object({
  command: z.enum(['/mend', '/bench']),
  text,
  user_id: id,
  channel_id: id,
  channel_name: z.string().max(200).default(''),
  trigger_id: z.string().max(200),
  response_url: z.string().max(1000).default(''),
});
export type Command = z.infer<typeof Command>;

export const Actions = z.object({
  type: z.literal('block_actions'),
  user: User,
  trigger_id: z.string().max(200),
  channel: z.object({ id }).optional(),
  container: z
    .object({ message_ts: ts.optional(), channel_id: id.optional(), thread_ts: ts.optional() })
    .optional(),
  message: z.object({ ts, thread_ts: ts.optional() }).optional(),
  response_url: z.string().max(1000).default(''),
  actions: z
    .array(
      z.object({
        action_id: z.string().max(255),
        action_ts: z.string().max(40).default(''),
        value: z.string().max(2000).optional(),
        selected_option: z.object({ value: z.string().max(2000) }).nullish(),
      }),
    )
    .min(1),
});
export type Actions = z.infer<typeof Actions>;

export const Submission = z.object({
  type: z.literal('view_submission'),
  user: User,
  view: z.object({
    id: z.string().max(60),
    hash: z.string().max(100).default(''),
    callback_id: z.string().max(255),
    private_metadata: z.string().max(3000),
    state: z.object({
      values: z.record(
        z.string(),
        z.record(
          z.string(),
          z.object({
            value: z.string().max(3000).nullish(),
            selected_option: z.object({ value: z.string().max(2000) }).nullish(),
          }),
        ),
      ),
    }),
  }),
});
export type Submission = z.infer<typeof Submission>;

export const Shortcut = z.object({
  type: z.literal('message_action'),
  callback_id: z.literal('mend_this'),
  user: User,
  channel: z.object({ id }),
  trigger_id: z.string().max(200),
  action_ts: z.string().max(40).default(''),
  response_url: z.string().max(1000).default(''),
  message: z.object({ ts, thread_ts: ts.optional(), text }),
});
export type Shortcut = z.infer<typeof Shortcut>;
