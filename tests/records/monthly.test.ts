import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { RepairOutcome } from '../../shared/outcome.ts';
import { tablesOf } from '../../src/core/step.ts';
import { type SettledCase, settledCase } from '../../src/outcomes/settled.ts';
import { monthOf } from '../../src/records/monthly.ts';
import { monthlyCommand } from '../../src/records/monthly-command.ts';
import { monthlyReport } from '../../src/records/monthly-words.ts';
import { following, newTalk } from '../conversations/thread.ts';
import { people, radio, settings } from '../core/example-flow.ts';
import { flowOf, flows } from '../flows/library.ts';

const { community } = settings;
const talk = newTalk({ settings: following('drain') });
const asker = talk.as(people.asker);
asker.says('It lights up but is silent, I am Wilhelmina, 0123 456789');
for (const tap of ['silent', 'solid', 'done']) asker.taps(tap);
talk.later(31).rings();
asker.taps('works');
const at = Date.UTC(2026, 9, 14, 12);
const hour = 3_600_000;
const settled: SettledCase = {
  ...(settledCase(talk.kase, radio) as SettledCase),
  opened: at - 2 * hour,
  settled: at,
};

async function* each(cases: readonly SettledCase[]) {
  yield* cases;
}
const october = (cases: readonly SettledCase[], list = [radio]) =>
  monthOf(each(cases), { flows: list, settings, month: '2026-10' });
const report = async (cases: readonly SettledCase[], list = [radio]) =>
  monthlyReport(await october(cases, list), community);

describe('a month', () => {
  test('counts by status, barrier and category, without demonstrations and other months', async () => {
    const worn = { ...settled, outcome: 'End of life' as const, barrier: 'Item too worn out' as const };
    const month = await october([
      settled,
      worn,
      { ...worn, barrier: null },
      { ...settled, outcome: 'Repairable' },
      { ...settled, demonstration: true },
      { ...settled, settled: Date.UTC(2026, 10, 1) },
      { ...settled, flow: 'gone' },
    ]);
    expect(month).toMatchObject({ cases: 4, gone: 1 });
    expect(Object.fromEntries(month.ended)).toEqual({ Fixed: 1, 'End of life': 2, Repairable: 1 });
    expect([...month.barriers]).toEqual([
      ['Item too worn out', 1],
      [null, 1],
    ]);
    expect([...month.categories]).toEqual([['Hi-Fi separates', { cases: 4, fixed: 1 }]]);
  });

  test('begins and ends where the community’s days do', async () => {
    const late = { ...settled, settled: Date.UTC(2026, 8, 30, 23, 30) };
    const cases = async (time_zone: string): Promise<number> => {
      const given = {
        flows: [radio],
        settings: { ...settings, community: { ...community, time_zone } },
        month: '2026-10',
      };
      return (await monthOf(each([late]), given)).cases;
    };
    expect([await cases('UTC'), await cases('Europe/London')]).toEqual([0, 1]);
  });

  // By hand: a radio is 900 to 1100 GBP, the speaker 4 to 8; an hour is 6 GBP, so 30 minutes are 3, and 40 minutes of waiting
  // at 0.05 are 2 minutes, 0.2.
  test('saves the middle of the replacement price, less parts and time, on what was fixed only', async () => {
    const one = { ...settled, parts: ['new-speaker'], minutes: 30, waited: 40 };
    const { money } = await october([one, one, { ...one, outcome: 'Repairable' }]);
    expect(money.replacements).toBe(2000);
    expect(money.parts).toBe(12);
    expect(money.time).toBeCloseTo(6.4, 10);
    expect(money.otherwise).toBeCloseTo(9.2, 10);
    const words = monthlyReport(await october([one, one, { ...one, outcome: 'Repairable' }]), community);
    expect(words).toContain('1982 GBP on 2 fixed appliances');
    expect(words).toContain('On the others, parts and time came to 9 GBP.');
  });

  test('counts prices of another currency at the community’s rate', async () => {
    const dear = {
      ...radio,
      replace: { ...radio.replace, price: { ...radio.replace.price, currency: 'EUR' } },
    };
    const given = {
      flows: [dear],
      settings: { ...settings, community: { ...community, rates: { EUR: 0.5 } } },
      month: '2026-10',
    };
    expect((await monthOf(each([settled]), given)).money.replacements).toBe(500);
  });

  test('weighs what was fixed by its category, and names what cannot be weighed', async () => {
    const of = (flow: string): SettledCase => ({ ...settled, flow, complaint: null, details: {}, tried: [] });
    const cases = [of('toaster'), of('toaster'), of('vacuum-cleaner'), of('mains-appliance')];
    const { mass } = await october(cases, [...flows]);
    expect(mass).toEqual({ kg: 8, unweighed: 1 });
    expect(await report(cases, [...flows])).toContain(
      'About 8.0 kg did not become waste. 1 fixed appliance could be anything and is not weighed.',
    );
  });

  test('says where the desk’s likeliest fault was another than the confirmed one', async () => {
    const known = { ...settled, complaint: 'dead', details: {}, tried: [], confirmed: 'person' as const };
    const right = { ...known, fault: 'supply-fuse' };
    const wrong = { ...known, fault: 'knob' };
    const { desk } = await october([right, wrong, wrong, { ...wrong, confirmed: null }]);
    expect(desk.confirmed).toBe(3);
    expect(desk.wrong).toEqual([{ flow: radio, said: 'supply-fuse', was: 'knob', times: 2 }]);
    const name = (id: string) => radio.faults.find((one) => one.id === id)?.name;
    expect(await report([right, wrong, wrong])).toContain(
      `| Table radio | ${name('supply-fuse')} | ${name('knob')} | 2 |`,
    );
  });

  test('goes by the numbers that the desk goes by, where they are not the file’s', async () => {
    const one = {
      ...settled,
      complaint: 'dead',
      details: {},
      tried: [],
      confirmed: 'person' as const,
      fault: 'knob',
    };
    const tables = tablesOf(radio, settings);
    // Of what was learnt, a dead radio always has a bad knob.
    const knob = tables.prior.map((_, f) => (tables.faults[f] === 'knob' ? 1 : 0));
    const month = await monthOf(each([one]), {
      flows: [radio],
      settings,
      month: '2026-10',
      learnt: (flow) => (flow === radio ? { ...tables, prior: knob } : undefined),
    });
    expect(month.desk).toEqual({ confirmed: 1, wrong: [] });
  });

  test('has the median time to the end, for odd and even numbers of cases', async () => {
    const took = (hours: number): SettledCase => ({ ...settled, opened: at - hours * hour });
    expect((await october([took(9), took(1), took(4)])).median).toBe(240);
    expect((await october([took(1), took(2), took(4), took(30)])).median).toBe(180);
    expect((await october([])).median).toBeNull();
    expect(await report([took(2)])).toContain('within 2 h,');
  });

  test('adds up, whatever the cases', async () => {
    const any = fc.record({
      flow: fc.constantFrom('toaster', 'kettle', 'mains-appliance', 'gone'),
      outcome: fc.constantFrom(...RepairOutcome.options),
      settled: fc.integer({ min: Date.UTC(2026, 8, 20), max: Date.UTC(2026, 10, 10) }),
      demonstration: fc.boolean(),
      minutes: fc.integer({ min: 0, max: 500 }),
    });
    await fc.assert(
      fc.asyncProperty(fc.array(any, { maxLength: 30 }), async (list) => {
        const cases = list.map((one) => ({ ...settled, complaint: null, details: {}, tried: [], ...one }));
        const month = await october(cases, [flowOf('toaster'), flowOf('kettle'), flowOf('mains-appliance')]);
        const sum = (values: Iterable<number>) => [...values].reduce((a, b) => a + b, 0);
        const inOctober = cases.filter(
          (one) => !one.demonstration && new Date(one.settled).toISOString().startsWith('2026-10'),
        );
        expect(month.cases + month.gone).toBe(inOctober.length);
        expect(sum(month.ended.values())).toBe(month.cases);
        expect(sum([...month.categories.values()].map((one) => one.cases))).toBe(month.cases);
        expect(sum([...month.categories.values()].map((one) => one.fixed))).toBe(
          month.ended.get('Fixed') ?? 0,
        );
        expect(sum(month.barriers.values())).toBe(month.ended.get('End of life') ?? 0);
      }),
      { numRuns: 100 },
    );
  });
});

