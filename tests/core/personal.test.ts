import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { Answer, Case, Event, Happening } from '../../shared/case.ts';
import { Control, type Inbound } from '../../shared/inbound.ts';
import { Outbound } from '../../shared/outbound.ts';
import type { Person } from '../../shared/person.ts';
import { personal, withoutPersonal } from '../../src/core/personal.ts';
import { emptyCase, fold, number } from '../../src/core/reduce.ts';
import { step } from '../../src/core/step.ts';
import { following, newTalk, type Talk } from '../conversations/thread.ts';
import { converse } from './converse.ts';
import { people, radio, settings } from './example-flow.ts';
import { type Move, movesOf } from './moves.ts';
import { wild } from './wild.ts';

/** What people typed and are called can be taken out of a case, and the case stays what it was without it. */

const stamp = { seq: 7, at: 5, by: 'asker' } as const;
const asker: Person = { id: 'asker', name: 'Quillon', level: 'handy', roles: [] };
const mender: Person = { ...people.mender, name: 'Quillon Mo' };
const moderator: Person = { ...people.moderator, name: 'Quillon Vesna' };

const forgotten = (events: readonly Event[]): Event[] => {
  const kase = fold(emptyCase('thread'), events);
  return [...events, ...number(kase, [{ kind: 'forgotten', by: 'asker', at: 9 }])];
};
const bytes = (events: readonly Event[]): string => JSON.stringify(fold(emptyCase('thread'), events));

describe('the personal text of an event', () => {
  test.each<[Event, object | null]>([
    [
      { ...stamp, kind: 'opened', words: 'it hums', place: 'Larkholm' },
      { words: 'it hums', place: 'Larkholm' },
    ],
    [{ ...stamp, kind: 'noted', words: 'hello' }, { words: 'hello' }],
    [{ ...stamp, kind: 'advised', words: 'Try the knob.' }, { words: 'Try the knob.' }],
    [{ ...stamp, kind: 'flagged', flag: 'smoke', sure: true, words: 'smoke' }, { words: 'smoke' }],
    [{ ...stamp, kind: 'photographed', references: ['p1', 'p2'] }, { references: ['p1', 'p2'] }],
    [{ ...stamp, kind: 'unflagged', flag: 'smoke', reason: 'a toaster' }, { reason: 'a toaster' }],
    [
      { ...stamp, kind: 'cleared', tier: 'cold', person: 'other', reason: 'we talked' },
      { reason: 'we talked' },
    ],
    [{ ...stamp, level: 'new', kind: 'read', step: 'rail', value: 12, typed: '12 v' }, { typed: '12 v' }],
    [{ ...stamp, kind: 'rested', key: 'wait:drain', due: 9, reason: '“Drain” needs its time' }, null],
    [{ ...stamp, kind: 'proof-dropped', why: '42 V is too much.' }, null],
    [{ ...stamp, kind: 'erased', person: 'asker' }, null],
    [{ ...stamp, kind: 'noted', words: '' }, null],
    [{ ...stamp, kind: 'photographed', references: [] }, null],
  ])('of %j', (event, text) => {
    expect(personal(event)).toEqual(text && { person: 'asker', text });
    expect(personal(withoutPersonal(event))).toBeNull();
  });

  test('in a joining is that of who joins, whoever told of it', () => {
    const event = { ...stamp, kind: 'joined', person: 'mender', name: 'Mo', level: null, roles: [] } as const;
    expect(personal({ ...event, roles: [] })).toEqual({ person: 'mender', text: { name: 'Mo' } });
  });

  test('is put back byte for byte', () => {
    const event: Event = { place: 'p', ...stamp, kind: 'opened', words: 'it hums' };
    const emptied = withoutPersonal(event);
    expect(JSON.stringify(emptied)).toBe(JSON.stringify({ place: '', ...stamp, kind: 'opened', words: '' }));
    expect(JSON.stringify(Object.assign(emptied, personal(event)?.text))).toBe(JSON.stringify(event));
  });

  test('is looked for in every field of free text that an event has', () => {
    // Ids, and what the desk itself says: `why`, and the reason for a rest.
    const known = new Set(
      'by kind flow person step stage point answer key next fault why appliances test result complaints told gone open complaint detail choice outcome remedies of'.split(
        ' ',
      ),
    );
    for (const option of [...Answer.options, ...Happening.options]) {
      const kind = option.shape.kind.value;
      const text = Object.entries(option.shape).flatMap(([field, type]) => {
        const value = ['some text', ['some text']].find((one) => type.safeParse(one).success);
        return value === undefined || known.has(field) || kind === 'rested' ? [] : [[field, value]];
      });
      const event = { ...stamp, kind, ...noText, ...Object.fromEntries(text) } as unknown as Event;
      expect([kind, personal(event)?.text ?? {}]).toEqual([kind, Object.fromEntries(text)]);
    }
  });
});

