import { describe, expect, test } from 'vitest';
import { memoryJournal } from '../../src/journal/memory.ts';
import { allSettled } from '../../src/outcomes/all-settled.ts';
import { SettledCase, settledCase } from '../../src/outcomes/settled.ts';
import { following, newTalk } from '../conversations/thread.ts';
import { people, radio } from '../core/example-flow.ts';

/** What a settled case leaves behind. */

const cured = () => {
  const talk = newTalk({ settings: following('drain') });
  const asker = talk.as(people.asker);
  asker.says('It lights up but is silent, says Wilhelmina');
  for (const tap of ['silent', 'solid', 'done']) asker.taps(tap);
  talk.later(31).rings();
  asker.taps('works');
  return talk;
};

describe('a settled case', () => {
  test('leaves ids and numbers behind, and nobody’s words', () => {
    const settled = settledCase(cured().kase, radio);
    expect(SettledCase.parse(settled)).toEqual(settled);
    expect(settled).toMatchObject({
      flow: radio.flow,
      complaint: 'silent',
      details: { [radio.details[0]?.id ?? '']: 'solid' },
      tried: [{ remedy: 'drain', worked: true }],
      outcome: 'Fixed',
      safety: null,
      demonstration: false,
      said_by: 'desk',
    });
    expect(JSON.stringify(settled)).not.toContain('Wilhelmina');
    const drain = radio.remedies.find(({ id }) => id === 'drain');
    expect(settled?.minutes).toBe(drain?.minutes);
    expect(settled?.waited).toBe(drain?.wait_minutes);
  });

  test('is confirmed by a person who names the fault, and by a cure that mends one fault only', () => {
    const talk = newTalk();
    talk.as(people.asker).says('It hums');
    talk.as(people.mender).does({ what: 'settle', outcome: 'Repairable', fault: radio.faults[0]?.id ?? '' });
    expect(settledCase(talk.kase, radio)).toMatchObject({ confirmed: 'person', said_by: 'mender' });
    const alone = {
      ...radio,
      remedies: radio.remedies.map((one) => (one.id === 'drain' ? { ...one, cures: { latched: 0.8 } } : one)),
    };
    const several = {
      ...radio,
      remedies: radio.remedies.map((one) =>
        one.id === 'drain' ? { ...one, cures: { otherwise: 0.8 } } : one,
      ),
    };
    expect(settledCase(cured().kase, alone)?.confirmed).toBe('cure');
    expect(settledCase(cured().kase, several)?.confirmed).toBeNull();
  });

  test('is null as long as it is open', () => {
    const talk = newTalk();
    talk.as(people.asker).says('It hums');
    expect(settledCase(talk.kase, radio)).toBeNull();
  });
});

test('all settled cases of a journal come once, and only where their flow is here', async () => {
  const journal = memoryJournal();
  const { events } = cured();
  for (let i = 0; i < 3; i++)
    await journal.append({
      thread: `p:${i}`,
      inbound: 'a',
      after: 0,
      events,
      outbound: [],
      state: 'settled',
    });
  await journal.append({
    thread: 'p:open',
    inbound: 'a',
    after: 0,
    events: events.slice(0, 2),
    outbound: [],
    state: 'asking',
  });
  expect((await Array.fromAsync(allSettled(journal, [radio]))).map(({ id }) => id)).toEqual([
    'p:0',
    'p:1',
    'p:2',
  ]);
  expect(await Array.fromAsync(allSettled(journal, []))).toEqual([]);
});
