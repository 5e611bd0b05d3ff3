import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { parse } from 'yaml';
import { neededScopes } from '../../adapters/slack/directory.ts';
import { ChannelEvent } from '../../adapters/slack/payload.ts';

/** The app that an operator makes from the manifest is the one that the adapter expects. */

const file = join(import.meta.dirname, '../../deploy/slack-manifest.yaml');
const manifest = parse(await readFile(file, 'utf8'));

test('it asks for the scopes that the bot uses, and for no others', () => {
  expect(manifest.oauth_config.scopes.bot).toEqual([...neededScopes]);
});

test('it hears the events that the adapter reads, and no others', () => {
  const events: string[] = manifest.settings.event_subscriptions.bot_events;
  expect([...events].sort()).toEqual(
    [
      ...ChannelEvent.shape.type.options,
      'app_home_opened',
      'app_mention',
      'member_left_channel',
      'message.channels',
      'message.groups',
      'message.im',
    ].sort(),
  );
});

test('it has the commands, the shortcut, the home tab and direct messages', () => {
  const { slash_commands, shortcuts, app_home } = manifest.features;
  expect(slash_commands.map(({ command }: { command: string }) => command)).toEqual(['/mend', '/bench']);
  expect(shortcuts[0].callback_id).toBe('mend_this');
  expect(app_home).toEqual({
    home_tab_enabled: true,
    messages_tab_enabled: true,
    messages_tab_read_only_enabled: false,
  });
});
