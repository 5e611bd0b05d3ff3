import { expect, test } from 'vitest';
import type { Flow } from '../../shared/flow.ts';
import { gate } from '../../src/core/safety.ts';
import { following, newTalk } from '../conversations/thread.ts';
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
