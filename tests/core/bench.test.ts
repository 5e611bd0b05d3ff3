import { describe, expect, test } from 'vitest';
import type { Bench } from '../../shared/outbound.ts';
import { following, newTalk, type Talk } from '../conversations/thread.ts';
import { people } from './example-flow.ts';

/** What menders see in their channel, as the core tells it. */

const asker = { ...people.asker, name: 'Cleo' };
const mender = { ...people.mender, name: 'Mo' };
const moderator = { ...people.moderator, name: 'Vesna' };

const benches = (talk: Talk): Bench[] => talk.sent.filter((one) => one.kind === 'bench');
const handedOver = (): Talk => {
  const talk = newTalk({ settings: following('dial-lamp', 'settings') });
  talk.as(asker).says('It lights up but is silent');
  talk.as(asker).taps('silent');
  talk.as(asker).taps('solid');
  talk.as(asker).asks('person');
  return talk;
};

describe('a case that people have', () => {
  test('stands on the list with its card, why it is there, and what can be done', () => {
    const [entry, ...others] = benches(handedOver());
    expect(others).toEqual([]);
    expect(entry).toMatchObject({
      state: 'waiting',
      danger: false,
      title: 'Table radio: it lights up, but it is silent',
      words: 'Asked for a person. Owner: Cleo. Nobody has taken it on yet.',
      acts: ['card', 'print', 'take', 'take-here', 'advise', 'result', 'clear', 'back', 'settle'],
    });
    expect(entry?.card).toContain('# Job card: Table radio');
  });

  test('keeps one message, which follows what menders do', () => {
    const talk = handedOver();
    const [first] = benches(talk);
    talk.later(5);
    talk.as(mender).does({ what: 'take', hands: false });
    const [taken] = benches(talk);
    expect(taken).toMatchObject({ key: first?.key, since: first?.since, state: 'taken' });
    expect(taken?.words).toContain('Taken on by Mo.');
    expect(taken?.acts).not.toContain('take');
    talk.as(mender).does({ what: 'advise', words: 'Try another socket.' });
    expect(benches(talk)[0]?.card).toContain('Try another socket.');
  });

  test('leaves the list without a word of the case when it goes back, is settled or forgotten', () => {
    const ways: [(talk: Talk) => unknown, string][] = [
      [(talk) => talk.as(mender).does({ what: 'back' }), 'With the bot again.'],
      [(talk) => talk.as(mender).does({ what: 'settle', outcome: 'Fixed' }), 'Settled: Fixed.'],
      [(talk) => talk.as(asker).asks('forget'), 'Settled: Unknown.'],
    ];
    for (const [way, words] of ways) {
      const talk = handedOver();
      const [entry] = benches(talk);
      way(talk);
      expect(benches(talk)).toMatchObject([{ key: entry?.key, state: 'left', words, card: '', acts: [] }]);
    }
  });

  test('handed over a second time has a message of its own, so that somebody notices', () => {
    const talk = handedOver();
    const [first] = benches(talk);
    talk.as(mender).does({ what: 'back' });
    talk.later(1).as(asker).asks('person');
    expect(benches(talk)).toHaveLength(1);
    expect(benches(talk)[0]?.key).not.toBe(first?.key);
  });
});

describe('a sign of danger', () => {
  test('is told at once, beside the entry, which then offers to say that it was looked into', () => {
    const talk = newTalk({ settings: following('dial-lamp') });
    talk.as(asker).says('It hums and smoke comes out');
    expect(benches(talk)).toMatchObject([
      { state: 'alert', danger: true, words: 'Smoke. Owner: Cleo.', card: '' },
      { state: 'waiting', danger: true },
    ]);
    const acts = benches(talk)[1]?.acts;
    expect(acts).toContain('unflag');
    expect(acts).not.toContain('back');
    expect(acts).not.toContain('clear');
    talk.as(moderator).does({ what: 'unflag', flag: 'smoke', reason: 'it was the toaster' });
    expect(benches(talk)).toMatchObject([{ state: 'waiting', danger: false }]);
  });

  test('by the button is told, too', () => {
    const talk = newTalk({ settings: following('dial-lamp') });
    talk.as(asker).says('It lights up but is silent');
    talk.as(asker).taps('danger');
    expect(benches(talk)).toMatchObject([{ state: 'alert', danger: true }]);
  });
});
