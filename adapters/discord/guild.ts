import type { DiscordPlace } from '../../shared/community.ts';
import type { Person } from '../../shared/person.ts';
import { forgetOldest } from '../words.ts';
import type { Api } from './api.ts';
import { Channel, Member, Role, type User } from './payload.ts';
import { person, standing } from './people.ts';

/** What is known of the server: its channels, and who its people are. */
export interface Guild {
  readonly id: string;
  /** Channels in which help is offered under a new post. */
  readonly help: ReadonlySet<string>;
  /** The menders' channel, where there is one that messages can be posted in. */
  readonly review: string | null;
  channel(id: string): Promise<Channel | null>;
  nameOf(id: string): string;
  remember(channel: Channel): void;
  forget(id: string): void;
  /** In a server the member comes along; in a direct message it is looked up. */
  person(user: User, member: Member | undefined, inGuild: boolean): Promise<Person>;
}

const threadTypes: readonly number[] = [10, 11, 12];
const forumTypes: readonly number[] = [15, 16];
/** People's roles in direct messages are looked up again after this, milliseconds. */
const memberAge = 60_000;

export const isThread = (channel: Channel | null): channel is Channel =>
  channel !== null && threadTypes.includes(channel.type);

/** Reads the server; what the settings name and is not there is told in `notice`. */
export async function readGuild(
  place: DiscordPlace,
  api: Api,
  notice: (words: string) => void,
  now: () => number,
): Promise<Guild> {
  const channels = Channel.array().parse(await api.channels(place.guild));
  const { standing: roles, missing } = standing(place, Role.array().parse(await api.roles(place.guild)));
  for (const name of missing) notice(`Discord: there is no role ${name} on the server.`);
  const find = (name: string, setting: string): Channel[] => {
    const found = channels.find((one) => one.id === name || one.name === name.replace(/^#/, ''));
    if (!found) notice(`Discord: there is no channel ${name} that I can see; ${setting} names it.`);
    return found ? [found] : [];
  };
  const help = place.help_channels.flatMap((name) => find(name, 'help_channels'));
  const review = place.review_channel === undefined ? [] : find(place.review_channel, 'review_channel');
  for (const { name, type } of review)
    if (forumTypes.includes(type))
      notice(`Discord: ${name} is a forum; review_channel has to name a text channel.`);

  const known = new Map(channels.map((one) => [one.id, one]));
  const members = new Map<string, { readonly at: number; readonly member: Promise<Member | undefined> }>();
  const remember = (channel: Channel): void => {
    known.set(channel.id, channel);
    forgetOldest(known);
  };
  return {
    id: place.guild,
    help: new Set(help.map(({ id }) => id)),
    review: review.find(({ type }) => !forumTypes.includes(type))?.id ?? null,
    async channel(id) {
      const there = known.get(id);
      if (there) return there;
      const found = Channel.safeParse(await api.channel(id).catch(() => null));
      if (!found.success) return null;
      remember(found.data);
      return found.data;
    },
    nameOf: (id) => (known.get(id)?.name ?? '').slice(0, 200),
    remember,
    forget(id) {
      known.delete(id);
    },
    async person(user, member, inGuild) {
      if (inGuild) return person(user, member, roles);
      const before = members.get(user.id);
      if (before && now() - before.at < memberAge) return person(user, await before.member, roles);
      const asked = api.member(place.guild, user.id).then(
        (found) => Member.safeParse(found).data,
        () => undefined,
      );
      members.set(user.id, { at: now(), member: asked });
      forgetOldest(members);
      return person(user, await asked, roles);
    },
  };
}
