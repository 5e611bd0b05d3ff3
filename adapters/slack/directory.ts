import type { SlackPlace } from '../../shared/community.ts';
import type { Person } from '../../shared/person.ts';
import { type Api, errorOf, failure } from './api.ts';
import { type Directory, members, person, type Roster } from './people.ts';

/** People, groups and channels of the workspace: looked up at the start, and again when they are old. */

/** A role that was taken away counts so long at most, milliseconds. */
const rosterAge = 60_000;
const nameAge = 10 * 60_000;
const namesAtMost = 5000;

export const neededScopes = [
  'app_mentions:read',
  'channels:history',
  'channels:read',
  'chat:write',
  'commands',
  'files:read',
  'files:write',
  'groups:history',
  'groups:read',
  'im:history',
  'usergroups:read',
  'users:read',
];

export function createDirectory(
  { client }: Api,
  place: SlackPlace,
  notice: (words: string) => void,
  now: () => number,
) {
  const channels = new Map<string, string>();
  const names = new Map<string, { readonly at: number; readonly name: Promise<string> }>();
  const told = new Set<string>();
  let roster: { readonly at: number; readonly people: Promise<Roster> } | null = null;

  const from: Directory = {
    async groups() {
      const { usergroups } = await client.usergroups.list();
      return (usergroups ?? []).map(({ id, handle }) => ({ id: id ?? '', handle: handle ?? '' }));
    },
    async membersOf(usergroup) {
      return (await client.usergroups.users.list({ usergroup })).users ?? [];
    },
    async users() {
      const { members: all } = await client.users.list({ limit: 1000 });
      return (all ?? []).map(({ id, name, profile }) => ({
        id: id ?? '',
        names: [name ?? '', profile?.display_name ?? '', profile?.real_name ?? ''],
      }));
    },
  };

  const missing = (name: string): void => {
    if (told.has(name)) return;
    told.add(name);
    notice(`Slack: there is no user group and nobody called ${name}.`);
  };

  /** Who counts now. Where Slack cannot say, nobody does: a right is never taken for granted. */
  function rosterNow(): Promise<Roster> {
    if (roster && now() - roster.at < rosterAge) return roster.people;
    const people = (async () => ({
      menders: await members(place.mender_group, from, missing),
      moderators: await members(place.moderator_group, from, missing),
    }))().catch((cause): Roster => {
      notice(`Slack: the user groups could not be read. ${failure(cause).message}`);
      roster = null;
      return { menders: new Set(), moderators: new Set() };
    });
    roster = { at: now(), people };
    return people;
  }

  function nameOf(user: string): Promise<string> {
    const before = names.get(user);
    if (before && now() - before.at < nameAge) return before.name;
    const name = client.users.info({ user }).then(
      ({ user: found }) => found?.profile?.display_name || found?.real_name || found?.name || '',
      () => '',
    );
    names.set(user, { at: now(), name });
    if (names.size > namesAtMost) names.delete(names.keys().next().value as string);
    return name;
  }

  /** Rejects with a sentence for the operator. */
  async function begin(): Promise<{ me: string; review: string | null; help: ReadonlySet<string> }> {
    const self = await client.auth.test().catch((cause) => {
      throw new Error(
        errorOf(cause) === ''
          ? `Slack could not be reached. ${failure(cause).message}`
          : 'SLACK_BOT_TOKEN: Slack does not know this token. It begins with xoxb- and is on the page of your Slack app under OAuth & Permissions, once the app is installed.',
      );
    });
    const scopes = self.response_metadata?.scopes;
    const lacking = scopes ? neededScopes.filter((scope) => !scopes.includes(scope)) : [];
    if (lacking.length > 0)
      notice(`Slack: the app lacks these scopes: ${lacking.join(', ')}. Add them, and install it again.`);
    const known = await list().catch((cause) => {
      notice(`Slack: the channels could not be read. ${failure(cause).message}`);
      return [];
    });
    const find = (name: string, setting: string): string[] => {
      const found = known.find((one) => one.id === name || one.name === name.replace(/^#/, ''));
      if (!found) notice(`Slack: there is no channel ${name} that I can see; ${setting} names it.`);
      else if (!found.joined)
        notice(`Slack: invite the bot into #${found.name}; it cannot read or write there yet.`);
      return found ? [found.id] : [];
    };
    await rosterNow();
    return {
      me: self.user_id ?? '',
      help: new Set(place.help_channels.flatMap((name) => find(name, 'help_channels'))),
      review:
        place.review_channel === undefined ? null : (find(place.review_channel, 'review_channel')[0] ?? null),
    };
  }

  async function list(): Promise<{ id: string; name: string; joined: boolean }[]> {
    const all: { id: string; name: string; joined: boolean }[] = [];
    let cursor = '';
    do {
      const page = await client.conversations.list({
        types: 'public_channel,private_channel',
        exclude_archived: true,
        limit: 200,
        ...(cursor === '' ? {} : { cursor }),
      });
      for (const { id, name, is_member } of page.channels ?? []) {
        all.push({ id: id ?? '', name: name ?? '', joined: is_member !== false });
        channels.set(id ?? '', name ?? '');
      }
      cursor = page.response_metadata?.next_cursor ?? '';
    } while (cursor !== '');
    return all;
  }

  return {
    begin,
    /** Name and roles, looked at anew for every act. */
    async person(user: string): Promise<Person> {
      const [name, people] = await Promise.all([nameOf(user), rosterNow()]);
      return person(user, name, people);
    },
    channelName: (channel: string): string => (channels.get(channel) ?? '').slice(0, 200),
  };
}
