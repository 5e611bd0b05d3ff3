import { describe, expect, it } from 'vitest';
import { readPlatforms } from '../../src/operations/platforms.ts';
import { settings } from '../core/example-flow.ts';

/** Which chat platforms a desk is for, and what is missing. */

const { discord: _, slack: __, ...nowhere } = settings.community;
const guild = '123456789012345678';
const both = {
  ...nowhere,
  discord: { guild, help_channels: [], mender_roles: [], moderator_roles: [] },
  slack: { help_channels: [], mender_group: [], moderator_group: [] },
};
const problems = (env: NodeJS.ProcessEnv, community = nowhere as typeof both): string[] => {
  const read = readPlatforms(env, community);
  return 'problems' in read ? read.problems : [];
};

describe('the platforms', () => {
  it('are none where nothing names one', () => {
    expect(readPlatforms({}, nowhere)).toEqual({ platforms: { discord: null, slack: null } });
  });

  it('are read with their secrets', () => {
    const env = {
      DISCORD_TOKEN: ' Bot abc.def ',
      SLACK_BOT_TOKEN: 'xoxb-1',
      SLACK_SIGNING_SECRET: 's',
      SLACK_PORT: '3000',
      SLACK_API_URL: 'http://localhost:1/api/',
    };
    expect(readPlatforms(env, both)).toMatchObject({
      platforms: {
        discord: { token: 'abc.def', apiUrl: null },
        slack: {
          botToken: 'xoxb-1',
          way: { kind: 'http', signingSecret: 's', port: 3000 },
          apiUrl: 'http://localhost:1/api/',
        },
      },
    });
    expect(readPlatforms({ SLACK_BOT_TOKEN: 'xoxb-1', SLACK_APP_TOKEN: 'xapp-1' }, nowhere)).toMatchObject({
      platforms: { slack: { way: { kind: 'socket' } } },
    });
  });

  it('say in one sentence each which secret is missing and where it is to be had', () => {
    expect(problems({}, both)).toEqual([
      expect.stringMatching(/^DISCORD_TOKEN: .*developer portal/),
      expect.stringMatching(/^SLACK_APP_TOKEN: .*Basic Information/),
      expect.stringMatching(/^SLACK_BOT_TOKEN: .*OAuth & Permissions/),
    ]);
    expect(problems({ DISCORD_TOKEN: 'x' })).toEqual([expect.stringContaining('guild')]);
    expect(problems({ SLACK_BOT_TOKEN: 'xoxb-1', SLACK_SIGNING_SECRET: 's' })).toEqual([
      expect.stringMatching(/^SLACK_PORT: /),
    ]);
  });

  it('tell tokens that were swapped, and never repeat one', () => {
    const swapped = problems({ SLACK_BOT_TOKEN: 'xapp-hush', SLACK_APP_TOKEN: 'xoxb-hush' });
    expect(swapped).toEqual([
      expect.stringMatching(/^SLACK_APP_TOKEN: this is a bot token/),
      expect.stringMatching(/^SLACK_BOT_TOKEN: this is an app-level token/),
    ]);
    const odd = problems({ DISCORD_TOKEN: 'hush', DISCORD_API_URL: 'hush', SLACK_BOT_TOKEN: 'hush' }, both);
    expect([...swapped, ...odd].join()).not.toContain('hush');
  });
});
