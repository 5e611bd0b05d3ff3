import { expect, test } from 'vitest';
import type { Choice } from '../../src/core/plan/problem.ts';
import type { Decide } from '../../src/core/settings.ts';
import { following, inOrder, newTalk, type Talk, type Voice } from '../conversations/thread.ts';
import { people, settings } from './example-flow.ts';

/** How a case leaves the desk. Outcomes and barriers: Open Repair Data Standard v0.3. */

const eli = { ...people.asker, name: 'Eli' };

function intake(talk: Talk, level: 'new' | 'handy'): Voice {
  const asker = talk.as({ ...eli, level });
  asker.says('It lights up but is silent');
  asker.taps('silent');
  asker.taps('solid');
  return asker;
}

test('that it works now counts for the fault that was mended', () => {
  const talk = newTalk({ settings: following('settings') });
  intake(talk, 'new').taps('works');
  const settled = talk.sent.findLast((one) => one.kind === 'settle');
  expect(settled).toMatchObject({ outcome: 'Fixed', fault: 'knob' });
  // By hand: weight · (0.9 · P(silent) + 0.1 / 4) · P(cure): knob 2 · 0.835 · 0.5 = 0.835, latched 5 · 0.655 · 0.05 =
  // 0.164, the rest together 6.66 · 0.002 (floor) = 0.013.
  expect(settled?.belief).toBeCloseTo(0.825, 2);
});

test('who is short of a meter alone is told so, and not only who else could do it', () => {
  // The best step of all is for somebody trained; this person would have looked at the lead.
  const decide: Decide = (compiled, kase, budget) =>
    inOrder(compiled.steps.includes('solder') ? 'solder' : 'lead-look')(compiled, kase, budget);
  const talk = newTalk({ settings: { ...settings, decide } });
  const asker = intake(talk, 'handy');
  asker.taps('light');
  asker.taps('no');
  const handed = talk.sent.findLast((one) => one.kind === 'handover');
  expect(handed?.words).toContain('Without a multimeter nobody can tell whether it still holds a charge');
});

test('somebody new is told who may really do the step, and not what else is missing', () => {
  const talk = newTalk({ settings: following('solder') });
  intake(talk, 'new');
  const handed = talk.sent.findLast((one) => one.kind === 'handover');
  expect(handed?.words).toContain(
    'Solder the joint. That is work inside, unplugged and proven discharged; it is for a trained mender or a licensed professional. Who can help:',
  );
});

test('a case that people were asked for promises no call that a platform could not make', () => {
  const talk = newTalk({ settings: following('knob-feel') });
  intake(talk, 'new').asks('person');
  expect(talk.sent.findLast((one) => one.kind === 'handover')?.words).toMatch(
    /^From here people take over\. /,
  );
});

test.each([
  ['too-dear', 'Spare parts too expensive'],
  ['not-found', 'Spare parts not available'],
] as const)('a part that is %s is the barrier when it goes to recycling', (why, barrier) => {
  const stop: Choice = { kind: 'stop', stop: 1 };
  const partThenStop: Decide = (compiled, kase, budget) => {
    const plan = following('new-speaker').decide?.(compiled, kase, budget);
    if (!plan) throw new Error('no plan');
    return kase.answers.some((answer) => answer.kind === 'set-aside') ? { ...plan, choice: stop } : plan;
  };
  const talk = newTalk({ settings: { ...settings, decide: partThenStop } });
  const asker = intake(talk, 'handy');
  asker.taps('young');
  asker.taps('light');
  asker.taps('yes');
  asker.taps('unplugged');
  talk.later(20).rings();
  asker.taps('opened');
  for (const volts of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) asker.measures(volts);
  expect(talk.ask).toMatchObject({ step: 'new-speaker', phase: 'part' });
  asker.taps(why);
  asker.taps('recycle');
  expect(talk.kase.outcome).toMatchObject({ outcome: 'End of life', barrier });
});
