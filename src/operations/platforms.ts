import type { Community, DiscordPlace, SlackPlace } from '../../shared/community.ts';

/** The chat platforms that the settings name, each with its secrets; never logged, and never repeated in a problem. */
export interface Platforms {
  readonly discord: DiscordAccess | null;
  readonly slack: SlackAccess | null;
}
export interface DiscordAccess {
  readonly token: string;
  readonly apiUrl: string | null;
  readonly place: DiscordPlace;
}
export interface SlackAccess {
  readonly botToken: string;
  /** Through a socket that the bot opens, or by requests that Slack makes. */
  readonly way:
    | { readonly kind: 'socket'; readonly appToken: string }
    | { readonly kind: 'http'; readonly signingSecret: string; readonly port: number };
  readonly apiUrl: string | null;
  readonly place: SlackPlace;
}

const discordNames = ['DISCORD_TOKEN', 'DISCORD_API_URL'] as const;
const slackNames = [
  'SLACK_BOT_TOKEN',
  'SLACK_APP_TOKEN',
  'SLACK_SIGNING_SECRET',
  'SLACK_PORT',
  'SLACK_API_URL',
] as const;

/** A platform counts as named when the community file has its section, or a secret of it is set. All problems at once. */
export function readPlatforms(
  env: NodeJS.ProcessEnv,
  community: Community,
): { readonly platforms: Platforms } | { readonly problems: string[] } {
  const problems: string[] = [];
  const get = (name: string): string | null => env[name]?.trim() || null;
  const problem = (words: string): null => {
    problems.push(words);
    return null;
  };

  function url(name: string): string | null {
    const text = get(name);
    if (text === null) return null;
    return /^https?:\/\/\S+$/.test(text) && URL.canParse(text)
      ? text
      : problem(`${name}: this is no address; write one that begins with https:// or leave it out`);
  }

  function discord(): DiscordAccess | null {
    const place = community.discord;
    if (!place && discordNames.every((name) => get(name) === null)) return null;
    const apiUrl = url('DISCORD_API_URL');
    const token = get('DISCORD_TOKEN');
    if (token === null) {
      return problem(
        'DISCORD_TOKEN: it is missing, and the community file has a part for Discord; the token is on the page of your application in the Discord developer portal, under Bot',
      );
    }
    if (!place) {
      return problem(
        'discord: a Discord token is set, but the community file does not say which server; add "discord:" with "guild:" and the id of the server',
      );
    }
    return { token: token.replace(/^Bot\s+/i, ''), apiUrl, place };
  }

  function slack(): SlackAccess | null {
    const place = community.slack;
    if (!place && slackNames.every((name) => get(name) === null)) return null;
    const apiUrl = url('SLACK_API_URL');
    const botToken = get('SLACK_BOT_TOKEN');
    const way = slackWay();
    if (botToken === null) {
      return problem(
        'SLACK_BOT_TOKEN: it is missing; it begins with xoxb- and is on the page of your Slack app under OAuth & Permissions, once the app is installed',
      );
    }
    if (botToken.startsWith('xapp-')) {
      return problem(
        'SLACK_BOT_TOKEN: this is an app-level token; the bot token begins with xoxb- and is on the page of your Slack app under OAuth & Permissions',
      );
    }
    const nowhere: SlackPlace = { help_channels: [], mender_group: [], moderator_group: [] };
    return way === null ? null : { botToken, way, apiUrl, place: place ?? nowhere };
  }

  function slackWay(): SlackAccess['way'] | null {
    const appToken = get('SLACK_APP_TOKEN');
    const signingSecret = get('SLACK_SIGNING_SECRET');
    const port = get('SLACK_PORT');
    if (appToken !== null) {
      if (signingSecret !== null && port !== null) {
        return problem(
          'SLACK_APP_TOKEN: it is for a socket, and SLACK_SIGNING_SECRET with SLACK_PORT is for requests from outside; keep one of the two ways',
        );
      }
      return appToken.startsWith('xoxb-')
        ? problem(
            'SLACK_APP_TOKEN: this is a bot token; the app-level token begins with xapp- and is on the page of your Slack app under Basic Information',
          )
        : { kind: 'socket', appToken };
    }
    if (signingSecret === null) {
      return problem(
        'SLACK_APP_TOKEN: it is missing; it begins with xapp- and is made on the page of your Slack app under Basic Information (or set SLACK_SIGNING_SECRET and SLACK_PORT instead, where Slack can reach this machine)',
      );
    }
    const number = Number(port);
    return port !== null && /^\d{1,5}$/.test(port) && number >= 1 && number <= 65_535
      ? { kind: 'http', signingSecret, port: number }
      : problem(
          'SLACK_PORT: with SLACK_SIGNING_SECRET a port is needed on which Slack’s requests arrive; write a number from 1 to 65535',
        );
  }

  const platforms: Platforms = { discord: discord(), slack: slack() };
  return problems.length > 0 ? { problems } : { platforms };
}
