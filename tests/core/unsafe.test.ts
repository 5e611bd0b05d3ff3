import { describe, expect, test } from 'vitest';
import type { Case } from '../../shared/case.ts';
import type { Flow, ReadingModel } from '../../shared/flow.ts';
import { gate } from '../../src/core/safety.ts';
import { following, newTalk, type Talk, type Voice } from '../conversations/thread.ts';
import { people, radio, settings } from './example-flow.ts';

/** What was seen may make it dangerous to switch on: then nobody is asked to, until it was put right. */

const outside = radio.checks.find(
  ({ access, power, outcomes }) => access === 'outside' && power === 'off' && outcomes,
);
const look = outside ?? radio.checks.find(({ access, outcomes }) => access === 'outside' && outcomes);
if (!look?.outcomes) throw new Error('the radio has no check from outside');
const [bad] = look.outcomes;
if (!bad) throw new Error('no outcome');
const inside = radio.remedies.find(({ access, part }) => access !== 'outside' && !part)?.id ?? '';
const withUnsafe = (until: string[]): Flow => ({
  ...radio,
  checks: radio.checks.map((check) =>
    check.id === look.id
      ? {
          ...check,
          outcomes: check.outcomes?.map((one) =>
            one.id === bad.id ? { ...one, unsafe: { why: 'A wire lies bare.', until } } : one,
          ),
        }
      : check,
  ),
});
const powering = radio.checks.filter(({ power }) => power !== 'off');

test('after such a finding the gate lets nothing pass that powers it, and all else as before', () => {
  const flow = withUnsafe([]);
  const talk = newTalk({ flow, settings: following(look.id) });
  const asker = talk.as({ ...people.asker, level: 'trained' });
  asker.says('It lights up but is silent');
  asker.taps('silent');
  asker.taps('solid');
  expect(talk.kase.question?.step).toBe(look.id);
  expect(gate({ kind: 'test', step: 'test' }, talk.kase, flow, talk.at, false)).toBeNull();
  asker.taps(bad.id);
  for (const { id } of powering)
    expect([id, gate({ kind: 'check', step: id }, talk.kase, flow, talk.at, false)?.why]).toEqual([
      id,
      expect.any(String),
    ]);
  expect(gate({ kind: 'test', step: 'test' }, talk.kase, flow, talk.at, false)).toEqual({
    why: 'unsafe',
    words: 'A wire lies bare.',
  });
  for (const { id } of radio.remedies.filter(({ access }) => access === 'outside'))
    expect(gate({ kind: 'do', step: id }, talk.kase, flow, talk.at, false)?.why).toBe('unsafe');
});

test('the plan asks for nothing that powers it, and people get the case where nothing else is left', () => {
  const flow = withUnsafe([]);
  const talk = newTalk({ flow, settings });
  const asker = talk.as({ ...people.asker, level: 'new' });
  asker.says('It lights up but is silent');
  asker.taps('silent');
  asker.taps('solid');
  talk.as(people.mender).does({ what: 'result', step: look.id, answer: bad.id });
  for (let turn = 0; turn < 20 && talk.kase.state === 'asking'; turn++) {
    const step = talk.kase.question?.step ?? '';
    expect(powering.map(({ id }) => id)).not.toContain(step);
    asker.asks('cannot');
  }
  expect(talk.kase.state).toBe('with people');
});

test('the remedy that puts it right may be done, and after it power may come back', () => {
  const flow = withUnsafe([inside]);
  const talk = newTalk({ flow, settings: following(look.id, inside) });
  const asker = talk.as(people.asker);
  asker.says('It lights up but is silent');
  for (const tap of ['silent', 'solid', bad.id]) asker.taps(tap);
  for (const tap of ['handy', 'light', 'yes', 'unplugged']) asker.taps(tap);
  talk.later(20).rings();
  asker.taps('opened');
  for (const volts of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) asker.measures(volts);
  expect(gate({ kind: 'test', step: 'test' }, talk.kase, flow, talk.at, false)?.why).toBe('unsafe');
  asker.taps('done');
  asker.taps('shut');
  expect(talk.kase.question?.step).toBe('test');
  asker.taps('works');
  expect(talk.kase.outcome).toMatchObject({ outcome: 'Fixed' });
});

test('however badly it fits the other answers, the desk takes no such finding back by itself', () => {
  const flow: Flow = {
    ...radio,
    checks: radio.checks.map((check) => {
      if (check.id !== 'knob-feel' || !check.outcomes) return check;
      const unsafe = { why: 'A wire lies bare.', until: [] };
      return {
        ...check,
        outcomes: check.outcomes.map((one) =>
          one.id === 'no' ? { ...one, unsafe } : { ...one, likely: { 'big-can-dry': 0.01, otherwise: 0.99 } },
        ),
      };
    }),
  };
  const plan = following('dial-lamp', 'knob-feel', 'lead-look');
  const talk = newTalk({ flow, settings: { ...plan, community: { ...plan.community, conflict: 0.5 } } });
  const asker = talk.as(people.asker);
  asker.says('It lights up but is silent');
  for (const tap of ['silent', 'solid', 'yes', 'no']) asker.taps(tap);
  expect(talk.kase.answers.at(-1)).toMatchObject({ step: 'knob-feel', outcome: 'no' });
  expect(talk.kase.doubted).toEqual([]);
  expect(gate({ kind: 'test', step: 'test' }, talk.kase, flow, talk.at, false)?.why).toBe('unsafe');
});

