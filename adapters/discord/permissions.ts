import { type Client, PermissionFlagsBits } from 'discord.js';

const needed = {
  'View Channel': PermissionFlagsBits.ViewChannel,
  'Send Messages': PermissionFlagsBits.SendMessages,
  'Send Messages in Threads': PermissionFlagsBits.SendMessagesInThreads,
  'Create Public Threads': PermissionFlagsBits.CreatePublicThreads,
  'Embed Links': PermissionFlagsBits.EmbedLinks,
  'Attach Files': PermissionFlagsBits.AttachFiles,
  'Read Message History': PermissionFlagsBits.ReadMessageHistory,
};

/** What the bot lacks in a channel, in a sentence; null where it lacks nothing. */
export function lackingIn(client: Client, guildId: string, id: string): string | null {
  const guild = client.guilds.cache.get(guildId);
  const channel = guild?.channels.cache.get(id);
  const mine = guild?.members.me;
  if (!channel || !mine) return null;
  const has = channel.permissionsFor(mine);
  const missing = Object.entries(needed).flatMap(([name, flag]) => (has.has(flag) ? [] : [name]));
  return missing.length === 0 ? null : `Discord: in #${channel.name} the bot lacks: ${missing.join(', ')}.`;
}
