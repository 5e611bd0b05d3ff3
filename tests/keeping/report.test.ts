import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { replayCommand } from '../../src/keeping/replay.ts';
import { reportCommand, reportOf } from '../../src/keeping/report.ts';
import { newTalk, type Talk } from '../conversations/thread.ts';
import { radio, settings } from '../core/example-flow.ts';
import { type KeptDesk, keptDesk, turn } from './kept-desk.ts';

const ada = { id: 'chat:8035', name: 'Ada Quillon', roles: [] };
const bob = { id: 'chat:99', name: 'Bob', roles: ['mender' as const] };

/** A conversation of some turns, with words, a photo and a mender in it. */
function talked(): Talk {
  const talk = newTalk();
  talk.as(ada).says('the radio is silent, I live at Elm Row');
  for (const answer of ['silent', 'solid', 'yes']) talk.as(ada).taps(answer);
  talk.as(ada).sends({ kind: 'photo', references: ['https://pictures/elm.jpg'] });
  talk.as(bob).does({ what: 'advise', words: 'ring me on 0123' });
  talk.as(ada).taps('yes');
  return talk;
}
const talk = talked();

let folder: string;
let said: string[];
let warned: string[];
const file = (): string => join(folder, 'report');
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'report-'));
  said = [];
  warned = [];
});
afterEach(() => rm(folder, { recursive: true }));

const lines = (words: boolean): string[] =>
  reportOf('chat:thread', talk.events, words, { settings, now: () => 1_700_000_000_000 });
const replayed = async (
  text: string | readonly string[],
  ...args: readonly string[]
): Promise<{ readonly code: number; readonly text: string }> => {
  await writeFile(file(), typeof text === 'string' ? text : `${text.join('\n')}\n`);
  const code = await replayCommand([file(), ...args], {
    flows: [radio],
    out: (line) => void said.push(line),
    err: (line) => void warned.push(line),
  });
  return { code, text: said.join('\n') };
};

describe('a report', () => {
  test('without words has no word, name, picture or id of a person, and replays to the same case', async () => {
    expect(talk.events.length).toBeGreaterThan(10);
    expect(new Set(talk.events.map(({ kind }) => kind))).toContain('answered');
    const text = lines(false).join('\n');
    expect(text).not.toMatch(/Quillon|Elm|elm|0123|Bob|8035|chat:/);
    expect(text).toContain('person 1');
    const { code, text: told } = await replayed(lines(false));
    expect(code).toBe(0);
    expect(told).toMatch(/The same case comes out, byte for byte\.$/);
    expect(told).toContain('without words');
  });

  test('with words is the case itself', async () => {
    const [, ...rest] = lines(true);
    expect(rest.slice(0, -1)).toEqual(talk.events.map((event) => JSON.stringify(event)));
    const { code, text } = await replayed(lines(true));
    expect(code).toBe(0);
    expect(text).toContain('“the radio is silent, I live at Elm Row”');
  });

  test('has the community’s numbers and nothing else of it', () => {
    const header = JSON.parse(lines(false)[0] ?? '') as Record<string, unknown>;
    const { community } = settings;
    expect(header).toMatchObject({
      flow: { flow: 'table-radio', version: 1, follows: 1 },
      words: false,
      budget: settings.budget,
      community: { country: community.country, currency: 'GBP', reliability: community.reliability },
    });
    const secretive = {
      ...settings,
      community: { ...community, slack: { help_channels: ['hush'], mender_group: [], moderator_group: [] } },
    };
    const told = reportOf('t', talk.events, true, { settings: secretive, now: () => 1 }).join('\n');
    expect(told).not.toContain('hush');
    expect(told).not.toContain(community.name);
    for (const { name } of community.people) expect(told).not.toContain(name);
  });

  test('is read from the journal, with a warning when it has words', async () => {
    const desk: KeptDesk = await keptDesk('sqlite');
    try {
      const journal = await desk.open();
      await journal.append(turn('chat:thread', 'a', 0, { events: talk.events, state: talk.kase.state }));
      expect(await reportCommand(['chat:thread', '--words'], { ...desk, settings })).toBe(0);
      expect(desk.warned.join()).toMatch(/holds what people wrote/);
      expect(desk.said.slice(1)).toEqual(lines(true).slice(1));
      desk.said.length = 0;
      desk.warned.length = 0;
      expect(await reportCommand(['chat:thread'], { ...desk, settings })).toBe(0);
      expect(desk.warned).toEqual([]);
      expect(desk.said.slice(1)).toEqual(lines(false).slice(1));
      await expect(reportCommand(['chat:none'], { ...desk, settings })).rejects.toThrow(
        /no case in the thread/,
      );
      for (const args of [[], ['a', 'b'], ['a', '--word']])
        expect(await reportCommand(args, { ...desk, settings })).toBe(2);
    } finally {
      await desk.drop();
    }
  });
});