describe('a number may say it, too', () => {
  const leak = { why: 'Current reaches the metal.', until: [inside] };
  const withBands = (over: Partial<ReadingModel> = {}): Flow => ({
    ...radio,
    energy: { stores: 'none' },
    checks: radio.checks.map((check) =>
      check.reading && check.id === 'speaker-ohms'
        ? {
            ...check,
            access: 'outside',
            reading: {
              ...check.reading,
              bands: [
                { id: 'low', label: 'Under 5 ohm', below: 5, unsafe: leak },
                { id: 'good', label: '5 to 50 ohm', below: 50 },
                { id: 'broken', label: '50 ohm or more', unsafe: { why: 'It lies bare.', until: [] } },
              ],
              ...over,
            },
          }
        : check,
    ),
  });
  const measuring = (flow = withBands()): { talk: Talk; asker: Voice } => {
    const talk = newTalk({ flow, settings: following('speaker-ohms', 'knob-feel') });
    const asker = talk.as(people.asker);
    asker.says('It lights up but is silent');
    for (const tap of ['silent', 'solid']) asker.taps(tap);
    expect(talk.kase.question?.step).toBe('speaker-ohms');
    return { talk, asker };
  };
  const testing = (talk: Talk, flow = withBands()) =>
    gate({ kind: 'test', step: 'test' }, talk.kase, flow, talk.at, false);

  test.each([
    ['0', leak.why],
    ['4.99', leak.why],
    ['5', null],
    ['49', null],
    ['50', 'It lies bare.'],
    ['OL', 'It lies bare.'],
  ])('%s ohm', (typed, words) => {
    const { talk, asker } = measuring();
    asker.measures(typed);
    expect(talk.kase.answers.at(-1)).toMatchObject({ step: 'speaker-ohms' });
    expect(testing(talk)).toEqual(words === null ? null : { why: 'unsafe', words });
  });

  test('who has no number to tell has found no danger', () => {
    const plain = withBands();
    const checks = plain.checks.map((one) =>
      one.id === 'speaker-ohms' ? { ...one, tools: ['Meter'] } : one,
    );
    const flow = { ...plain, checks };
    const { talk, asker } = measuring(flow);
    asker.asks('unsure');
    expect(testing(talk, flow)).toBeNull();
  });

  test('a tap on the band counts as much', () => {
    const { talk, asker } = measuring();
    asker.taps('low');
    expect(testing(talk)).toEqual({ why: 'unsafe', words: leak.why });
  });

  test('taken back it holds no longer, and measured again the second number counts', () => {
    const { talk, asker } = measuring();
    asker.measures('1.5 ohm');
    asker.asks('undo');
    expect(testing(talk)).toBeNull();
    asker.measures('2 ohm');
    expect(testing(talk)?.why).toBe('unsafe');
    const mender = talk.as(people.mender);
    mender.does({ what: 'result', step: 'speaker-ohms', answer: '8 ohm' });
    expect(testing(talk)).toBeNull();
    mender.does({ what: 'result', step: 'speaker-ohms', answer: '3 ohm' });
    expect(testing(talk)?.why).toBe('unsafe');
  });

  test('the remedy lifts its own danger only', () => {
    const { talk, asker } = measuring();
    asker.measures('1.5 ohm');
    const done = (seq: number) =>
      ({
        ...talk.kase,
        answers: [...talk.kase.answers, { ...stamp, seq, kind: 'remedy-done', step: inside }],
      }) as Case;
    const stamp = { by: people.asker.id, at: talk.at, level: 'trained' };
    const after = talk.kase.answers.at(-1)?.seq ?? 0;
    expect(gate({ kind: 'test', step: 'test' }, done(after + 1), withBands(), talk.at, false)).toBeNull();
    expect(gate({ kind: 'test', step: 'test' }, done(after - 1), withBands(), talk.at, false)?.why).toBe(
      'unsafe',
    );
    asker.asks('undo');
    asker.measures('70 ohm');
    expect(gate({ kind: 'test', step: 'test' }, done(99), withBands(), talk.at, false)?.why).toBe('unsafe');
  });

  test('next to an edge at the peak of the mains, which a flow does not know, both bands count', () => {
    const flow = withBands({
      bands: [
        { id: 'low', label: 'Low', below: 'mains-peak', unsafe: leak },
        { id: 'peak', label: 'Peak', below: 400 },
        { id: 'high', label: 'High' },
      ],
    });
    for (const [ohms, why] of [
      ['300', 'unsafe'],
      ['399', 'unsafe'],
      ['400', undefined],
    ] as const) {
      const { talk, asker } = measuring(flow);
      asker.measures(ohms);
      expect([ohms, testing(talk, flow)?.why]).toEqual([ohms, why]);
    }
  });
});

