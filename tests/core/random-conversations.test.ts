import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { parse } from 'yaml';
import { Flow, type Level } from '../../shared/flow.ts';
import type { Inbound } from '../../shared/inbound.ts';
import type { Ask } from '../../shared/outbound.ts';
import type { Person } from '../../shared/person.ts';
import type { Settings } from '../../src/core/settings.ts';
import { converse } from './converse.ts';
import { people, radio, settings } from './example-flow.ts';
import { movesOf } from './moves.ts';
import { drawn, expectNothingWrong, proofReading, talked } from './talked.ts';
import { wild } from './wild.ts';

/** How many conversations of each kind; all of them together take about a minute on one core. */
const runs = {
  planned: 300,
  wild: 3000,
  rude: 2000,
  energies: 300,
  television: 300,
  ends: 600,
  televisionEnds: 120,
};
const seed = 20_260_301;

const television = Flow.parse(
  parse(readFileSync(join(import.meta.dirname, '../../flows/flat-panel-tv.yaml'), 'utf8')),
);

const asking = (level: Level | null): Person[] => {
  const { asker, mender, moderator, stranger } = people;
  // The fifth is somebody whose name a program could trip over.
  const odd: Person = { id: 'constructor', name: '__proto__', roles: ['mender'] };
  // The sixth is called what the desk calls itself.
  const namesake: Person = { id: 'desk', name: 'desk', level: 'trained', roles: ['moderator'] };
  return [level ? { ...asker, level } : asker, mender, moderator, stranger, odd, namesake];
};
const level = fc.constantFrom<(Level | null)[]>(null, null, 'new', 'handy', 'trained', 'trained');
const words = fc.constantFrom(
  '',
  'it hums',
  'it lights up but it is silent',
  'there was smoke',
  'maybe it sparked?',
  'nothing',
);

interface Kind {
  readonly flow: Flow;
  readonly settings: (salt: number) => Settings;
  readonly numRuns: number;
  /** How many moves of ten help. */
  readonly calm: number;
  readonly longest: number;
}

function hold({ flow, settings: ofSettings, numRuns, calm, longest }: Kind): void {
  const moves = fc.array(movesOf(flow, calm), { minLength: 5, maxLength: longest, size: 'max' });
  fc.assert(
    fc.property(level, words, fc.nat({ max: 1000 }), moves, (vouched, first, salt, played) => {
      expectNothingWrong(converse(flow, ofSettings(salt), asking(vouched), first, played));
    }),
    { numRuns, seed },
  );
}