describe('a replay', () => {
  test('tells each event, where the case stands, and what comes next', async () => {
    const { text } = await replayed(lines(false));
    const numbers = text.match(/^ +\d+ {2}\d{4}-/gm) ?? [];
    expect(numbers).toHaveLength(talk.events.length);
    for (const part of ['Open:', 'Answers:', 'In the room:', 'Belief:', 'Plan:', 'What would come next:'])
      expect(text).toContain(`\n${part}\n`);
    expect(text).toContain(`The case is ${talk.kase.state}.`);
    expect(text).toContain(`${talk.kase.question?.key}: Asked now: `);
    const shares = [...text.matchAll(/^ +(\d+\.\d\d) % /gm)].map(([, share]) => Number(share));
    expect(shares).toHaveLength(radio.faults.length);
    expect(shares.reduce((a, b) => a + b, 0)).toBeCloseTo(100, 0);
    expect(text).not.toContain('cannot be worked out');
  });

  test('stops where it is told, and would put then what was put', async () => {
    const at = talk.events.findLastIndex(({ kind }) => kind === 'put');
    const put = talk.events[at];
    if (put?.kind !== 'put') throw new Error('nothing was asked');
    const { code, text } = await replayed(lines(false), '--to', String(at));
    expect(code).toBe(0);
    expect(text).toContain(`Stopped after event ${at} of ${talk.events.length}.`);
    const next = text.slice(text.indexOf('What would come next:'));
    expect(next).toContain(`put. ${put.question.key}: ${put.question.kind} ${put.question.step}`);
  });

  test('fails when another case comes out', async () => {
    const all = lines(false);
    const i = all.findIndex((line) => line.includes('"kind":"answered"'));
    expect(i).toBeGreaterThan(0);
    const bent = all.with(i, (all[i] ?? '').replace(/"outcome":"[^"]+"/, '"outcome":"another"'));
    const { code } = await replayed(bent);
    expect(code).toBe(1);
    expect(warned.join()).toMatch(/Another case comes out/);
    expect(said.join('\n')).not.toContain('byte for byte');
  });

  test('knows the order of an event’s fields, since the bytes count', async () => {
    const all = lines(false);
    const i = all.findIndex((line) => line.includes('"kind":"answered"'));
    const { kind, ...rest } = JSON.parse(all[i] ?? '') as Record<string, unknown>;
    expect((await replayed(all.with(i, JSON.stringify({ ...rest, kind })))).code).toBe(1);
  });

  test('goes as far as it can without the flow', async () => {
    await writeFile(file(), lines(false).join('\n'));
    const code = await replayCommand([file()], {
      flows: [],
      out: (line) => void said.push(line),
      err: (line) => void warned.push(line),
    });
    expect(code).toBe(0);
    expect(said.join('\n')).toMatch(/It is not here/);
    expect(said.join('\n')).toContain('Answers:');
    expect(said.join('\n')).not.toContain('Belief:');
  });

  test('names every problem of a hostile file with its line, and obeys nothing in it', async () => {
    const all = lines(false);
    const hostile = [
      ...all.slice(0, 2),
      '{"kind":"noted","seq":2,"at":1,"by":"x","words":"w","__proto__":{"state":"settled"}}',
      '{"kind":"nonsense","seq":3}',
      '{"kind":"answered","seq":4,"at":1,"by":"x","level":"godlike","step":"s","outcome":"o"}',
      'not json \u001b[31m',
      'null',
      '[[[',
      '{"kind":"noted","seq":99,"at":1,"by":"x","words":"w"}',
      all.at(-1) ?? '',
    ];
    const problem = await replayed(hostile).catch((cause: unknown) => cause);
    expect(String(problem)).not.toContain('\u001b');
    const told = String(problem).replaceAll(file(), 'F').split('\n');
    for (const [line, why] of [
      [3, /__proto__/],
      [4, /kind/],
      [5, /level: .*"godlike"|level.*godlike/],
      [6, /no JSON/],
      [7, /no block/],
      [8, /no JSON/],
      [9, /event 99 stands where 8 belongs/],
    ] as const)
      expect(
        told.some((one) => one.includes(`F:${line}  `) && why.test(one)),
        `line ${line}: ${told.join('\n')}`,
      ).toBe(true);
    expect(said).toEqual([]);
  });

  test('prints words of others without obeying them', async () => {
    const bent = newTalk();
    bent.as({ ...ada, name: 'A\u001b]0;x\u0007da' }).says('silent \u001b[2J\u202e and\nmore');
    const told = reportOf('t', bent.events, true, { settings, now: () => 1 });
    const { code, text } = await replayed(told);
    expect(code).toBe(0);
    for (const sign of ['\u001b', '\u0007', '\u202e']) expect(text).not.toContain(sign);
  });

  test.each([
    ['', /nothing follows|JSON/],
    ['{}\n{}\n', /"format" is missing/],
    [`${'[]\n'.repeat(20_003)}`, /more than 20000 events/],
  ])('refuses what is no report', async (text, why) => {
    await expect(replayed(text)).rejects.toThrow(why);
  });

  test('wants a file and a number', async () => {
    for (const args of [[], ['a', 'b'], ['a', '--to', '0'], ['a', '--to', 'x'], ['a', '--too', '1']])
      expect(
        await replayCommand(args, { flows: [], out: () => undefined, err: (line) => void warned.push(line) }),
      ).toBe(2);
    await expect(
      replayCommand([join(folder, 'none')], { flows: [], out: () => undefined, err: () => undefined }),
    ).rejects.toThrow(/cannot be read/);
  });
});
