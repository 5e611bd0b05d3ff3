import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Case, Question } from '../../shared/case.ts';
import { noCache } from '../../src/cache/cache.ts';
import { solve } from '../../src/core/plan/plan.ts';
import { emptyCase, fold } from '../../src/core/reduce.ts';
import { gate } from '../../src/core/safety.ts';
import type { Settings } from '../../src/core/settings.ts';
import { step, tablesOf } from '../../src/core/step.ts';
import { addCase, newTally } from '../../src/learning/counts.ts';
import { digestOf } from '../../src/learning/digest.ts';
import { teacher } from '../../src/learning/in-use.ts';
import type { Learnt } from '../../src/learning/learnt.ts';
import { accept, proposeFrom } from '../../src/learning/propose.ts';
import { createPlans } from '../../src/runtime/plans.ts';
import { newTalk, type Talk } from '../conversations/thread.ts';
import { converse } from '../core/converse.ts';
import { people, radio, settings } from '../core/example-flow.ts';
import { movesOf } from '../core/moves.ts';
import { expectNothingWrong } from '../core/talked.ts';
import { wild } from '../core/wild.ts';
import { day0, simulated } from './communities.ts';
import { strengths } from './usual-strengths.ts';

/** What a desk does with accepted numbers, and what it never does. */

const tables = tablesOf(radio, settings);
const learning = { strength: strengths, reliability: settings.community.reliability };

/** Numbers far off the file's: nearly every case was the joint, and every check showed something else. */
function faraway(): Learnt {
  const tally = newTally(null);
  for (let i = 0; i < 3000; i++)
    addCase(
      tally,
      { ...simulated(tables, { seed: 9, blur: 0.5, trust: 0.5 }, i), fault: 'joint', confirmed: 'person' },
      tables,
    );
  const proposals = proposeFrom(tables, tally, day0, learning, 'kind');
  return accept(proposals, tables, learning, { at: day0, by: 'maren' });
}
const learnt = faraway();
const digest = digestOf(learnt);
const files = { flows: [radio], settings };
const teach = teacher(files);
const taught = teach(new Map([[radio.flow, learnt]]));
const [flow = radio] = taught.flows;

describe('the numbers in use', () => {
  test('are named in the settings, and the same ones give the same flow', () => {
    expect(digest).toMatch(/^[0-9a-f]{12}$/);
    expect(taught.settings.numbers).toEqual(new Map([[radio.flow, digest]]));
    expect(flow).not.toBe(radio);
    expect(teach(new Map([[radio.flow, structuredClone(learnt)]])).flows[0]).toBe(flow);
    expect(
      digestOf({ ...learnt, at: 5, by: 'another', distributions: learnt.distributions.toReversed() }),
    ).toBe(digest);
    expect(digestOf({ ...learnt, trust: 0.94 })).not.toBe(digest);
    const back = teach(new Map());
    expect(back.flows).toEqual([radio]);
    expect(back.flows[0]).toBe(radio);
    expect(back.settings.numbers?.size).toBe(0);
  });

  test('of another version of the flow are not used, and not named', () => {
    const stale = teach(new Map([[radio.flow, { ...learnt, version: radio.version + 1 }]]));
    expect(stale.flows[0]).toBe(radio);
    expect(stale.settings.numbers?.size).toBe(0);
  });

  test('are those of the library, too, from which a flow is chosen', () => {
    const library = { flows: [radio, { ...radio, flow: 'other' }], find: () => [] };
    const both = teacher({ flows: library.flows, settings: { ...settings, library } })(
      new Map([[radio.flow, learnt]]),
    );
    expect(both.settings.library?.flows).toBe(both.flows);
    expect(both.flows[1]).toBe(library.flows[1]);
  });
});

describe('a case’s journal', () => {
  const began = (given: Settings, of = flow): Talk => {
    const talk = newTalk({ flow: of, settings: given });
    talk.as(people.asker).says('it is silent');
    return talk;
  };
  const numbersIn = (talk: Talk): string[] =>
    talk.events.flatMap((event) => (event.kind === 'numbers-taken' ? [event.numbers] : []));

  test('says once which accepted numbers it goes by, when the flow is taken', () => {
    const talk = began(taught.settings);
    for (const tap of ['silent', 'solid', 'yes']) talk.as(people.asker).taps(tap);
    const at = talk.events.findIndex(({ kind }) => kind === 'flow-taken');
    expect(at).toBeGreaterThanOrEqual(0);
    expect(talk.events.slice(at).some(({ kind }) => kind === 'numbers-taken')).toBe(true);
    expect(numbersIn(talk)).toEqual([digest]);
    expect(talk.kase.numbers).toBe(digest);
    expect(fold(emptyCase('thread'), talk.events)).toEqual(talk.kase);
  });

  test('says nothing where the file’s are used, as journals from before do', () => {
    const talk = began(settings, radio);
    expect(numbersIn(talk)).toEqual([]);
    expect(talk.kase.numbers).toBe('file');
  });

  test('says so when a case under way goes on by others, and what was proven and answered stays', () => {
    const before = began(settings, radio);
    for (const tap of ['silent', 'solid', 'yes']) before.as(people.asker).taps(tap);
    const inbound = {
      kind: 'asked',
      what: 'where',
      id: 'w',
      thread: 'thread',
      at: before.at,
      by: people.asker,
    } as const;
    const { events, after } = step(before.kase, inbound, flow, taught.settings);
    expect(events.map(({ kind }) => kind)).toEqual(['numbers-taken']);
    const { numbers: _, seq: __, ...rest } = after;
    const { numbers: ___, seq: ____, ...was } = before.kase;
    expect(rest).toEqual(was);
    const back = step(after, inbound, radio, settings);
    expect(back.events).toMatchObject([{ kind: 'numbers-taken', numbers: 'file' }]);
    expect(step(after, inbound, flow, taught.settings).events).toEqual([]);
  });

  test('of a settled case is left as it is', () => {
    const talk = began(settings, radio);
    talk.as(people.mender).does({ what: 'settle', outcome: 'Repairable', fault: 'joint' });
    const inbound = { kind: 'asked', what: 'where', id: 'w', thread: 'thread', at: talk.at } as const;
    expect(step(talk.kase, { ...inbound, by: people.asker }, flow, taught.settings).events).toEqual([]);
  });
});

