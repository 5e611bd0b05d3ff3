import { describe, expect, test } from 'vitest';
import type { Event } from '../../shared/case.ts';
import type { Check, Flow } from '../../shared/flow.ts';
import { emptyCase, fold } from '../../src/core/reduce.ts';
import { following, newTalk, type Talk } from '../conversations/thread.ts';
import { people, radio } from './example-flow.ts';

/** A case is the fold of its events and of nothing else. */

const asker = { ...people.asker, level: 'handy' as const };
const proof = ['1.55 V', '0.3 V', '0.1 V', '1.55 V'];

/** Through a look inside, a lamp seen with power on, and a remedy that is tried at once. */
function looked(): Talk {
  const talk = newTalk({ settings: following('lead-off-look', 'dial-lamp', 'settings', 'lead-look') });
  const voice = talk.as(asker);
  voice.says('it lights up but is silent');
  for (const answer of ['silent', 'solid', 'light', 'yes', 'unplugged']) voice.taps(answer);
  talk.later(20).rings();
  voice.taps('opened');
  for (const volts of proof) voice.measures(volts);
  for (const answer of ['no', 'yes', 'no', 'no', 'unplugged']) voice.taps(answer);
  talk.later(20).rings();
  voice.taps('opened');
  for (const volts of proof) voice.measures(volts);
  return talk;
}

/** Flows in which the same questions would do something else to the appliance. */
const check = (id: string, change: Partial<Check>): Flow => ({
  ...radio,
  checks: radio.checks.map((one) => (one.id === id ? { ...one, ...change } : one)),
});
const others: readonly Flow[] = [
  check('lead-off-look', { power: 'off' }),
  check('lead-off-look', { power: 'on', access: 'outside' }),
  check('dial-lamp', { power: 'off' }),
  check('lead-look', { access: 'outside' }),
  { ...radio, remedies: radio.remedies.map((one) => ({ ...one, access: 'back-off' })) },
];

describe('a case', () => {
  test('keeps with each question what answering it does to the appliance', () => {
    const put = looked().events.flatMap((event) => (event.kind === 'put' ? [event.question] : []));
    const of = (step: string) => put.find((question) => question.step === step);
    expect(of('lead-off-look')).toMatchObject({ power: 'look', inside: true });
    expect(of('dial-lamp')).toMatchObject({ power: 'on', inside: false });
    expect(of('settings')).toMatchObject({ power: 'on', inside: false });
    expect(of('lead-look')).toMatchObject({ power: 'none', inside: true });
    expect(of('unplug')).toMatchObject({ power: 'none', inside: false });
  });

  test('folds to the same bytes whatever flow is loaded', () => {
    const talk = looked();
    expect(talk.kase.world).toMatchObject({ open: ['back-off'], altered: null, charged: false });
    for (const flow of others) {
      newTalk({ flow }).as(asker).says('it hums');
      expect(JSON.stringify(fold(emptyCase('thread'), talk.events))).toBe(JSON.stringify(talk.kase));
    }
  });

  test('folds to the same bytes when its events went through a file', () => {
    const talk = looked();
    const kept = JSON.parse(JSON.stringify(talk.events)) as Event[];
    expect(JSON.stringify(fold(emptyCase('thread'), kept))).toBe(JSON.stringify(talk.kase));
  });

  test('folds in any two parts to what it folds to at once', () => {
    const talk = looked();
    talk.events.forEach((_, i) => {
      const half = JSON.parse(JSON.stringify(fold(emptyCase('thread'), talk.events.slice(0, i))));
      expect(JSON.stringify(fold(half, talk.events.slice(i)))).toBe(JSON.stringify(talk.kase));
    });
  });
});