/** So that an event made up by a test has every field that is looked at. */
const noText = { words: '', place: '', name: '', references: [], reason: '', typed: '' };

/** Everybody is called Quillon, and leaves the name wherever something can be typed. */
function everywhere(move: Move): Move {
  switch (move.kind) {
    case 'say':
      return move.words.length % 3 === 0
        ? { ...move, words: `Quillon: ${move.words}`.slice(0, 20_000) }
        : move;
    case 'number':
      return { ...move, typed: `${move.typed} Quillon`.slice(0, 2000) };
    case 'act':
      if ('reason' in move.act)
        return { ...move, act: { ...move.act, reason: `${move.act.reason} Quillon` } };
      if ('words' in move.act) return { ...move, act: { ...move.act, words: `Quillon ${move.act.words}` } };
      return move;
    case 'open':
    case 'change':
      return { ...move, words: `${move.words} Quillon` };
    default:
      return move;
  }
}

/** A case in which everybody has said something of everything. */
function full(): Talk {
  const talk = newTalk({ settings: following('speaker-ohms', 'drain') });
  const voice = talk.as(asker);
  voice.sends({ kind: 'opened', words: 'Quillon here: it lights up but is silent', place: 'Quillon Street' });
  for (const answer of ['silent', 'solid', 'light', 'yes', 'unplugged']) voice.taps(answer);
  talk.later(20).rings();
  voice.taps('opened');
  for (const volts of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) voice.measures(volts);
  voice.measures('8 ohm');
  voice.says('Quillon again, and a rattle');
  voice.sends({ kind: 'photo', references: ['https://larkholm.example/Quillon.jpg'] });
  voice.says('maybe it smoked a little, says Quillon?');
  talk.as(mender).does({ what: 'advise', words: 'Quillon says: look at the lead.' });
  talk.as(moderator).does({ what: 'clear', tier: 'live', reason: 'talked to Quillon' });
  expect(talk.kase.clearance).not.toBeNull();
  return talk;
}

describe('a case without what people typed', () => {
  const moves = fc.array(movesOf(radio, 6), { minLength: 5, maxLength: 45, size: 'max' });

  test('is, once forgotten, the same as one that was forgotten with it, byte for byte', () => {
    fc.assert(
      fc.property(moves, fc.nat(), fc.constantFrom('it hums, says Quillon', ''), (played, salt, first) => {
        const voices = [asker, mender, moderator, { ...people.stranger, name: 'Quillon S.' }];
        const { events, problems } = converse(
          radio,
          wild(salt % 1000),
          voices,
          first,
          played.map(everywhere),
        );
        expect(problems).toEqual([]);
        for (const until of [events.length, salt % (events.length + 1)]) {
          const part = events.slice(0, until);
          const emptied = part.map((event) => withoutPersonal(event));
          for (const event of emptied) expect(Event.safeParse(event).success).toBe(true);
          expect(bytes(forgotten(emptied))).toBe(bytes(forgotten(part)));
          expect(JSON.stringify(emptied)).not.toContain('Quillon');
          expect(bytes(forgotten(part))).not.toContain('Quillon');
        }
      }),
      { numRuns: 400, seed: 20_260_412 },
    );
  });

  test('goes on: every control can be used on it, and nothing that is sent is empty', () => {
    fc.assert(
      fc.property(moves, fc.nat(), (played, salt) => {
        const voices = [asker, mender, moderator, people.stranger];
        const { events } = converse(radio, wild(salt % 1000), voices, 'it hums', played);
        const kase = fold(
          emptyCase('thread'),
          events.map((event) => withoutPersonal(event)),
        );
        expect(Case.safeParse(kase).success).toBe(true);
        for (const what of Control.options) {
          const inbound: Inbound = { id: 'x', thread: 'thread', at: 2e12, by: asker, kind: 'asked', what };
          for (const one of step(kase, inbound, radio, settings).outbound)
            expect(Outbound.safeParse(one).success).toBe(true);
        }
      }),
      { numRuns: 200, seed: 20_260_413 },
    );
  });

  test('reads well on its card, and in “where are we?”', () => {
    const talk = full();
    const emptied = talk.events.map((event) => withoutPersonal(event));
    const kase = fold(emptyCase('thread'), emptied);
    expect(kase).toMatchObject({ words: [], photos: [], advice: [], flags: [{ flag: 'smoke', words: '' }] });
    const read = (what: 'card' | 'where'): string => {
      const inbound: Inbound = { id: 'x', thread: 'thread', at: talk.at, by: asker, kind: 'asked', what };
      const said = step(kase, inbound, radio, settings).outbound;
      return said.flatMap((one) => (one.kind === 'say' ? [one.words, ...(one.list ?? [])] : [])).join('\n');
    };
    expect(read('card')).toMatchInlineSnapshot(`
      "# Job card: Table radio

      ## Danger

      - **Smoke**

      ## About the appliance

      - What kind of radio is it? One with transistors
      - Can you turn it over? Yes

      ## Seen, measured and tried

      - Complaint: It lights up, but it is silent
      - Measure the speaker: 8 ohm

      ## Likely causes now

      - A stuck state: 35 %. Somebody sees to it: A stuck state.
      - The speaker lead: 32 %. Somebody sees to it: The speaker lead.
      - The volume knob: 18 %. Somebody sees to it: The volume knob.
      - A cracked joint: 12 %. Somebody sees to it: A cracked joint.

      ## How it stands

      - Open: the back.
      - Not proven discharged: treat it as charged, and keep hands out until it is measured.
      - Whoever has it is used to working inside unplugged things (vouched for), with a meter.
      - Asked now: Safety first. Did smoke come out of it?
      - Cleared for live work.

      ## People (The Larkholm Bench)

      - The Larkholm Bench; Volunteers"
    `);
    expect(read('where')).toMatchInlineSnapshot(`
      "What we know so far (“change 2” asks number 2 again):
      Complaint: It lights up, but it is silent
      What kind of radio is it? One with transistors
      Can you turn it over? Yes
      Has a multimeter
      Measure the speaker: 8 ohm
      Asked now: Safety first. Did smoke come out of it?
      Open: the back.
      Not proven discharged: treat it as charged, and keep hands out until it is measured."
    `);
  });
});

