import { z } from 'zod';

/** What the gateway sends, as far as it is read. All of it is hostile until it fits. */

const id = z.string().regex(/^\d{1,25}$/);

export const User = z.object({
  id,
  username: z.string().default(''),
  global_name: z.string().nullish(),
  bot: z.boolean().optional(),
});
export type User = z.infer<typeof User>;

export const Member = z.object({
  nick: z.string().nullish(),
  roles: z.array(id).default([]),
  user: User.optional(),
});
export type Member = z.infer<typeof Member>;

const Attachment = z.object({
  id,
  filename: z.string().default(''),
  content_type: z.string().optional(),
  size: z.number().default(0),
});

export const Message = z.object({
  id,
  channel_id: id,
  guild_id: id.optional(),
  author: User.optional(),
  member: Member.optional(),
  webhook_id: id.optional(),
  content: z.string().default(''),
  type: z.number().default(0),
  attachments: z.array(Attachment).default([]),
  mentions: z.array(User).default([]),
  referenced_message: z.object({ author: User.optional() }).nullish(),
});
export type Message = z.infer<typeof Message>;

/** An edit may come without most of the message. */
export const Edited = z.object({
  id,
  channel_id: id,
  guild_id: id.optional(),
  author: User.optional(),
  member: Member.optional(),
  content: z.string().optional(),
  edited_timestamp: z.string().nullish(),
});
export type Edited = z.infer<typeof Edited>;

export const Deleted = z.object({ id, channel_id: id, guild_id: id.optional() });
export type Deleted = z.infer<typeof Deleted>;

export const Channel = z.object({
  id,
  guild_id: id.optional(),
  type: z.number(),
  name: z.string().nullish(),
  parent_id: id.nullish(),
  owner_id: id.optional(),
  applied_tags: z.array(id).optional(),
  available_tags: z.array(z.object({ id, name: z.string() })).optional(),
});
export type Channel = z.infer<typeof Channel>;

const Option: z.ZodType<CommandOption> = z.object({
  name: z.string(),
  value: z.union([z.string(), z.number(), z.boolean()]).optional(),
  get options() {
    return z.array(Option).optional();
  },
});
export interface CommandOption {
  readonly name: string;
  readonly value?: string | number | boolean | undefined;
  readonly options?: readonly CommandOption[] | undefined;
}

const Field = z.object({
  custom_id: z.string(),
  value: z.string().optional(),
  values: z.array(z.string()).optional(),
});
/** Forms come back as rows of one input, or as labels with one. */
const Filled = z.object({
  component: Field.optional(),
  components: z.array(Field).optional(),
});

export const Interaction = z.object({
  id,
  token: z.string().min(1),
  type: z.number(),
  channel_id: id.optional(),
  channel: z.object({ id, type: z.number().optional(), name: z.string().nullish() }).optional(),
  guild_id: id.optional(),
  member: Member.optional(),
  user: User.optional(),
  message: z.object({ id, channel_id: id.optional() }).optional(),
  data: z
    .object({
      name: z.string().optional(),
      type: z.number().optional(),
      options: z.array(Option).optional(),
      custom_id: z.string().optional(),
      values: z.array(z.string()).optional(),
      target_id: id.optional(),
      resolved: z.object({ messages: z.record(z.string(), Message.partial()).optional() }).optional(),
      components: z.array(Filled).optional(),
    })
    .optional(),
});
export type Interaction = z.infer<typeof Interaction>;

export const Role = z.object({ id, name: z.string() });
export type Role = z.infer<typeof Role>;
