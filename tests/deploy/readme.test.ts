import { execFileSync } from 'node:child_process';
import { PermissionFlagsBits } from 'discord.js';
import { describe, expect, it } from 'vitest';
import { parse, stringify } from 'yaml';
import { parseCommunity } from '../../src/config.ts';
import { all, read } from './texts.ts';

/** What deploy/README.md tells people to write and to run is true of the program. */

const readme = read('deploy/README.md');

describe('the README', () => {
  it('shows parts of a community file that can be read', () => {
    const example = parse(read('community.example.yaml'));
    const parts = all(readme, /^```yaml\n([\s\S]*?)^```$/gm);
    expect(parts.map((part) => Object.keys(parse(part)))).toEqual([
      ['time_zone', 'digest_hour'],
      ['discord'],
      ['slack'],
    ]);
    for (const part of parts) {
      const parsed = parseCommunity(stringify({ ...example, ...parse(part) }), 'community.yaml');
      expect(parsed).not.toHaveProperty('problems');
    }
  });

  it('invites the Discord bot with the permissions that it lists, and no more', () => {
    // Discord's list of permission bits, as its library has it.
    const wanted = [
      PermissionFlagsBits.ViewChannel,
      PermissionFlagsBits.SendMessages,
      PermissionFlagsBits.CreatePublicThreads,
      PermissionFlagsBits.SendMessagesInThreads,
      PermissionFlagsBits.EmbedLinks,
      PermissionFlagsBits.AttachFiles,
      PermissionFlagsBits.ReadMessageHistory,
      PermissionFlagsBits.UseApplicationCommands,
    ].reduce((sum, one) => sum | one, 0n);
    expect(all(readme, /permissions=(\d+)/g)).toEqual([String(wanted)]);
    expect(readme).toContain('scope=bot+applications.commands');
  });

  it('names commands that exist', () => {
    const known = all(read('src/main.ts'), /^\s+case '([a-z]+)':/gm);
    const used = all(readme, /(?:src\/main\.ts|sudo mendthread) ([a-z]+)/g);
    expect(used).toEqual(expect.arrayContaining(['start', 'backup', 'restore', 'erase']));
    expect(known).toEqual(expect.arrayContaining(used));
  });

  it('has shell lines that a shell can read', () => {
    const blocks = all(readme, /^```sh\n([\s\S]*?)^```$/gm);
    expect(blocks.length).toBeGreaterThan(10);
    for (const block of blocks) execFileSync('bash', ['-n'], { input: block });
  });
});
