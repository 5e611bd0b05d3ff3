import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parse } from 'csv-parse/sync';
import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { Barrier, RepairOutcome } from '../../shared/outcome.ts';
import { type SettledCase, settledCase } from '../../src/outcomes/settled.ts';
import { categories, columns, Record, recordOf } from '../../src/records/ords.ts';
import { recordsCommand } from '../../src/records/records-command.ts';
import { following, newTalk } from '../conversations/thread.ts';
import { people, radio, settings } from '../core/example-flow.ts';
import { flows } from '../flows/library.ts';

/** Records of the Open Repair Data Standard v0.3 (Open Repair Alliance, CC BY-SA 4.0), read back by a general CSV library. */

const { community } = settings;
const talk = newTalk({ settings: following('drain') });
const asker = talk.as(people.asker);
asker.says('It lights up but is silent, I am Wilhelmina, 0123 456789');
for (const tap of ['silent', 'solid', 'done']) asker.taps(tap);
talk.later(31).rings();
asker.taps('works');
const settled = settledCase(talk.kase, radio) as SettledCase;

let dir = '';
beforeEach(async () => {
  dir = await mkdtemp(join(tmpdir(), 'records-'));
});
afterEach(() => rm(dir, { recursive: true, force: true }));

const written = async (cases: readonly SettledCase[], list = [radio]) => {
  async function* each() {
    yield* cases;
  }
  const file = join(dir, 'records.csv');
  const said: string[] = [];
  const desk = {
    cases: each(),
    flows: list,
    community,
    out: (line: string) => said.push(line),
    err: (line: string) => said.push(line),
  };
  const code = await recordsCommand([file], desk);
  const rows = parse(await readFile(file, 'utf8'), { columns: true }) as {
    readonly [column: string]: string;
  }[];
  return { code, rows, said, text: await readFile(file, 'utf8') };
};

describe('the standard’s terms', () => {
  // Version 0.3, published 7 December 2021: the lists and the order in which the alliance publishes its columns.
  test('statuses, barriers and categories are its own', () => {
    expect(RepairOutcome.options.toSorted()).toEqual(['End of life', 'Fixed', 'Repairable', 'Unknown']);
    expect(Barrier.options).toEqual([
      'Spare parts not available',
      'Spare parts too expensive',
      'No way to open product',
      'Repair information not available',
      'Lack of equipment',
      'Item too worn out',
    ]);
    expect(categories).toHaveLength(40);
    for (const [id, name] of [
      [8, 'Flat screen'],
      [14, 'Kettle'],
      [15, 'Lamp'],
      [16, 'Laptop'],
      [31, 'Toaster'],
      [33, 'TV and gaming-related accessories'],
      [34, 'Vacuum'],
      [40, 'Iron'],
    ] as const)
      expect(categories[id - 1]).toBe(name);
    expect(columns.join()).toBe(
      'id,data_provider,country,partner_product_category,product_category,product_category_id,brand,year_of_manufacture,product_age,repair_status,repair_barrier_if_end_of_life,group_identifier,event_date,problem',
    );
  });

  test('every flow’s category is one of them', () => {
    for (const { flow, category } of flows)
      expect([flow, categories]).toEqual([flow, expect.arrayContaining([category])]);
  });
});

