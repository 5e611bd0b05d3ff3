import type { MessageBody } from './wire.ts';

/**
 * Mentions in the content of a message that would ping somebody: those that `allowed_mentions` does not hold back
 * (https://discord.com/developers/docs/resources/message#allowed-mentions-object). A backslash before one changes how it
 * looks, not whom it calls, so it counts.
 */
export function pingsIn({
  content,
  allowed_mentions: allowed,
  message_reference: reply,
}: MessageBody): string[] {
  const text = content ?? '';
  const may = (kind: string, id?: string): boolean => {
    if (!allowed) return true;
    const named = kind === 'users' ? allowed.users : kind === 'roles' ? allowed.roles : undefined;
    return (allowed.parse ?? []).includes(kind) || (id !== undefined && (named ?? []).includes(id));
  };
  const found: string[] = [];
  for (const [word] of text.matchAll(/@(?:everyone|here)\b/g)) if (may('everyone')) found.push(word);
  for (const [word, id] of text.matchAll(/<@!?(\d+)>/g)) if (may('users', id)) found.push(word);
  for (const [word, id] of text.matchAll(/<@&(\d+)>/g)) if (may('roles', id)) found.push(word);
  if (reply && (allowed ? allowed.replied_user === true : true)) found.push(`reply to ${reply.message_id}`);
  return found;
}
