import { describe, expect, test } from 'vitest';
import { tablesOf } from '../../src/core/step.ts';
import { type SettledCase, settledCase } from '../../src/outcomes/settled.ts';
import { estimate } from '../../src/rehearsal/statistics.ts';
import { wasCost } from '../../src/scores/cost.ts';
import { type Forecasts, forecastsOf } from '../../src/scores/forecast.ts';
import { entropy, logScore } from '../../src/scores/rules.ts';
import { summarise } from '../../src/scores/summary.ts';
import { newTalk } from '../conversations/thread.ts';
import { people, radio, settings } from '../core/example-flow.ts';
import { simulated } from './simulated.ts';

const tables = tablesOf(radio, settings);
const fault = 'speaker-lead';
const settled: SettledCase = (() => {
  const talk = newTalk();
  const asker = talk.as(people.asker);
  asker.says('It lights up but is silent');
  for (const tap of ['silent', 'solid']) asker.taps(tap);
  talk.as(people.mender).does({ what: 'settle', outcome: 'Repairable', fault });
  const one = settledCase(talk.kase, radio);
  if (!one) throw new Error('it is settled');
  return { ...one, seen: [], tried: [] };
})();
const of = (changes: Partial<SettledCase> = {}): Forecasts => {
  const forecasts = forecastsOf({ ...settled, ...changes }, radio, settings);
  if (!forecasts) throw new Error('it has a forecast');
  return forecasts;
};
const sum = (belief: Readonly<Record<string, number>>): number =>
  Object.values(belief).reduce((total, p) => total + p, 0);

describe('the forecasts of a settled case', () => {
  test('are about the same truth, and each sums to 1', () => {
    for (const one of Object.values(of({ seen: [seen('knob-feel', 'yes')] }))) {
      expect(one).toMatchObject({ truth: fault, flow: radio.flow, at: settled.settled });
      expect(sum(one.belief)).toBeCloseTo(1, 9);
    }
  });

  test('at the start go by complaint and first details, worked by hand', () => {
    // Bayes: weight · (trust · P(complaint | fault) + (1 − trust) / 4), three complaints and "another".
    const trust = settings.community.reliability.new;
    const row = tables.complaints.get('silent') as Float64Array;
    const weights = tables.faults.map(
      (_, f) => (tables.prior[f] as number) * (trust * (row[f] as number) + (1 - trust) / 4),
    );
    const total = weights.reduce((a, b) => a + b, 0);
    const { belief } = of({ seen: [seen('lead-look', 'yes', 'new')] }).start;
    for (const [f, name] of tables.faults.entries())
      expect(belief[name]).toBeCloseTo((weights[f] as number) / total, 12);
  });

  test('at the end count what was seen, measured, and tried in vain', () => {
    const { start } = of();
    const looked = of({ seen: [seen('lead-look', 'yes')] }).end;
    expect(looked.belief[fault]).toBeGreaterThan(start.belief[fault] as number);
    const measured = of({
      seen: [{ check: 'speaker-ohms', outcome: null, value: 8, level: 'handy' }],
    }).end;
    expect(measured.belief.speaker).toBeLessThan(start.belief.speaker as number);
    const inVain = of({ tried: [{ remedy: 'drain', worked: false }] }).end;
    expect(inVain.belief.latched).toBeLessThan(start.belief.latched as number);
  });

  test('do not count the remedy that worked: it is what made it known', () => {
    const tried = [{ remedy: 'drain', worked: true }];
    expect(of({ tried }).end.belief).toEqual(of().end.belief);
  });

  test('at the start count no detail that was asked for later', () => {
    const speaks = { 'speaker-lead': 0.9, otherwise: 0.2 };
    const telling = {
      ...radio,
      details: radio.details.map((detail) => ({
        ...detail,
        choices: detail.choices.map((choice) =>
          choice.id === 'solid' || choice.id === 'young' ? { ...choice, likely: speaks } : choice,
        ),
      })),
    };
    const chance = (details: SettledCase['details']) => {
      const forecasts = forecastsOf({ ...settled, details }, telling, settings);
      return [forecasts?.start.belief[fault] ?? 0, forecasts?.end.belief[fault] ?? 0] as const;
    };
    const none = chance({});
    const later = chance({ age: 'young' });
    expect(later[0]).toBe(none[0]);
    expect(later[1]).toBeGreaterThan(none[1]);
    expect(chance({ kind: 'solid' })[0]).toBeGreaterThan(none[0]);
  });

  test('of the commonest fault give the rest the floor, and of the weights are the file’s', () => {
    const { commonest, weights } = of();
    const { floor } = settings.community;
    expect(commonest.belief.latched).toBeCloseTo(1 - 7 * floor, 12);
    expect(commonest.belief.joint).toBe(floor);
    expect(weights.belief.latched).toBeCloseTo(5 / 22, 12);
  });

  test('hold learnt numbers against the file’s own', () => {
    const learnt = { ...tables, prior: Float64Array.from(tables.prior, () => 1 / tables.faults.length) };
    const forecasts = forecastsOf(settled, radio, settings, learnt);
    expect(forecasts?.file?.belief).toEqual(of().end.belief);
    expect(forecasts?.end.belief).not.toEqual(of().end.belief);
    expect(of().file).toBeUndefined();
  });

  test('are none where nobody knows the fault, in a demonstration, and for a fault that the flow lost', () => {
    for (const changes of [
      { confirmed: null },
      { demonstration: true },
      { fault: 'no-such-fault' },
      { fault: null },
    ])
      expect(forecastsOf({ ...settled, ...changes }, radio, settings)).toBeNull();
  });
});