describe('whatever people do, nobody is asked what they may not do, and every turn adds up', () => {
  test('with the plan', () =>
    hold({ flow: radio, settings: () => settings, numRuns: runs.planned, calm: 7, longest: 60 }));
  test('with a plan that knows no rules', () =>
    hold({ flow: radio, settings: wild, numRuns: runs.wild, calm: 7, longest: 70 }));
  test('among people who help with little', () =>
    hold({ flow: radio, settings: wild, numRuns: runs.rude, calm: 2, longest: 40 }));
  test('with the television', () =>
    hold({ flow: television, settings: wild, numRuns: runs.television, calm: 8, longest: 70 }));

  test('with findings and numbers that make power dangerous', () => {
    const bare = { why: 'A wire lies bare.', until: ['reseat'] };
    const dangerous: Flow['checks'] = radio.checks.map((check) => {
      if (check.outcomes && ['knob-feel', 'lead-look'].includes(check.id))
        return {
          ...check,
          outcomes: check.outcomes.map((one) =>
            one.id === 'no' ? { ...one, unsafe: { ...bare, until: ['lead-look', 'reseat'] } } : one,
          ),
        };
      if (!check.reading) return check;
      const bands = check.reading.bands.map((band, i) => (i === 0 ? { ...band, unsafe: bare } : band));
      return { ...check, reading: { ...check.reading, bands } };
    });
    // Without an answer for it, "not sure" about the kind is for people.
    const details = radio.details.map((detail) => ({
      ...detail,
      choices: detail.choices.filter((choice) => !choice.not_known),
    }));
    const flow = { ...radio, checks: dangerous };
    hold({ flow, settings: wild, numRuns: runs.energies, calm: 8, longest: 60 });
    hold({ flow: { ...flow, details }, settings: wild, numRuns: runs.energies, calm: 4, longest: 40 });
  });

  test('with an appliance that has two covers beside each other', () => {
    const [back, chassis] = radio.access as [Flow['access'][0], Flow['access'][0]];
    const { behind: _, ...base } = { ...chassis, id: 'base-off' };
    const beneath = ['lead-look', 'reseat', 'rail'];
    const moved = <T extends { id: string; access: string }>(steps: readonly T[]): T[] =>
      steps.map((step) => (beneath.includes(step.id) ? { ...step, access: 'base-off' } : step));
    hold({
      flow: {
        ...radio,
        access: [back, chassis, base],
        checks: moved(radio.checks),
        remedies: moved(radio.remedies),
      },
      settings: wild,
      numRuns: runs.energies,
      calm: 8,
      longest: 60,
    });
  });

  const proof = [
    { id: 'held', name: 'Held', how: 'Hold it down.' },
    { id: 'locked', name: 'Locked', how: 'Put the pin in.' },
  ];
  test.each<Flow['energy']>([
    { stores: 'none' },
    { stores: 'spring', wait_minutes: 0, minutes: 2, proof, source: 'invented' },
    { stores: 'heat', wait_minutes: 45, minutes: 2, proof: proof.slice(0, 1), source: 'invented' },
  ])('with an appliance that stores $stores', (energy) =>
    hold({ flow: { ...radio, energy }, settings: wild, numRuns: runs.energies, calm: 8, longest: 60 }),
  );
});

describe('a conversation ends', () => {
  test('with the radio within 200 turns, whatever is answered', () => {
    const ends = Array.from({ length: runs.ends }, (_, i) => drawn(radio, i, 200).scene.kase.state);
    // Both ends are reached, so that the bound was not kept by giving up at once.
    expect(new Set(ends)).toEqual(new Set(['settled', 'with people']));
  });

  test('with the television within 250 turns, whatever is answered', () => {
    const ends = Array.from(
      { length: runs.televisionEnds },
      (_, i) => drawn(television, i, 250).scene.kase.state,
    );
    expect(new Set(ends)).toEqual(new Set(['settled', 'with people']));
  });

  const stubborn: readonly (readonly [string, (ask: Ask) => object])[] = [
    ['the first answer', (ask) => ({ kind: 'chose', answer: ask.choices[0]?.id, of: ask.key })],
    [
      'the second answer',
      (ask) => ({ kind: 'chose', answer: (ask.choices[1] ?? ask.choices[0])?.id, of: ask.key }),
    ],
    [
      'the last answer',
      (ask) => ({
        kind: 'chose',
        answer: ask.choices.findLast(({ id }) => id !== 'danger')?.id,
        of: ask.key,
      }),
    ],
    ['“not sure”', () => ({ kind: 'asked', what: 'unsure' })],
    ['“can’t do this”', () => ({ kind: 'asked', what: 'cannot' })],
  ];
  test.each(
    stubborn.flatMap(([name, answer]) =>
      (['new', 'handy', 'trained'] as const).map((vouched) => [name, vouched, answer] as const),
    ),
  )('with somebody who always gives %s, %s', (_, vouched, answer) => {
    talked(
      radio,
      { ...people.asker, level: vouched },
      (ask) =>
        (ask.reading && ask.phase === 'safety'
          ? { kind: 'measured', reading: proofReading(ask) }
          : answer(ask)) as Pick<Inbound, 'kind'>,
      200,
    );
  });
});
