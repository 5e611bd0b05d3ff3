import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { parse } from 'yaml';
import { z } from 'zod';
import { emptyCase } from '../../src/core/reduce.ts';
import { step } from '../../src/core/step.ts';
import { unchosen } from '../../src/core/unchosen.ts';
import { recognise } from '../../src/core/words/recognise.ts';
import { createLibrary } from '../../src/library/library.ts';
import { people, settings } from '../core/example-flow.ts';
import { flowOf, flows, sentences } from './library.ts';

/**
 * The flow that free words lead to. The sentences were written by hand before the words of the flows were; names of the
 * flows were added to afterwards, so the shares here are of known sentences, not of the next one that comes.
 */

const library = createLibrary(flows);
const all = [...sentences].flatMap(([flow, list]) => list.map((one) => ({ flow, ...one })));

test('there are sentences for every kind of appliance that is repaired here', () => {
  const repaired = flows.filter(({ never_open }) => never_open === undefined).map(({ flow }) => flow);
  expect([...sentences.keys()].toSorted()).toEqual(
    expect.arrayContaining(repaired.filter((id) => id !== 'flat-panel-tv')),
  );
  expect(all.length).toBeGreaterThan(250);
});

test('the right flow comes first for nine of ten sentences, and is among the three for nineteen of twenty', () => {
  const found = all.map(({ flow, text }) => ({ flow, text, ids: library.find(text) }));
  const wrong = found
    .filter(({ flow, ids }) => ids[0] !== flow)
    .map(({ flow, text, ids }) => `${flow} <- ${ids}: ${text}`);
  const missed = found.filter(({ flow, ids }) => !ids.includes(flow));
  expect(wrong.length / all.length, wrong.join('\n')).toBeLessThanOrEqual(0.1);
  expect(missed.length / all.length).toBeLessThanOrEqual(0.06);
  for (const { ids } of found) expect(ids.length).toBeLessThanOrEqual(3);
});

test('the right flow comes first for nine of ten sentences that nothing was made for', () => {
  const file = join(import.meta.dirname, 'unseen.yaml');
  const unseen = z
    .array(z.strictObject({ flow: z.string(), text: z.string() }))
    .parse(parse(readFileSync(file, 'utf8')));
  const wrong = unseen.filter(({ flow, text }) => library.find(text)[0] !== flow).map(({ text }) => text);
  expect(unseen.length).toBeGreaterThan(40);
  expect(wrong.length / unseen.length, wrong.join('\n')).toBeLessThanOrEqual(0.1);
});

test('the complaint that a sentence states is recognised, and seldom another one', () => {
  const stated = all.filter(({ complaint }) => complaint !== null);
  const read = stated.map(({ flow, text, complaint }) => ({
    right: complaint,
    is: recognise(text, flowOf(flow))[0]?.id,
  }));
  const wrong = read.filter(({ right, is }) => is !== undefined && is !== right).length;
  const right = read.filter(({ right, is }) => is === right).length;
  expect(right / read.length).toBeGreaterThanOrEqual(0.85);
  expect(wrong / read.length).toBeLessThanOrEqual(0.05);
});

test('whatever is written first, no flow is taken without a tap', () => {
  for (const [i, { text }] of all.entries()) {
    const opening = {
      kind: 'opened',
      id: `m${i}`,
      thread: 'thread',
      at: 0,
      by: people.asker,
      words: text,
      place: '',
    } as const;
    const { after, outbound } = step(emptyCase('thread'), opening, unchosen, { ...settings, library });
    expect([text, after.flow]).toEqual([text, null]);
    const ask = outbound.find((one) => one.kind === 'ask');
    // Signs of danger come before the appliance.
    if (ask?.kind !== 'ask' || ask.step !== 'appliance') continue;
    const offered = new Set(
      ask.choices.map(({ id }) => id.split('/')[0]).filter((id) => flows.some(({ flow }) => flow === id)),
    );
    expect(offered.size).toBeLessThanOrEqual(3);
    if (offered.size > 0 && library.find(text).length > 0)
      expect(ask.choices.map(({ id }) => id)).toContain('none');
  }
});

describe('everyday names', () => {
  test.each([
    ['my hoover has no suction', 'vacuum-cleaner'],
    ['the telly', 'flat-panel-tv'],
    ['laptop dead', 'laptop'],
    ['my microwave sparks', 'microwave-oven'],
    ['old crt tv', 'picture-tube-set'],
    ['ebike battery', 'electric-cycle-battery'],
    ['the light switch in the hall', 'fixed-wiring'],
    ['gas boiler', 'gas-appliance'],
    ['garage door is stuck', 'garage-door'],
    ['vaccum cleaner', 'vacuum-cleaner'],
    ['vacuumcleaner', 'vacuum-cleaner'],
    ['kettel', 'kettle'],
    ['washing mashine', 'washing-machine'],
    ['sowing machine jams', 'sewing-machine'],
    ['My TOASTER!!!', 'toaster'],
  ])('“%s” is %s', (text, flow) => {
    expect(library.find(text)[0]).toBe(flow);
  });

  test('a text without an appliance proposes nothing, or only what few can have', () => {
    expect(library.find('hello, can you help me please?')).toEqual([]);
    expect(library.find('')).toEqual([]);
    expect(library.find('🤷 ??? 123')).toEqual([]);
    expect(library.find('x'.repeat(5000))).toEqual([]);
  });

  test('every name of every flow finds it', () => {
    const lost = flows.flatMap((flow) =>
      flow.names
        .filter((name) => !library.find(`my ${name} is broken`).includes(flow.flow))
        .map((name) => `${flow.flow}: ${name}`),
    );
    expect(lost).toEqual([]);
  });
});
