import type { Channel, Member, Message, Role, User } from './wire.ts';

/** What there is on the invented server: people, roles, channels and messages; and how it comes into being. */
export interface World {
  readonly token: string;
  readonly application: string;
  readonly me: User;
  readonly guild: string;
  readonly roles: readonly Role[];
  readonly members: Map<string, Member>;
  readonly channels: Map<string, Channel>;
  /** By channel, oldest first. */
  readonly messages: Map<string, Message[]>;
  commands: readonly object[];
  /** How often commands were written. */
  commandsWritten: number;
  newId(): string;
}

export const guildId = '100000000000000001';
const epoch = 1_420_070_400_000n;

/** The server's usual channels. */
export const places = {
  repairs: '100000000000000011',
  talk: '100000000000000012',
  forum: '100000000000000013',
  review: '100000000000000014',
} as const;
export const roleIds = {
  mender: '100000000000000021',
  moderator: '100000000000000022',
  bot: '100000000000000023',
} as const;
export const tagIds = { lamp: '100000000000000031', radio: '100000000000000032' } as const;

/** Every permission there is. */
const all = ((1n << 52n) - 1n).toString();
/** View, send, threads, history: what everybody has. */
const usual = (1024n + 2048n + 65_536n + (1n << 38n) + (1n << 35n)).toString();

export function newUser(id: string, name: string, bot = false): User {
  return {
    id,
    username: name.toLowerCase().replace(/[^a-z0-9]/g, '') || 'someone',
    global_name: name,
    discriminator: '0',
    avatar: null,
    ...(bot ? { bot: true as const } : {}),
  };
}

export function newWorld({
  token = 'loopback-token',
  lacking = 0n,
  // The role of the bot, if it is to lack something.
}: {
  readonly token?: string | undefined;
  readonly lacking?: bigint | undefined;
} = {}): World {
  const me = newUser('100000000000000099', 'Mend', true);
  const role = (id: string, name: string, position: number, permissions = usual): Role => ({
    id,
    name,
    permissions,
    position,
    color: 0,
    colors: { primary_color: 0, secondary_color: null, tertiary_color: null },
    hoist: false,
    managed: false,
    mentionable: true,
    flags: 0,
  });
  const channel = (id: string, name: string, type: number, more: object = {}): Channel => ({
    id,
    name,
    type,
    guild_id: guildId,
    parent_id: null,
    position: Number(id.slice(-2)),
    permission_overwrites: [],
    nsfw: false,
    topic: null,
    last_message_id: null,
    flags: 0,
    ...more,
  });
  const tag = (name: string, id: string) => ({
    id,
    name,
    moderated: false,
    emoji_id: null,
    emoji_name: null,
  });
  const channels = [
    channel(places.repairs, 'repairs', 0),
    channel(places.talk, 'talk', 0),
    channel(places.forum, 'help', 15, {
      available_tags: [tag('lamp', tagIds.lamp), tag('radio', tagIds.radio)],
      default_reaction_emoji: null,
      default_sort_order: null,
      default_forum_layout: 0,
    }),
    channel(places.review, 'bench', 0),
  ];
  let count = 0n;
  return {
    token,
    application: me.id,
    me,
    guild: guildId,
    roles: [
      role(guildId, '@everyone', 0),
      role(roleIds.mender, 'mender', 1),
      role(roleIds.moderator, 'moderator', 2),
      role(roleIds.bot, 'Mend', 3, (BigInt(all) & ~lacking & ~8n).toString()),
    ],
    members: new Map([[me.id, { user: me, nick: null, roles: [roleIds.bot] }]]),
    channels: new Map(channels.map((one) => [one.id, one])),
    messages: new Map(),
    commands: [],
    commandsWritten: 0,
    newId() {
      count += 1n;
      return (((BigInt(Date.now()) - epoch) << 22n) | (count & 0x3f_ffffn)).toString();
    },
  };
}

export const memberWire = ({ user, nick, roles }: Member) => ({
  user,
  nick,
  roles,
  avatar: null,
  banner: null,
  joined_at: '2030-01-01T00:00:00.000000+00:00',
  premium_since: null,
  deaf: false,
  mute: false,
  pending: false,
  flags: 0,
  communication_disabled_until: null,
});

export const threadTypes: readonly number[] = [10, 11, 12];

/** The server as it is told when the gateway opens. */
export function guildWire(world: World): object {
  const channels = [...world.channels.values()].filter(({ guild_id: guild }) => guild === world.guild);
  return {
    id: world.guild,
    name: 'Repair café of Ostrey',
    icon: null,
    splash: null,
    discovery_splash: null,
    banner: null,
    description: null,
    owner_id: '100000000000000098',
    afk_channel_id: null,
    afk_timeout: 300,
    system_channel_id: null,
    system_channel_flags: 0,
    rules_channel_id: null,
    public_updates_channel_id: null,
    safety_alerts_channel_id: null,
    verification_level: 0,
    default_message_notifications: 0,
    explicit_content_filter: 0,
    mfa_level: 0,
    nsfw_level: 0,
    premium_tier: 0,
    premium_progress_bar_enabled: false,
    preferred_locale: 'en-US',
    vanity_url_code: null,
    application_id: null,
    features: ['COMMUNITY'],
    emojis: [],
    stickers: [],
    soundboard_sounds: [],
    roles: world.roles,
    members: [...world.members.values()].map(memberWire),
    member_count: world.members.size,
    channels: channels.filter(({ type }) => !threadTypes.includes(type)),
    threads: channels.filter(({ type }) => threadTypes.includes(type)),
    presences: [],
    voice_states: [],
    stage_instances: [],
    guild_scheduled_events: [],
    joined_at: '2030-01-01T00:00:00.000000+00:00',
    large: false,
    unavailable: false,
    lazy: true,
  };
}
