import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { checkRates, exampleCommunity, parseCommunity, readSettings } from '../src/config.ts';
import { parseFlow } from '../src/flows.ts';
import { changed, flowOf, lamp } from './desk-lamp.ts';

const example = await readFile(exampleCommunity, 'utf8');
let dir = '';
beforeAll(async () => {
  dir = await mkdtemp(join(tmpdir(), 'config-'));
});
afterAll(() => rm(dir, { recursive: true }));

async function problems(env: NodeJS.ProcessEnv, cwd = dir): Promise<string[]> {
  const read = await readSettings(env, cwd);
  return 'problems' in read ? read.problems : [];
}
const said = (source: string): string[] => {
  const parsed = parseCommunity(source, 'community.yaml');
  return 'problems' in parsed ? parsed.problems : [];
};
const broken = `name: Sallowford Mending Table
country:
  code: gb
  mains_volts: 23
  emergency: 999
currency: pounds
rates: { USD: -1 }
hour: "10"
referal: 60
people: []
waiting: 5 %
`;

describe('the settings', () => {
  it('are those of the example when nothing is named and no file is there', async () => {
    const read = await readSettings({}, dir);
    expect(read).toMatchObject({
      settings: {
        communityFile: null,
        flowsDir: join(import.meta.dirname, '../flows'),
        community: {
          country: { code: 'GBR', mains_volts: 230, emergency: '999 or 112' },
          currency: 'GBP',
          hour: 10,
          waiting: 0.05,
          referral: 80,
          reliability: { new: 0.9, handy: 0.95, trained: 0.98 },
          floor: 0.002,
        },
      },
    });
  });

  it('come from community.yaml where the desk is started', async () => {
    const own = await mkdtemp(join(dir, 'own-'));
    await writeFile(join(own, 'community.yaml'), example.replace('hour: 10', 'hour: 12'));
    const read = await readSettings({ COMMUNITY_FILE: ' ' }, own);
    expect(read).toMatchObject({
      settings: { community: { hour: 12 }, communityFile: join(own, 'community.yaml') },
    });
  });

  it('come from the file that COMMUNITY_FILE names, and the flows from FLOWS_DIR', async () => {
    await writeFile(join(dir, 'ours.yaml'), example.replace('hour: 10', 'hour: 14'));
    const read = await readSettings({ COMMUNITY_FILE: 'ours.yaml', FLOWS_DIR: 'our-flows' }, dir);
    expect(read).toMatchObject({
      settings: {
        community: { hour: 14 },
        communityFile: join(dir, 'ours.yaml'),
        flowsDir: join(dir, 'our-flows'),
      },
    });
  });

  it('say where things are kept and served, as the environment has it', async () => {
    expect(await readSettings({}, dir)).toMatchObject({
      settings: {
        journal: { kind: 'sqlite', file: join(dir, 'data', 'desk.db') },
        keys: { kind: 'sqlite', file: join(dir, 'data', 'desk-keys.db') },
        cacheUrl: null,
        http: null,
        logLevel: 'info',
      },
    });
    const env = { JOURNAL_URL: 'memory:', CACHE_URL: 'none:', HTTP_PORT: '8080', LOG_LEVEL: 'debug' };
    expect(await readSettings(env, dir)).toMatchObject({
      settings: {
        journal: { kind: 'memory' },
        keys: null,
        cacheUrl: 'none:',
        http: { host: '127.0.0.1', port: 8080 },
        logLevel: 'debug',
      },
    });
  });

  it('are told the problems of file and environment at once, and no value', async () => {
    await writeFile(join(dir, 'late.yaml'), example.replace('hour: 10', 'hour: "hunter2"'));
    const env = { JOURNAL_URL: 'mysql://u:hunter2@db/desk', HTTP_PORT: 'hunter2', LOG_LEVEL: 'inof' };
    const all = await problems({ COMMUNITY_FILE: 'late.yaml', ...env });
    expect(all).toEqual([
      expect.stringMatching(/late\.yaml:\d+:\d+ {2}hour: this text is not a number; write a number$/),
      expect.stringMatching(/^JOURNAL_URL: /),
      expect.stringMatching(/^HTTP_PORT: /),
      'LOG_LEVEL: this is no level; write "info"',
    ]);
    expect(all.join('\n')).not.toContain('hunter2');
    expect(await problems({ COMMUNITY_FILE: 'none.yaml', ...env })).toHaveLength(4);
  });

  it('never fall back to the example when a named file is missing', async () => {
    expect(await problems({ COMMUNITY_FILE: 'none.yaml' })).toEqual([
      expect.stringMatching(
        /none\.yaml:1:1 {2}the file cannot be read \(ENOENT\); check its name in COMMUNITY_FILE$/,
      ),
    ]);
  });
});

