import type { Gateway } from './gateway.ts';
import type { Channel } from './wire.ts';
import type { World } from './world.ts';

/** A thread begins. */
export function addThread(
  world: World,
  gateway: Gateway,
  about: {
    readonly id: string;
    readonly name: string;
    readonly parent: Channel;
    readonly owner: string;
    readonly type?: number;
    readonly tags?: readonly string[];
  },
): Channel {
  const now = new Date().toISOString();
  const thread: Channel = {
    id: about.id,
    type: about.type ?? 11,
    name: about.name,
    guild_id: world.guild,
    parent_id: about.parent.id,
    owner_id: about.owner,
    last_message_id: null,
    message_count: 0,
    member_count: 1,
    total_message_sent: 0,
    rate_limit_per_user: 0,
    flags: 0,
    thread_metadata: {
      archived: false,
      auto_archive_duration: 10_080,
      archive_timestamp: now,
      locked: false,
      create_timestamp: now,
    },
    ...(about.tags ? { applied_tags: about.tags } : {}),
  };
  world.channels.set(thread.id, thread);
  gateway.dispatch('THREAD_CREATE', { ...thread, newly_created: true });
  return thread;
}

export const isArchived = ({ thread_metadata: about }: Channel): boolean =>
  (about as { readonly archived?: boolean } | undefined)?.archived === true;

/** A thread falls asleep, or wakes. */
export function archive(world: World, gateway: Gateway, id: string, archived: boolean): Channel {
  const before = world.channels.get(id);
  if (!before) throw new Error(`there is no thread ${id}`);
  const after: Channel = { ...before, thread_metadata: { ...(before.thread_metadata as object), archived } };
  world.channels.set(id, after);
  gateway.dispatch('THREAD_UPDATE', after);
  return after;
}
