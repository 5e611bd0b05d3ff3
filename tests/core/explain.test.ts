import { describe, expect, test } from 'vitest';
import type { Outbound } from '../../shared/outbound.ts';
import type { Choice } from '../../src/core/plan/problem.ts';
import type { Decide, Settings } from '../../src/core/settings.ts';
import { following, inOrder, newTalk, type Talk, type Voice } from '../conversations/thread.ts';
import { people, radio, settings } from './example-flow.ts';

/** "Why?" and "where are we?" at every kind of question. */

const ben = { ...people.asker, name: 'Ben', level: 'handy' } as const;

function begun(settings: Settings, level: 'handy' | 'trained' = 'handy'): { talk: Talk; asker: Voice } {
  const talk = newTalk({ settings });
  const asker = talk.as({ ...ben, level });
  asker.says('It lights up but is silent');
  asker.taps('silent');
  asker.taps('solid');
  return { talk, asker };
}

function proven(talk: Talk, asker: Voice): void {
  asker.taps('light');
  asker.taps('yes');
  asker.taps('unplugged');
  talk.later(20).rings();
  asker.taps('opened');
  for (const volts of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) asker.measures(volts);
}

const said = (talk: Talk): string =>
  talk.sent
    .map((one: Outbound) => (one.kind === 'say' ? [one.words, ...(one.list ?? [])].join('\n') : ''))
    .join('\n');

describe('why?', () => {
  test('is about the question that is open, even when putting it has changed the plan', () => {
    // A look counts as shut from the moment it is put; this plan wants another step for a shut radio.
    const fickle: Decide = (compiled, kase, budget) =>
      inOrder(kase.world.altered === null ? 'lead-off-look' : 'knob-feel')(compiled, kase, budget);
    const { talk, asker } = begun({ ...settings, decide: fickle });
    proven(talk, asker);
    expect(talk.ask).toMatchObject({ step: 'lead-off-look' });
    asker.asks('why');
    expect(said(talk)).toContain('It tells the speaker from all before it.');
    expect(said(talk)).toMatch(
      /“Yes, there is sound” \(\d+ %\): .+ \d+ % and .+ \d+ %\.\n“No, it stays silent”/,
    );
    expect(said(talk)).not.toContain('knob turns');
  });

  test('before the first step says what comes after, and in a preparation what it prepares', () => {
    const talk = newTalk({ settings: following('drain', 'lead-look') });
    const asker = talk.as(ben);
    asker.says('It lights up but is silent');
    asker.asks('why');
    expect(said(talk)).toContain('After this, most likely: let all charge drain. It often helps.');
    asker.taps('silent');
    asker.taps('solid');
    asker.taps('done');
    talk.later(30).rings();
    asker.taps('no');
    asker.taps('light');
    asker.asks('why');
    expect(said(talk)).toContain('Waiting alone proves nothing');
    expect(said(talk)).toContain('It prepares: look at the speaker lead. It may have come off.');
  });

  test('speaks of nothing but safety while danger is asked about', () => {
    const { talk, asker } = begun(following('drain'));
    asker.says('maybe it smells a bit burnt');
    expect(talk.ask).toMatchObject({ phase: 'flag' });
    asker.asks('why');
    expect(talk.sent).toEqual([
      { kind: 'say', words: 'If this happened, nothing else matters until it is safe.' },
    ]);
  });

  test('in a wait tells what it is good for and what is left of it', () => {
    const { talk, asker } = begun(following('drain'));
    asker.taps('done');
    talk.later(10);
    asker.asks('why');
    expect(talk.sent).toEqual([
      {
        kind: 'say',
        words: 'It often helps.',
        list: ['We are waiting: “Let all charge drain” needs its time. 20 min to go.'],
      },
    ]);
  });

  test('at the test says that only trying shows it, and names no other step', () => {
    const { talk, asker } = begun(following('drain', 'lead-look'));
    asker.taps('done');
    talk.later(30).rings();
    asker.asks('why');
    expect(said(talk)).toContain('Only trying it shows whether it helped.');
    expect(said(talk)).not.toContain('lead');
  });

  test('at "repair or replace" tells what going on would cost', () => {
    const giveUp: Decide = () => ({
      choice: { kind: 'stop', stop: 1 } satisfies Choice,
      after: [],
      rivals: [{ choice: { kind: 'step', step: 0 }, cost: 77 }],
      cost: 0,
      minutes: 0,
      wait: 0,
      money: 0,
      chance: 0,
      exact: false,
      nodes: 0,
    });
    const { talk, asker } = begun({ ...settings, decide: giveUp });
    expect(talk.ask).toMatchObject({ step: 'replace' });
    asker.asks('why');
    expect(said(talk)).toContain('You decide');
    expect(said(talk)).toContain('about 77 GBP in all');
  });
});

describe('where are we?', () => {
  test('ends with what is asked now', () => {
    const { talk, asker } = begun(following('knob-feel'));
    asker.asks('where');
    expect(said(talk)).toMatch(/Asked now: Turn the knob\. Does it turn all the way\?$/);
  });

  test('in the middle of a proof tells what is open and what was measured', () => {
    const { talk, asker } = begun(following('lead-look'));
    asker.taps('light');
    asker.taps('yes');
    asker.taps('unplugged');
    talk.later(20).rings();
    asker.taps('opened');
    asker.measures('9 V');
    asker.measures('.3');
    asker.asks('where');
    expect(said(talk)).toContain(
      [
        'Open: the back.',
        'Not proven discharged: treat it as charged, and keep hands out until it is measured.',
        'Measured so far, the proof not finished: battery before: 9 V; the big can: 0.3 V.',
      ].join('\n'),
    );
  });

  test('in a wait tells what is left of it; stopped, how to go on', () => {
    const { talk, asker } = begun(following('drain'));
    asker.taps('done');
    talk.later(12);
    asker.asks('where');
    expect(said(talk)).toMatch(/18 min to go\.$/);
    asker.asks('stop');
    asker.asks('where');
    expect(said(talk)).toMatch(/We stopped here\. Write anything, and we go on\.$/);
  });

  test('a detail that was put aside reads like a sentence', () => {
    const details = radio.details.map((detail) => ({
      ...detail,
      choices: detail.choices.filter(({ id }) => id === 'solid' || id === 'glass'),
    }));
    const talk = newTalk({
      flow: { ...radio, details: details.filter(({ choices }) => choices.length > 0) },
    });
    const asker = talk.as(ben);
    asker.says('It lights up but is silent');
    asker.taps('silent');
    asker.asks('unsure');
    asker.asks('where');
    expect(said(talk)).toContain('What kind of radio is it? Not sure');
  });
});