describe('the community file', () => {
  it('is told all its mistakes at once, each with its line and what to write', () => {
    expect(said(broken)).toEqual([
      'community.yaml:2:1  country: "plug" is missing; add "plug:" with text',
      'community.yaml:2:1  country: "fuses" is missing; add "fuses:" with text',
      'community.yaml:3:9  country > code: this text is not written as it should be; a country is three capitals, such as GBR',
      'community.yaml:4:16  country > mains_volts: this number is too small; write at least 100',
      'community.yaml:5:14  country > emergency: this number is not text; put it in quotes',
      'community.yaml:6:11  currency: this text is not written as it should be; a currency is three capitals, such as EUR',
      'community.yaml:7:15  rates > USD: this number is too small; write more than 0',
      'community.yaml:8:7  hour: this text is not a number; write a number',
      'community.yaml:9:1  unknown name "referal"; write "referral"',
      'community.yaml:10:1  people: no entries; write at least 1',
      'community.yaml:11:10  waiting: this text is not a number; write a number',
    ]);
  });

  it('may leave out what has a usual value', () => {
    const least = broken
      .replace('gb', 'GBR\n  plug: Three pins.\n  fuses: 3 A or 13 A.')
      .replace('23\n', '230\n')
      .replace('999', '"999"')
      .replace('pounds', 'GBP')
      .replace('-1', '0.8')
      .replace('"10"', '10')
      .replace('referal', 'referral')
      .replace('people: []', 'people: [{ name: A café, what: Mends. }]')
      .replace('waiting: 5 %\n', '');
    expect(parseCommunity(least, 'c')).toMatchObject({
      community: {
        waiting: 0.05,
        follow_up_days: 14,
        stuck_after: 4,
        reliability: { new: 0.9 },
        learning: { half_life_days: 1461, strengths: { faults: 200, pooling: 20 }, by: null },
      },
    });
  });

  it('may let cases not age, and learn by make; a strength of nothing is refused', () => {
    const learning = (text: string): string =>
      example.replace(/^learning:\n(?: .*\n)+/m, `learning: ${text}\n`);
    expect(parseCommunity(learning('{ half_life_days: null, by: make }'), 'c')).toMatchObject({
      community: { learning: { half_life_days: null, by: 'make', strengths: { outcomes: 100 } } },
    });
    expect(said(learning('{ strengths: { cures: 0 } }'))).toEqual([expect.stringContaining('cures')]);
    expect(said(learning('{ half_life_days: 0.5 }'))).toEqual([expect.stringContaining('half_life_days')]);
  });

  it('does not say what its own currency is worth in itself', () => {
    expect(said(example.replace('USD: 0.77', 'GBP: 0.77'))).toEqual([
      expect.stringContaining(
        "this is the community's own currency, and one of it is worth 1; take the line out",
      ),
    ]);
  });

  it('holds no secrets, wherever somebody put them', () => {
    const source = `${example}discord:\n  guild: "123456789012345678"\n  bot_token: hunter2hunter2\nslack: { signingSecret: hunter2hunter2 }\n`;
    expect(said(source)).toEqual([
      expect.stringContaining('discord: unknown name'),
      expect.stringContaining('discord: this looks like a secret'),
      expect.stringContaining('slack: unknown name'),
      expect.stringContaining('slack: this looks like a secret'),
    ]);
  });

  it('may name the places of the platforms, and nothing that is no place', () => {
    const places =
      'discord: { guild: "123456789012345678", help_channels: [repairs], mender_roles: [menders] }\nslack: { mender_group: menders, moderator_group: [U1, U2] }\n';
    expect(said(`${example}${places}`)).toEqual([]);
    expect(said(`${example}discord:\n  guild: "1"\n`)).toEqual([expect.stringContaining('long number')]);
    expect(said(`${example}slack: { mender_grup: menders }\n`)).toEqual([
      expect.stringContaining('mender_group'),
    ]);
    expect(said(example.replace('time_zone: Europe/London', 'time_zone: Sallowford'))).toEqual([
      expect.stringContaining('time zone'),
    ]);
  });

  it('is refused when it is not YAML', () => {
    expect(said('name: "x\n')).toEqual([expect.stringContaining('something is missing here')]);
  });

  it('is never repeated in a problem, whatever stands where', () => {
    const secret = 'Xoxb-4711-hunter2';
    const lines = example.split('\n');
    const put = fc.record({
      line: fc.nat(lines.length - 1),
      how: fc.constantFrom('value', 'name', 'list', 'block', 'text'),
    });
    let refused = 0;
    fc.assert(
      fc.property(fc.array(put, { minLength: 1, maxLength: 3 }), (puts) => {
        const text = [...lines];
        for (const { line, how } of puts) {
          const [start = ''] = /^\s*(?:- )?/.exec(text[line] ?? '') ?? [];
          const key = /^\s*(?:- )?([\w-]+):/.exec(text[line] ?? '')?.[1] ?? 'hour';
          if (how === 'value') text[line] = `${start}${key}: ${secret}`;
          else if (how === 'name') text[line] = `${start}${secret}: 1`;
          else if (how === 'list') text[line] = `${start}${key}: [${secret}]`;
          else if (how === 'block') text[line] = `${start}${key}: { ${secret}: ${secret} }`;
          else text[line] = secret;
        }
        const all = said(text.join('\n'));
        refused += all.length > 0 ? 1 : 0;
        expect(all.join('\n')).not.toMatch(/xoxb|4711|hunter2/i);
      }),
      { seed: 23, numRuns: 500 },
    );
    expect(refused).toBeGreaterThan(100);
  });
});

