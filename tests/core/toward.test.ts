import { describe, expect, test } from 'vitest';
import type { Case } from '../../shared/case.ts';
import type { Decide } from '../../src/core/settings.ts';
import { tablesOf } from '../../src/core/step.ts';
import { random } from '../../src/rehearsal/random.ts';
import { runCase } from '../../src/rehearsal/run.ts';
import { drawTruth } from '../../src/rehearsal/truth.ts';
import { inOrder, newTalk, type Talk, type Voice } from '../conversations/thread.ts';
import { people, radio, settings } from './example-flow.ts';

/** A plan searched only so far may want one step while the covers are on and another while they are off. */

const byCovers =
  (on: readonly string[], off: readonly string[]): Decide =>
  (compiled, kase, budget) =>
    inOrder(...(kase.world.open.length === 0 ? on : off))(compiled, kase, budget);

function opened(decide: Decide): { talk: Talk; asker: Voice } {
  const talk = newTalk({ settings: { ...settings, decide } });
  const asker = talk.as({ ...people.asker, level: 'handy' });
  asker.says('It lights up but is silent');
  for (const answer of ['silent', 'solid', 'light', 'yes', 'unplugged']) asker.taps(answer);
  talk.later(20).rings();
  asker.taps('opened');
  for (const volts of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) asker.measures(volts);
  return { talk, asker };
}

describe('covers', () => {
  test('that came off for a step wait for that step', () => {
    const { talk, asker } = opened(byCovers(['lead-look'], ['dial-lamp']));
    expect(talk.ask).toMatchObject({ phase: 'check', step: 'lead-look' });
    // Something was learnt: now the plan counts again.
    asker.taps('no');
    expect(talk.ask).toMatchObject({ step: 'shut' });
  });

  test('that went on for a step do not come off again before it', () => {
    const { talk, asker } = opened(byCovers(['lead-look', 'speaker-ohms'], ['dial-lamp']));
    asker.taps('no');
    asker.taps('shut');
    expect(talk.ask).toMatchObject({ phase: 'check', step: 'dial-lamp' });
  });

  test('that went on for a test are followed by the test', () => {
    const { talk, asker } = opened(byCovers(['reseat', 'lead-look'], []));
    expect(talk.ask).toMatchObject({ phase: 'do', step: 'reseat' });
    asker.taps('done');
    asker.taps('shut');
    expect(talk.ask).toMatchObject({ phase: 'test' });
  });

  test('wait for nothing once somebody cannot do it', () => {
    const { talk, asker } = opened(byCovers(['lead-look'], ['knob-feel']));
    asker.asks('cannot');
    expect(talk.ask).toMatchObject({ step: 'knob-feel' });
  });
});

test('however fickle the plan is, cases end, and no cover comes off twice with nothing learnt between', () => {
  const tables = tablesOf(radio, settings);
  let inside = 0;
  for (let index = 0; index < 150; index++) {
    const decide: Decide = (compiled, kase, budget) => {
      const { open, charged, pending, done } = compiled.state;
      const draw = random('fickle', index, open, String(charged), done.join(), pending.join());
      const order = compiled.steps.toSorted(() => draw.next() - 0.5);
      return inOrder(...order.slice(0, 6))(compiled, kase, budget);
    };
    const asked = new Map<string, number>();
    const turn = ({ question, answers }: Case): void => {
      if (question?.kind !== 'open') return;
      const once = `${question.step} after ${answers.at(-1)?.seq}`;
      asked.set(once, (asked.get(once) ?? 0) + 1);
    };
    runCase(radio, { ...settings, decide }, drawTruth(tables, 3, index, 0.2, 0.95), 'trained', { turn });
    expect(Math.max(0, ...asked.values())).toBeLessThanOrEqual(1);
    inside += asked.size;
  }
  expect(inside).toBeGreaterThan(100);
});