describe('a record', () => {
  test('is read back as it was written, with nobody’s words in it', async () => {
    const { code, rows, text } = await written([settled]);
    expect(code).toBe(0);
    expect(text).not.toMatch(/Wilhelmina|456789/);
    expect(rows).toHaveLength(1);
    expect(Object.keys(rows[0] ?? {})).toEqual([...columns]);
    expect(rows[0]).toMatchObject({
      country: community.country.code,
      product_category: 'Hi-Fi separates',
      product_category_id: '13',
      repair_status: 'Fixed',
      repair_barrier_if_end_of_life: '',
      event_date: '1970-01-01',
    });
    expect(rows[0]?.problem).toMatch(/^It lights up, but it is silent\. .*Tried: /);
    expect(rows[0]?.id).toMatch(/^[a-z]+_[0-9]+$/);
    expect(rows[0]?.id).not.toContain('thread');
  });

  test('has the day of the community’s time zone', () => {
    const late = { ...settled, settled: Date.UTC(2026, 0, 31, 23, 30) };
    const day = (time_zone: string) => recordOf(late, radio, { ...community, time_zone }).event_date;
    expect([day('UTC'), day('Europe/Berlin'), day('America/New_York')]).toEqual([
      '2026-01-31',
      '2026-02-01',
      '2026-01-31',
    ]);
  });

  test('has a barrier only with End of life', () => {
    const worn = { ...settled, outcome: 'End of life' as const, barrier: 'Item too worn out' as const };
    expect(recordOf(worn, radio, community).repair_barrier_if_end_of_life).toBe('Item too worn out');
    expect(() => recordOf({ ...worn, outcome: 'Repairable' }, radio, community)).toThrow();
  });

  test('of every flow keeps to the standard, with whatever complaint, fault and remedy', () => {
    for (const flow of flows)
      for (const { id: complaint } of flow.complaints)
        for (const { id: fault } of flow.faults)
          for (const { id: remedy } of flow.remedies) {
            const one = { ...settled, complaint, fault, tried: [{ remedy, worked: true }] };
            expect(recordOf(one, flow, community).problem.length).toBeLessThanOrEqual(500);
          }
  });

  test.each([
    'ada@example.org',
    'ada＠example.org',
    'ask ＠ada',
    'ticket ＃12',
    'call 0123 456 7890',
    'call 0123.456.7890',
    'call 012-34-567',
    'call 01\u200b23456',
    'see https://example.org',
    'see example.org/ada',
    'tel:12345',
    'ask @ada',
    'ask (@ada)',
    'see <#C123>',
    'ticket #12',
  ])('that would lead to a person is refused: “%s”', (problem) => {
    const record = recordOf(settled, radio, community);
    const valid = (words: string) => Record.safeParse({ ...record, problem: words }).success;
    expect(valid(problem)).toBe(false);
    expect(valid('It hums at 50 Hz, 100 - 240 V, 2200 W, 1.5 kohm. d.c. side: 12-19 V.')).toBe(true);
  });

  test.each([
    ['event_date', '2026-02-30'],
    ['event_date', '1.2.2026'],
    ['country', 'GB'],
    ['product_category', 'Television'],
    ['product_category_id', 41],
    ['product_category_id', 14],
    ['repair_status', 'Mended'],
    ['repair_barrier_if_end_of_life', 'Too worn out'],
    ['problem', ''],
    ['problem', ' =1+1'],
    ['problem', 'x'.repeat(501)],
    ['brand', 'Any'],
    ['id', 'thread/7'],
  ])('with %s “%s” is refused', (column, value) => {
    const record = recordOf(settled, radio, community);
    expect(Record.safeParse(record).success).toBe(true);
    expect(Record.safeParse({ ...record, [column]: value }).success).toBe(false);
  });

  test('has an id that stays, and that only the community’s secret leads to', () => {
    const id = (secret?: string, one = settled) => recordOf(one, radio, community, secret).id;
    expect(id('a')).toBe(id('a'));
    expect(new Set([id(), id('a'), id('b'), id('a', { ...settled, id: 'another' })]).size).toBe(4);
  });

  test('survives any words that a flow may have, formulas too', async () => {
    await fc.assert(
      fc.asyncProperty(fc.stringMatching(/^[=+@"',;\n A-Za-z0-9]{1,40}$/), async (name) => {
        const label = name.trim() === '' ? 'x' : name;
        const flow = { ...radio, complaints: radio.complaints.map((one) => ({ ...one, label })) };
        const { rows, said } = await written([settled], [flow]);
        if (rows.length === 0) expect(said.join()).toContain('Left out');
        else {
          expect(rows[0]?.problem).toContain(label);
          expect(rows[0]?.problem).not.toMatch(/^[=+@]/);
        }
      }),
      { numRuns: 60 },
    );
  });
});

test('demonstrations are no records, flows that are gone are named, and many cases make as many rows with numbers of their own', async () => {
  const many = Array.from({ length: 500 }, (_, i) => ({ ...settled, id: `p:${i}` }));
  const { code, rows, said } = await written([
    ...many,
    { ...settled, demonstration: true },
    { ...settled, flow: 'gone' },
  ]);
  expect(rows).toHaveLength(500);
  expect(new Set(rows.map(({ id }) => id)).size).toBe(500);
  expect(code).toBe(1);
  expect(said.join('\n')).toMatch(/^500 records .*\nLeft out, 1: the flow/);
});

test('what is refused is said by column, without what stands in it', async () => {
  const label = 'Ask ada@example.org';
  const flow = { ...radio, complaints: radio.complaints.map((one) => ({ ...one, label })) };
  const { code, rows, said } = await written([settled, settled], [flow]);
  expect([code, rows.length]).toEqual([1, 0]);
  expect(said.join()).toContain('Left out, 2');
  expect(said.join()).toContain('problem: it may lead to a person');
  expect(said.join()).not.toContain('example');
});
