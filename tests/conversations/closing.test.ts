import { describe, expect, test } from 'vitest';
import { Flow } from '../../shared/flow.ts';
import { people, radio, settings } from '../core/example-flow.ts';
import { following, newTalk, type Talk, type Voice } from './thread.ts';

/** What was open is tested before it goes home, or said not to have been. Limits: see `closing-limits.test.ts`. */

const protection = (classes: readonly (1 | 2 | 3)[]) => ({
  classes: [...classes],
  function: 'It plays for a while.',
  source: 'invented for the tests',
});
const earthed = Flow.parse({ ...radio, protection: protection([1]), closing: ['Nothing is left inside.'] });
const either = Flow.parse({ ...radio, protection: protection([2, 1]) });
const ben = { ...people.asker, name: 'Ben' };

function mended(flow: Flow, code = 'DEU'): { talk: Talk; asker: Voice } {
  const { community } = settings;
  const told = {
    ...following('reseat'),
    community: { ...community, country: { ...community.country, code } },
  };
  const talk = newTalk({ flow, settings: told });
  const asker = talk.as(ben);
  asker.says('It lights up but is silent');
  for (const tap of ['silent', 'solid', 'handy', 'light', 'yes', 'unplugged']) asker.taps(tap);
  talk.later(20).rings();
  asker.taps('opened');
  for (const volts of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) asker.measures(volts);
  for (const tap of ['done', 'shut', 'works']) asker.taps(tap);
  return { talk, asker };
}

const said = (talk: Talk): string =>
  talk.sent
    .map((one) => (one.kind === 'settle' || one.kind === 'handover' ? `${one.words}\n${one.card}` : ''))
    .join('\n');

test('with a tester it is looked over, measured and run, and goes home as passed', () => {
  const { talk, asker } = mended(earthed);
  expect(talk.ask).toMatchObject({ step: 'tester', phase: 'safety' });
  expect(talk.ask?.plan).toBeUndefined();
  asker.taps('here');
  expect(talk.ask?.step).toBe('visual');
  expect(talk.ask?.how).toContain('Nothing is left inside.');
  asker.taps('passed');
  expect(talk.ask?.step).toBe('lead');
  asker.taps('2');
  expect(talk.ask?.how.join(' ')).toContain('0.3 ohm or less');
  asker.says('0.21');
  expect(talk.ask?.how.join(' ')).toContain('1 Mohm or more');
  expect(talk.ask?.hazards).toMatchObject([{ word: 'WARNING' }]);
  asker.says('>200 Mohm');
  expect(talk.ask).toMatchObject({ step: 'function', how: ['It plays for a while.'] });
  expect(talk.kase.state).toBe('asking');
  asker.taps('passed');
  expect(talk.kase.outcome).toMatchObject({ outcome: 'Fixed', safety: 'passed' });
  expect(said(talk)).toContain('It has passed its electrical test.');
  expect(said(talk)).toContain('Earth: 0.21 ohm');
});

test('without one it is fixed and not tested, and the job card says so', () => {
  const { talk, asker } = mended(earthed);
  asker.taps('none');
  expect(talk.kase.outcome).toMatchObject({ outcome: 'Fixed', safety: 'not done' });
  expect(said(talk)).toContain('fixed, but not tested');
  expect(said(talk)).toContain('Electrical test not done.');
});

test('who cannot do it has not tested it', () => {
  const { talk, asker } = mended(earthed);
  asker.taps('here');
  asker.taps('passed');
  asker.taps('2');
  asker.asks('unsure');
  expect(talk.kase.outcome).toMatchObject({ outcome: 'Fixed', safety: 'not done' });
});