describe('what it cost', () => {
  const cost = (changes: Partial<SettledCase>): number | null =>
    wasCost({ ...settled, ...changes }, tables, settings);

  test('counts minutes, cover, proof and test by the flow’s figures, worked by hand', () => {
    // lead-look: 2 minutes behind the back (4 to open, 4 to close); 6 to prove, 1 to unplug, 20 waited.
    const { hour, waiting } = settings.community;
    const expected = ((2 + 8 + 7 + 20 * waiting) * hour) / 60;
    const looked = { seen: [seen('lead-look', 'yes')], minutes: 2, outcome: 'Fixed' as const };
    expect(cost(looked)).toBeCloseTo(expected, 9);
    expect(cost({ ...looked, tried: [{ remedy: 'drain', worked: true }] })).toBeCloseTo(
      expected + (2 * hour) / 60,
      9,
    );
  });

  test('counts every cover on the way', () => {
    // The chassis (6 and 6 minutes) lies behind the back (4 and 4).
    const { hour } = settings.community;
    const at = (check: string) => cost({ seen: [seen(check, 'yes')], minutes: 0, outcome: 'Fixed' }) ?? 0;
    expect(at('ripple') - at('lead-look')).toBeCloseTo((12 * hour) / 60, 9);
    expect(at('knob-feel')).toBe(0);
  });

  test('counts the referral where people have to take over, and is not known where the end is not', () => {
    expect(cost({ outcome: 'Repairable' })).toBeGreaterThanOrEqual(settings.community.referral);
    expect(cost({ outcome: 'Unknown' })).toBeNull();
    expect(of({ outcome: 'Unknown' }).start.cost).toBeNull();
  });
});

describe('in a world where the flow’s numbers are true', () => {
  const cases = simulated(600);
  const known = cases.flatMap(({ settled: one, result }) => {
    const forecasts = forecastsOf(one, radio, settings);
    return forecasts ? [{ one, result, forecasts }] : [];
  });

  test('nearly all are scored, all but those of something else', () => {
    expect(known.length).toBeGreaterThan(500);
    expect(known.length).toBe(cases.filter(({ settled: one }) => one.fault !== 'something-else').length);
  });

  test('the odds of the start come true as often as they say', () => {
    const start = known.map(({ forecasts }) => forecasts.start);
    for (const { forecast, low, high } of summarise(start)?.reliability ?? []) {
      expect(forecast).toBeGreaterThan(low);
      expect(forecast).toBeLessThan(high);
    }
    // Of right odds the log score is, on average, the entropy.
    const { low, high } = estimate(start.map((one) => logScore(one) - entropy(one.belief)));
    expect(low).toBeLessThan(0);
    expect(high).toBeGreaterThan(0);
  });

  test('the odds of the end do not, since the moment is picked by what worked', () => {
    const end = summarise(known.map(({ forecasts }) => forecasts.end));
    const wrong = end?.reliability.filter(({ forecast, low, high }) => forecast < low || forecast > high);
    expect(wrong?.length).toBeGreaterThan(1);
  });

  test('answers make odds better than weights, and weights better than the commonest', () => {
    const log = (source: 'end' | 'start' | 'weights' | 'commonest'): number =>
      summarise(known.map(({ forecasts }) => forecasts[source]))?.log ?? Number.NaN;
    expect(log('end')).toBeLessThan(log('start'));
    expect(log('start')).toBeLessThan(log('weights'));
    expect(log('weights')).toBeLessThan(log('commonest'));
  });

  test('what a case cost agrees with the rehearsal’s own account of it', () => {
    const differences = known.map(({ one, result }) => (wasCost(one, tables, settings) ?? 0) - result.cost);
    const was = known.reduce((total, { result }) => total + result.cost, 0);
    // A cover opened twice, and minutes of questions that are no steps, are not in a settled case.
    expect(Math.abs(differences.reduce((a, b) => a + b, 0)) / was).toBeLessThan(0.02);
  });
});

function seen(check: string, outcome: string, level: 'new' | 'handy' = 'handy') {
  return { check, outcome, value: null, level };
}