describe('what is safe', () => {
  const topics: Pick<Question, 'kind' | 'step'>[] = [
    ...radio.checks.flatMap(({ id }) => [
      { kind: 'check' as const, step: id },
      { kind: 'live' as const, step: id },
    ]),
    ...radio.remedies.map(({ id }) => ({ kind: 'do' as const, step: id })),
    ...radio.access.map(({ id }) => ({ kind: 'open' as const, step: id })),
    ...['test', 'shut', 'unplug', 'wait', 'closing'].map((kind) => ({
      kind: kind as 'test',
      step: kind,
    })),
  ];

  test('is never a question of numbers: the gate says the same by learnt ones, wherever a case stands', () => {
    const level = fc.constantFrom('new', 'handy', 'trained');
    const moves = fc.array(movesOf(radio, 7), { minLength: 5, maxLength: 60, size: 'max' });
    let asked = 0;
    let refused = 0;
    fc.assert(
      fc.property(level, fc.nat({ max: 1000 }), moves, (vouched, salt, played) => {
        const asking = [{ ...people.asker, level: vouched }, people.mender, people.moderator];
        const talk = converse(radio, wild(salt), asking, 'it is silent', played);
        const cases: Case[] = [talk.scene.kase, fold(emptyCase('thread'), talk.events.slice(0, 20))];
        for (const kase of cases)
          for (const topic of topics) {
            const says = gate(topic, kase, radio, talk.scene.at, false);
            expect(gate(topic, kase, flow, talk.scene.at, false)).toEqual(says);
            asked++;
            if (says !== null) refused++;
          }
      }),
      { numRuns: 150, seed: 20_261_003 },
    );
    expect(refused).toBeGreaterThan(asked / 10);
    expect(asked - refused).toBeGreaterThan(asked / 20);
  });

  test('holds in whole conversations by learnt numbers, whatever people do', () => {
    const moves = fc.array(movesOf(flow, 7), { minLength: 5, maxLength: 60, size: 'max' });
    fc.assert(
      fc.property(fc.nat({ max: 1000 }), moves, (salt, played) => {
        const given = { ...wild(salt), numbers: taught.settings.numbers };
        const asking = [people.asker, people.mender, people.moderator, people.stranger];
        expectNothingWrong(converse(flow, given as Settings, asking, 'it is silent', played));
      }),
      { numRuns: 300, seed: 20_261_004 },
    );
  });

  test('a sign of danger stops everything as it does by the file’s numbers', () => {
    for (const [of, given] of [
      [radio, settings],
      [flow, taught.settings],
    ] as const) {
      const talk = newTalk({ flow: of, settings: given });
      talk.as(people.asker).says('it is silent');
      talk.as(people.asker).says('there is smoke coming out of it');
      expect(talk.events.some(({ kind }) => kind === 'flagged')).toBe(true);
      expect(talk.sent.some(({ kind }) => kind === 'warn')).toBe(true);
    }
  });
});

describe('plans', () => {
  test('by other numbers are other plans, in memory and in every cache', async () => {
    const put: string[] = [];
    const cache = { ...noCache, put: (_: unknown, key: string) => void put.push(key) };
    const plans = createPlans({
      settings,
      cache: cache as typeof noCache,
      solve: async (problem, state, budget) => solve(problem, state, budget),
      notify: () => undefined,
    });
    const opened = {
      kind: 'opened',
      words: 'it is silent',
      place: '',
      id: 'o',
      thread: 'thread',
      at: 1,
      by: { ...people.asker, level: 'handy' },
    } as const;
    const first = async (of: typeof radio, given: Settings) => {
      const one = await plans.decided(of, (s) => step(emptyCase('thread'), opened, of, s), given);
      const tap = {
        kind: 'chose',
        answer: 'silent',
        id: 't',
        thread: 'thread',
        at: 2,
        by: opened.by,
      } as const;
      return plans.decided(of, (s) => step(one.after, tap, of, s), given);
    };
    await first(radio, settings);
    const file = put.length;
    await first(flow, taught.settings);
    expect(file).toBeGreaterThan(0);
    expect(put.length).toBeGreaterThan(file);
    expect(new Set(put).size).toBe(put.length);
  });
});