describe('the report', () => {
  test('has nobody’s words or names, and no case’s id', async () => {
    const worn = { ...settled, outcome: 'End of life' as const, barrier: 'Lack of equipment' as const };
    const words = await report([settled, worn]);
    expect(words).not.toMatch(/Wilhelmina|456789/);
    expect(words).not.toContain(settled.id);
    expect(words).toMatch(/^# The Larkholm Bench: 2026-10\n\n2 cases came to an end\.\n/);
    expect(words).toContain('| Lack of equipment | 1 |');
    expect(words).toContain('| Fixed | 1 | 50 % |');
  });

  test('of a month without cases says so and no more', async () => {
    expect(await report([])).toBe('# The Larkholm Bench: 2026-10\n\n0 cases came to an end.\n');
  });

  test('keeps its tables whole, whatever names a flow has', async () => {
    const odd = {
      ...radio,
      title: 'A | B `x` <b>',
      faults: radio.faults.map((one) => ({ ...one, name: `${one.name} | *` })),
    };
    const known = { ...settled, complaint: 'dead', details: {}, tried: [], confirmed: 'person' as const };
    const words = await report([{ ...known, fault: 'knob' }], [odd]);
    const row = words.split('\n').find((line) => line.includes('`x'));
    expect(row?.startsWith('| A \\| B \\`x\\` \\<b\\> |')).toBe(true);
    expect(row?.split(/(?<!\\)\|/)).toHaveLength(6);
  });
});

describe('the command', () => {
  const run = async (args: readonly string[], now = Date.UTC(2026, 10, 3)) => {
    const [out, err]: [string[], string[]] = [[], []];
    const code = await monthlyCommand(args, {
      cases: each([settled]),
      flows: [radio],
      settings,
      now: () => now,
      out: (line) => out.push(line),
      err: (line) => err.push(line),
    });
    return { code, out: out.join('\n'), err: err.join('\n') };
  };

  test('reports the last whole month, also over the turn of a year, or the month that is named', async () => {
    expect((await run([])).out).toContain(': 2026-10\n\n1 case came');
    expect((await run([], Date.UTC(2026, 0, 31))).out).toContain(': 2025-12\n\n0 cases came');
    expect((await run(['--month', '2026-10'], 0)).out).toContain('1 case came');
  });

  test('writes a file where one is named', async () => {
    const dir = await mkdtemp(join(tmpdir(), 'monthly-'));
    try {
      const file = join(dir, 'october.md');
      expect(await run([file])).toMatchObject({ code: 0, out: '' });
      expect(await readFile(file, 'utf8')).toMatch(/^# The Larkholm Bench: 2026-10\n/);
    } finally {
      await rm(dir, { recursive: true, force: true });
    }
  });

  test.each([[['--month', '2026-13']], [['--month', 'May']], [['a.md', 'b.md']], [['--all']]])(
    'says how it is used, at %s',
    async (args) => {
      const { code, err } = await run(args);
      expect(code).toBe(2);
      expect(err).toContain('npm run monthly');
    },
  );
});
