import type { Person } from '../../shared/person.ts';

/** Who counts as what: a user group by handle or id, or a list of users by id or name. */
export type Group = string | readonly string[];

export interface Roster {
  /** Ids of the people in each group, as the platform has them now. */
  readonly menders: ReadonlySet<string>;
  readonly moderators: ReadonlySet<string>;
}

/** What the look-up needs of Slack. */
export interface Directory {
  /** Groups of the workspace. */
  groups(): Promise<readonly { readonly id: string; readonly handle: string }[]>;
  membersOf(group: string): Promise<readonly string[]>;
  users(): Promise<readonly { readonly id: string; readonly names: readonly string[] }[]>;
}

const isUser = (name: string): boolean => /^[UW][A-Z0-9]{4,}$/.test(name);

/** Ids of the people that a setting names; `missing` is told what nobody knows. */
export async function members(
  group: Group,
  from: Directory,
  missing: (name: string) => void,
): Promise<Set<string>> {
  if (typeof group !== 'string') {
    const named = group.filter((name) => !isUser(name));
    const users = named.length === 0 ? [] : await from.users();
    const found = named.flatMap((name) => {
      const user = users.find(({ names }) => names.includes(name.replace(/^@/, '')));
      if (!user) missing(name);
      return user ? [user.id] : [];
    });
    return new Set([...group.filter(isUser), ...found]);
  }
  const handle = group.replace(/^@/, '');
  const found = (await from.groups()).find((one) => one.id === group || one.handle === handle);
  if (found) return new Set(await from.membersOf(found.id));
  if (isUser(group)) return new Set([group]);
  missing(group);
  return new Set();
}

/** Whoever the community put into one of the groups is trusted with live work; nobody else is said anything about. */
export function person(user: string, name: string, { menders, moderators }: Roster): Person {
  const roles = [
    ...(menders.has(user) ? (['mender'] as const) : []),
    ...(moderators.has(user) ? (['moderator'] as const) : []),
  ];
  return {
    id: `slack:${user}`,
    name: name.slice(0, 200),
    roles,
    ...(roles.length > 0 ? { level: 'trained' as const } : {}),
  };
}