describe('somebody whose words were erased', () => {
  test('has no name from then on, and nothing else changes', () => {
    const before = full().kase;
    const erase = (person: string): Case =>
      fold(before, number(before, [{ kind: 'erased', by: 'moderator', at: 9, person }]));
    expect(erase('asker')).toEqual({
      ...before,
      seq: before.seq + 1,
      people: { ...before.people, asker: { ...before.people.asker, name: '' } },
      // Whoever has gone is not asked how it went on.
      quiet: true,
    });
    expect(erase('mender')).toMatchObject({ quiet: false });
    expect(Object.keys(erase('asker').people)).toEqual(Object.keys(before.people));
    for (const person of ['nobody', 'constructor', '__proto__'])
      expect(erase(person)).toEqual({ ...before, seq: before.seq + 1 });
  });

  test('leaves what others said', () => {
    const talk = full();
    const kase = fold(
      emptyCase('thread'),
      talk.events.map((event) => (personal(event)?.person === 'asker' ? withoutPersonal(event) : event)),
    );
    expect(kase).toMatchObject({ words: [], photos: [], people: { asker: { name: '' } } });
    expect(kase.advice).toEqual(talk.kase.advice);
    expect(kase.clearance).toEqual(talk.kase.clearance);
  });

  test('keeps no words in an event of somebody else', () => {
    const talk = newTalk();
    talk.as(asker).says('it hums');
    talk.as(people.stranger).says('maybe it smoked a little?');
    talk.as(asker).taps('yes');
    expect(talk.kase.flags).toMatchObject([{ sure: true, words: 'smoked' }]);
    const yes = talk.events.findLast((event) => event.kind === 'flagged');
    expect(yes).toMatchObject({ by: 'asker', words: '' });
  });
});

describe('a case that is forgotten', () => {
  test('has nothing left in it that anybody typed or is called', () => {
    const talk = full();
    expect(JSON.stringify(talk.kase)).toContain('Quillon');
    expect(talk.kase.answers).toContainEqual(expect.objectContaining({ kind: 'read', typed: '8 ohm' }));
    talk.as(asker).asks('forget');
    expect(JSON.stringify(talk.kase)).not.toContain('Quillon');
    expect(talk.kase.answers).toContainEqual(expect.objectContaining({ kind: 'read', typed: '', value: 8 }));
    expect(talk.kase.clearance).toMatchObject({ tier: 'live', reason: '' });
  });

  test('waits for nothing: its timer is taken back', () => {
    const talk = newTalk({ settings: following('drain') });
    talk.as(asker).says('it lights up but is silent');
    for (const answer of ['silent', 'solid', 'done']) talk.as(asker).taps(answer);
    talk.as(asker).asks('forget');
    expect(talk.sent).toContainEqual({ kind: 'unremind', key: 'wait:drain' });
    expect(talk.kase).toMatchObject({ state: 'settled', rest: null, question: null });
    const before = talk.kase;
    talk.later(30).rings();
    expect(talk.kase).toEqual(before);
  });
});
