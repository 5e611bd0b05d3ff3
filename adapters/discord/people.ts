import type { DiscordPlace } from '../../shared/community.ts';
import type { Person, Role } from '../../shared/person.ts';
import type { Role as GuildRole, Member, User } from './payload.ts';

/** Ids of the server's roles that count here. */
export interface Standing {
  readonly menders: ReadonlySet<string>;
  readonly moderators: ReadonlySet<string>;
}

/** Roles by name or id; those that the server does not have are named in `missing`. */
export function standing(
  place: DiscordPlace,
  roles: readonly GuildRole[],
): { readonly standing: Standing; readonly missing: readonly string[] } {
  const missing: string[] = [];
  const find = (names: readonly string[]): ReadonlySet<string> =>
    new Set(
      names.flatMap((name) => {
        const found = roles.filter((role) => role.id === name || role.name === name);
        if (found.length === 0) missing.push(name);
        return found.map(({ id }) => id);
      }),
    );
  return {
    standing: { menders: find(place.mender_roles), moderators: find(place.moderator_roles) },
    missing,
  };
}

/** Whoever the community gave one of these roles is trusted with live work; nobody else is said anything about. */
export function person(user: User, member: Member | undefined, { menders, moderators }: Standing): Person {
  const has = (ids: ReadonlySet<string>): boolean => (member?.roles ?? []).some((role) => ids.has(role));
  const roles: Role[] = [
    ...(has(menders) ? (['mender'] as const) : []),
    ...(has(moderators) ? (['moderator'] as const) : []),
  ];
  return {
    id: `discord:${user.id}`,
    name: (member?.nick || user.global_name || user.username).slice(0, 200),
    roles,
    ...(roles.length > 0 ? { level: 'trained' as const } : {}),
  };
}
