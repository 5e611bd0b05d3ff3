import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Case, Event } from '../../shared/case.ts';
import type { Outbound } from '../../shared/outbound.ts';
import { jobCard } from '../../src/core/card.ts';
import { look } from '../../src/core/next.ts';
import { emptyCase, fold, number } from '../../src/core/reduce.ts';
import type { Settings } from '../../src/core/settings.ts';
import { tablesOf } from '../../src/core/step.ts';
import { memoryJournal } from '../../src/journal/memory.ts';
import { erase } from '../../src/keeping/erase.ts';
import { type EarlierCases, earlierCases } from '../../src/outcomes/earlier.ts';
import { following, newTalk, type Talk } from '../conversations/thread.ts';
import { converse } from '../core/converse.ts';
import { people, radio, settings } from '../core/example-flow.ts';
import { movesOf } from '../core/moves.ts';

/** The earlier cases of a desk: kept up with what it does, shown to people without anybody's words. */

const cured = (asker = people.asker): Talk => {
  const talk = newTalk({ settings: following('drain') });
  const voice = talk.as(asker);
  voice.says('It lights up but is silent');
  for (const tap of ['silent', 'solid', 'done']) voice.taps(tap);
  talk.later(31).rings();
  voice.taps('works');
  return talk;
};
const silent = (given: Settings = following('dial-lamp')): Talk => {
  const talk = newTalk({ settings: given });
  for (const tap of ['silent', 'solid']) {
    if (talk.events.length === 0) talk.as(people.asker).says('It lights up but is silent');
    talk.as(people.asker).taps(tap);
  }
  return talk;
};

const keep = (journal: ReturnType<typeof memoryJournal>, thread: string, { events, kase }: Talk) =>
  journal.append({
    thread,
    inbound: `all of ${thread}`,
    after: 0,
    events: [...events],
    outbound: [],
    state: kase.state,
  });
const open = (journal = memoryJournal()): EarlierCases => earlierCases({ journal, flows: [radio], settings });
const here: Case = { ...silent().kase, id: 'here' };
const found = (earlier: EarlierCases): number => earlier.find(here, 10).length;

describe('the earlier cases of a desk', () => {
  test('are what the journal holds, and the same as if each turn had been told', async () => {
    const journal = memoryJournal();
    const told = open(journal);
    for (let i = 0; i < 3; i++) {
      const talk = cured();
      await keep(journal, `p:${i}`, talk);
      told.turned({ ...talk.kase, id: `p:${i}` }, talk.events);
    }
    const read = open(journal);
    expect(read.size).toBe(0);
    await read.load();
    expect(read.size).toBe(3);
    expect(read.find(here, 10)).toEqual(told.find(here, 10));
    expect(read.find(here, 2)).toHaveLength(2);
  });

  test('lose one that is taken up again, and have it back once it is settled anew', () => {
    const earlier = open();
    const talk = cured();
    earlier.turned(talk.kase, talk.events);
    expect(found(earlier)).toBe(1);
    const upTo = talk.events.length;
    talk.as(people.asker).asks('again');
    earlier.turned(talk.kase, talk.events.slice(upTo));
    expect(found(earlier)).toBe(0);
    const then = talk.events.length;
    talk.as(people.mender).does({ what: 'settle', outcome: 'Repairable' });
    earlier.turned(talk.kase, talk.events.slice(then));
    expect(earlier.find(here, 10)).toMatchObject([{ outcome: 'Repairable', said_by: 'mender' }]);
  });

  test('lose one that its asker wants forgotten, here and by a command elsewhere', async () => {
    const journal = memoryJournal();
    const [mine, theirs] = [cured(), cured({ ...people.asker, id: 'other' })];
    await keep(journal, 'p:mine', mine);
    await keep(journal, 'p:theirs', theirs);
    const earlier = open(journal);
    await earlier.load();
    expect(found(earlier)).toBe(2);

    const upTo = mine.events.length;
    mine.as(people.asker).asks('forget');
    earlier.turned({ ...mine.kase, id: 'p:mine' }, mine.events.slice(upTo));
    expect(found(earlier)).toBe(1);

    await erase(journal, 'other', {
      now: () => 1,
      forgetCached: async (thread) => {
        await earlier.refresh(thread);
        return 'gone';
      },
    });
    expect(found(earlier)).toBe(0);
    const again = open(journal);
    await again.load();
    expect(again.find(here, 10).map(({ settled }) => settled)).toEqual([mine.kase.outcome?.at]);
  });

  test('keep what a turn made of a case while all of them are read', async () => {
    const journal = memoryJournal();
    const talk = cured();
    await keep(journal, 'p:a', talk);
    await keep(journal, 'p:b', talk);
    // Both were read and put in their places when one is taken up again, before the next page shows that there are no more.
    const slow: typeof journal = {
      ...journal,
      async settled(after, limit) {
        if (after !== null) {
          const upTo = talk.events.length;
          talk.as(people.asker).asks('again');
          earlier.turned({ ...talk.kase, id: 'p:a' }, talk.events.slice(upTo));
        }
        return journal.settled(after, limit);
      },
    };
    const earlier = open(slow);
    await earlier.load();
    expect(earlier.size).toBe(1);
  });

  test('are read no further once the desk stops', async () => {
    const journal = memoryJournal();
    for (const thread of ['p:a', 'p:b']) await keep(journal, thread, cured());
    const earlier = open(journal);
    const reading = earlier.load();
    await earlier.stop();
    await reading;
    expect(earlier.size).toBe(0);
  });
});