describe('what fails is not fixed and does not go home in use', () => {
  test.each([
    ['the look', ['failed']],
    ['the earth', ['passed', '2', '0.31 ohm']],
    ['an earth that is not connected', ['passed', '2', 'OL']],
    ['the insulation', ['passed', '2', '0.1 ohm', '0.9']],
    ['insulation typed in kilohm', ['passed', '2', '0.1 ohm', '900k']],
    ['the function', ['passed', '2', '0.1 ohm', '20 Mohm', 'failed']],
  ])('%s', (_, answers) => {
    const { talk, asker } = mended(earthed);
    asker.taps('here');
    for (const answer of answers)
      /\d|OL/.test(answer) && answer !== '2' ? asker.says(answer) : asker.taps(answer);
    expect(talk.kase.state).toBe('with people');
    expect(talk.kase.handover?.reason).toBe('failed-test');
    expect(talk.kase.outcome).toBeNull();
    expect(said(talk)).toContain('does not go home in use');
    talk.as(people.mender).does({ what: 'settle', outcome: 'Fixed' });
    expect(talk.kase.state).toBe('with people');
    talk.as(people.mender).does({ what: 'settle', outcome: 'Repairable' });
    expect(talk.kase.outcome).toMatchObject({ outcome: 'Repairable' });
    expect(talk.kase.outcome?.safety).toBeUndefined();
  });
});

test('a number typed wrong is asked again, and undo takes one back', () => {
  const { talk, asker } = mended(earthed);
  for (const tap of ['here', 'passed', '2']) asker.taps(tap);
  asker.says('about right');
  expect(talk.ask).toBeNull();
  expect(talk.kase.question?.step).toBe('earth');
  asker.says('0.9 ohm');
  expect(talk.kase.state).toBe('with people');
  const again = mended(earthed);
  for (const tap of ['here', 'passed', '2']) again.asker.taps(tap);
  again.asker.says('0.2 ohm');
  expect(again.talk.kase.question?.step).toBe('insulation');
  again.asker.asks('undo');
  expect(again.talk.kase.question?.step).toBe('earth');
});

test('where it may have an earth or not, its class is asked first, and class II is held to 2 Mohm', () => {
  const { talk, asker } = mended(either);
  asker.taps('here');
  expect(talk.ask?.step).toBe('class');
  asker.taps('2');
  asker.taps('passed');
  expect(talk.ask?.step).toBe('insulation');
  asker.says('1.5');
  expect(talk.kase.handover?.reason).toBe('failed-test');
});

test('British practice takes 0.1 ohm and the lead', () => {
  const { talk, asker } = mended(earthed, 'GBR');
  for (const tap of ['here', 'passed', '2']) asker.taps(tap);
  expect(talk.ask?.how.join(' ')).toContain('0.131 ohm or less');
  asker.says('0.14 ohm');
  expect(talk.kase.handover?.reason).toBe('failed-test');
});

test('opened again after a failed test, it is tested anew', () => {
  const { talk, asker } = mended(earthed);
  asker.taps('here');
  asker.taps('failed');
  talk.as(people.mender).does({ what: 'back' });
  expect(talk.kase.state).toBe('asking');
  expect(talk.ask?.step).toBe('tester');
});

test('a mender notes a whole test at once, and what it came to', () => {
  const { talk, asker } = mended(earthed);
  asker.asks('person');
  const mender = talk.as(people.mender);
  const test = {
    what: 'safety',
    class: '1',
    visual: 'passed',
    earth: '0.1',
    insulation: '20',
    function: 'passed',
  } as const;
  talk.as(ben).does(test);
  expect(talk.kase.answers.some(({ kind }) => kind === 'safety-tested')).toBe(false);
  mender.does({ ...test, insulation: 'fine' });
  expect(talk.kase.answers.some(({ kind }) => kind === 'safety-tested')).toBe(false);
  mender.does({ ...test, earth: '0.5' });
  mender.does({ what: 'settle', outcome: 'Fixed' });
  expect(talk.kase.state).toBe('with people');
  mender.does(test);
  mender.does({ what: 'settle', outcome: 'Fixed' });
  expect(talk.kase.outcome).toMatchObject({ outcome: 'Fixed', safety: 'passed' });
});

test('an appliance that was never open goes home without it', () => {
  const talk = newTalk({ flow: earthed, settings: following('drain') });
  const asker = talk.as(ben);
  asker.says('It lights up but is silent');
  for (const tap of ['silent', 'solid', 'done']) asker.taps(tap);
  talk.later(31).rings();
  asker.taps('works');
  expect(talk.kase.outcome).toMatchObject({ outcome: 'Fixed' });
  expect(talk.kase.outcome?.safety).toBeUndefined();
});