describe('a look that left a doubt', () => {
  const doubt = (what: 'unsure' | 'cannot', tools: string[]) => {
    const plain = withUnsafe([inside]);
    const flow = {
      ...plain,
      checks: plain.checks.map((check) => (check.id === look.id ? { ...check, tools } : check)),
    };
    const talk = newTalk({ flow, settings: following(look.id, 'lead-look') });
    const asker = talk.as({ ...people.asker, level: 'trained' });
    asker.says('It lights up but is silent');
    for (const tap of ['silent', 'solid']) asker.taps(tap);
    asker.asks(what);
    return { talk, asker, flow };
  };
  test.each([
    ['unsure', [], true],
    ['unsure', ['Meter'], true],
    ['cannot', [], true],
    // Without the meter nobody looked: nothing is known, as before it was asked.
    ['cannot', ['Meter'], false],
  ] as const)('%s, with the tools %j', (what, tools, held) => {
    const { talk, flow } = doubt(what, [...tools]);
    const refused = gate({ kind: 'test', step: 'test' }, talk.kase, flow, talk.at, false);
    expect(refused?.why).toBe(held ? 'unsafe' : undefined);
    if (!held) return;
    expect(refused).toHaveProperty('words', expect.stringContaining(look.name));
    expect(talk.sent).toContainEqual(
      expect.objectContaining({ kind: 'say', words: expect.stringContaining('unplugged') }),
    );
  });

  test('holds until it was looked at, or taken back', () => {
    const { talk, flow } = doubt('unsure', []);
    const good = look.outcomes?.find(({ id }) => id !== bad.id)?.id ?? '';
    talk.as(people.mender).does({ what: 'result', step: look.id, answer: good });
    expect(gate({ kind: 'test', step: 'test' }, talk.kase, flow, talk.at, false)).toBeNull();
    const second = doubt('unsure', []);
    second.asker.asks('undo');
    expect(gate({ kind: 'test', step: 'test' }, second.talk.kase, flow, second.talk.at, false)).toBeNull();
  });
});

describe('a question before work begins that nobody could answer', () => {
  const [kind, ...others] = radio.details as [Flow['details'][number], ...Flow['details']];
  const choices = kind.choices.filter(({ id }) => id !== 'not-known');
  const begun = (flow: Flow) => {
    const talk = newTalk({ flow, settings });
    const asker = talk.as({ ...people.asker, level: 'trained' });
    asker.says('It lights up but is silent');
    asker.taps('silent');
    expect(talk.kase.question?.step).toBe('kind');
    return { talk, asker };
  };
  for (const control of ['unsure', 'cannot'] as const) {
    test(`${control}: one of its answers ends the desk's part, so people get it, and it is asked again when they hand it back`, () => {
      const { talk, asker } = begun({ ...radio, details: [{ ...kind, choices }, ...others] });
      asker.asks(control);
      expect(talk.kase.state).toBe('with people');
      expect(talk.kase.question).toBeNull();
      expect(talk.sent).toContainEqual(
        expect.objectContaining({ kind: 'say', words: expect.stringContaining('Do what the maker says.') }),
      );
      talk.as(people.mender).does({ what: 'back' });
      expect(talk.kase.question?.step).toBe('kind');
      asker.taps('solid');
      expect(talk.kase.state).toBe('asking');
    });

    test(`${control}: said by a slip, it is asked again when they hand it back`, () => {
      const { talk, asker } = begun(radio);
      asker.taps('recalled');
      expect(talk.kase.state).toBe('with people');
      talk.as(people.mender).does({ what: 'back' });
      expect(talk.kase.question?.step).toBe('kind');
      asker.asks(control);
      expect(talk.kase.state).toBe('asking');
    });

    test(`${control}: none of them does, and it stays shut`, () => {
      const harmless = choices.filter(({ stop }) => !stop);
      const flow = { ...radio, details: [{ ...kind, choices: harmless }, ...others] };
      const { talk, asker } = begun(flow);
      asker.asks(control);
      expect(talk.kase.state).toBe('asking');
      expect(gate({ kind: 'open', step: 'back-off' }, talk.kase, flow, talk.at, false)).toEqual({
        why: 'unknown-limit',
        detail: 'kind',
      });
    });

    test(`${control}: the flow has an answer for it, and that is what is written down`, () => {
      const { talk, asker } = begun(radio);
      asker.asks(control);
      expect(talk.kase.answers.at(-1)).toMatchObject({ kind: 'detail-stated', choice: 'not-known' });
      expect(talk.sent).toContainEqual(
        expect.objectContaining({ kind: 'say', words: 'It stays closed until somebody knows.' }),
      );
      expect(talk.kase.state).toBe('asking');
    });
  }
});