/** A desk that has settled one case, by a cure. */
function settledOnce(): { readonly given: Settings; readonly at: number } {
  const earlier = open();
  const talk = cured();
  earlier.turned({ ...talk.kase, id: 'earlier' }, talk.events);
  return { given: { ...following('dial-lamp'), earlier: earlier.find }, at: talk.at };
}
const section = (card: string): string =>
  card.split('\n## ').find((part) => part.startsWith('Earlier cases like it')) ?? '';
const whispered = (sent: readonly Outbound[]): string =>
  sent.flatMap((one) => (one.kind === 'whisper' ? [one.words] : [])).join('\n');

describe('at a handover', () => {
  test('the job card and the menders’ card say what came of earlier cases like it', () => {
    const talk = silent(settledOnce().given);
    talk
      .later(3 * 24 * 60)
      .as(people.asker)
      .asks('person');
    const line =
      'Fixed, 2 days ago. A stuck state (it worked after the remedy). Spent: 2 min of work and 30 min of waiting.';
    const cards = talk.sent.flatMap((one) =>
      one.kind === 'handover' || one.kind === 'bench' ? [one.card] : [],
    );
    expect(cards).toHaveLength(2);
    for (const card of cards) expect(section(card)).toBe(`Earlier cases like it\n\n- ${line}\n`);
  });

  test('no more than three are on the card, and ten in the list for a moderator', () => {
    const earlier = open();
    for (let i = 0; i < 12; i++) {
      const talk = cured();
      earlier.turned({ ...talk.kase, id: `e${i}` }, talk.events);
    }
    const talk = silent({ ...following('dial-lamp'), earlier: earlier.find });
    talk.as(people.asker).asks('person');
    const [entry] = talk.sent.flatMap((one) => (one.kind === 'bench' ? [one] : []));
    expect(section(entry?.card ?? '').match(/^- /gm)).toHaveLength(3);
    expect(entry?.acts).toContain('similar');
    talk.as(people.moderator).does({ what: 'similar' });
    expect(whispered(talk.sent).match(/^\d+\. Fixed/gm)).toHaveLength(10);
  });

  test('the list is for moderators alone, and changes nothing in the case', () => {
    const talk = silent(settledOnce().given);
    talk.as(people.asker).asks('person');
    for (const person of [people.asker, people.stranger, people.mender]) {
      talk.as(person).does({ what: 'similar' });
      expect(whispered(talk.sent)).toMatch(/only/i);
    }
    const before = talk.events.filter(({ kind }) => kind !== 'joined');
    talk.as(people.moderator).does({ what: 'similar' });
    expect(whispered(talk.sent)).toContain('1. Fixed');
    expect(talk.events.filter(({ kind }) => kind !== 'joined')).toEqual(before);
  });

  test('without earlier cases there is no section, and the list says so', () => {
    const talk = silent({ ...following('dial-lamp'), earlier: open().find });
    talk.as(people.asker).asks('person');
    expect(section(talk.sent.flatMap((one) => (one.kind === 'handover' ? [one.card] : []))[0] ?? '')).toBe(
      '',
    );
    talk.as(people.moderator).does({ what: 'similar' });
    expect(whispered(talk.sent)).toBe('No earlier case here is like this one.');
  });
});

test('whatever was said in earlier cases, no word, name or id of anybody is shown with another', () => {
  const mark = 'Quillon';
  const crowd = [people.asker, people.mender, people.moderator, people.stranger].map((one) => ({
    ...one,
    id: `${mark}-${one.id}`,
    name: `${mark} ${one.id}`,
  }));
  const [asker, , moderator] = crowd as [(typeof crowd)[0], unknown, (typeof crowd)[0]];
  let shown = 0;
  fc.assert(
    fc.property(fc.array(movesOf(radio, 6), { minLength: 5, maxLength: 25 }), (moves) => {
      const talk = converse(radio, settings, crowd, `It lights up but is silent, says ${mark}`, moves);
      const { kase, events } = settledBy(talk.scene.kase, moderator.id, talk.scene.at);
      const earlier = open();
      earlier.turned({ ...kase, id: `${mark}-thread` }, events);
      const given = { ...settings, earlier: earlier.find };
      // The other case is one with the same answers, and without anybody's words.
      const now: Case = {
        ...emptyCase('now'),
        state: 'with people',
        flow: radio.flow,
        demonstration: kase.demonstration,
        answers: kase.answers,
        handover: {
          reason: 'asked',
          danger: false,
          at: talk.scene.at,
          next: null,
          taken: null,
          heard: false,
        },
      };
      const told = section(jobCard(look(now, tablesOf(radio, settings), given, talk.scene.at, false), null));
      if (told !== '') shown++;
      expect(told).not.toMatch(new RegExp(`${mark}|Ferrow|${asker.id}|thread`));
    }),
    { numRuns: 60 },
  );
  expect(shown).toBeGreaterThan(20);
});

function settledBy(
  kase: Case,
  by: string,
  at: number,
): { readonly kase: Case; readonly events: readonly Event[] } {
  const events = number(kase, [
    { kind: 'settled', by, at, outcome: 'Repairable', fault: 'joint', barrier: null },
  ]);
  return { kase: fold(kase, events), events };
}