describe('the rates', () => {
  const community = (source = example) => {
    const parsed = parseCommunity(source, 'c');
    if ('problems' in parsed) throw new Error(parsed.problems.join('\n'));
    return parsed.community;
  };

  it('are needed for every currency of the flows but the own one', () => {
    const desk = flowOf(parseFlow(lamp, 'desk'));
    const yen = flowOf(
      parseFlow(
        changed(
          ['flow: desk-lamp', 'flow: yen-lamp'],
          ['low: 2, high: 6, currency: GBP', 'low: 2, high: 6, currency: JPY'],
          ['high: 30, currency: GBP', 'high: 30, currency: CHF'],
        ),
        'yen',
      ),
    );
    expect(checkRates(community(), [desk])).toEqual([]);
    expect(checkRates(community(), [desk, yen])).toEqual([
      'rates: the community file does not say what one CHF is worth in GBP, and prices of "yen-lamp" are in CHF; add "CHF: ..." under "rates"',
      'rates: the community file does not say what one JPY is worth in GBP, and prices of "yen-lamp" are in JPY; add "JPY: ..." under "rates"',
    ]);
    expect(
      checkRates(community(example.replace('USD: 0.77', 'JPY: 0.005\n  CHF: 0.9')), [desk, yen]),
    ).toEqual([]);
  });
});
