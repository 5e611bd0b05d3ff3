import fc from 'fast-check';
import { expect, test } from 'vitest';
import type { Case } from '../../shared/case.ts';
import type { Inbound } from '../../shared/inbound.ts';
import type { Person } from '../../shared/person.ts';
import { isCivil } from '../../src/core/civil-hour.ts';
import { timersOf } from '../../src/core/follow-up.ts';
import { emptyCase } from '../../src/core/reduce.ts';
import { step } from '../../src/core/step.ts';
import { people, radio, settings } from './example-flow.ts';
import { wild } from './wild.ts';

/**
 * A desk that is on time: timers are known from what was sent alone, and ring when they are due. In London, over the nights
 * in which the clocks are changed. What the random conversations do with timers that are late, early or nobody's stands there.
 */

const minute = 60_000;
const day = 24 * 60 * minute;
const zone = 'Europe/London';
const usual = { from: 10, to: 19 };
const asker: Person = { ...people.asker, level: 'handy' };
const theDesk: Person = { id: 'desk', name: 'desk', roles: [] };

type Move =
  | { readonly kind: 'answer'; readonly n: number }
  | { readonly kind: 'good' }
  | { readonly kind: 'words'; readonly words: string }
  | { readonly kind: 'control'; readonly what: 'again' | 'stop' | 'undo' | 'person' | 'where' }
  | { readonly kind: 'mender'; readonly what: 'back' | 'Repairable' | 'Fixed' }
  | { readonly kind: 'days'; readonly days: number };

const move: fc.Arbitrary<Move> = fc.oneof(
  { weight: 8, arbitrary: fc.constant<Move>({ kind: 'good' }) },
  { weight: 6, arbitrary: fc.record({ kind: fc.constant('answer' as const), n: fc.nat({ max: 6 }) }) },
  {
    weight: 8,
    arbitrary: fc.record({ kind: fc.constant('days' as const), days: fc.constantFrom(0.1, 1, 2, 4, 9, 30) }),
  },
  {
    weight: 2,
    arbitrary: fc.record({
      kind: fc.constant('words' as const),
      words: fc.constantFrom(
        'ask me at 9 pm',
        'not before 20:00',
        'do not ask me again',
        'yes, still fine',
        'hello',
        '18',
        'smoke',
      ),
    }),
  },
  {
    weight: 3,
    arbitrary: fc.record({
      kind: fc.constant('control' as const),
      what: fc.constantFrom('again', 'stop', 'undo', 'person', 'where'),
    }),
  },
  {
    weight: 3,
    arbitrary: fc.record({
      kind: fc.constant('mender' as const),
      what: fc.constantFrom('back', 'Repairable', 'Fixed'),
    }),
  },
);

interface Seen {
  readonly chased: Map<string, number>;
  quiet: boolean;
  hour: number | null;
}

function play(salt: number, began: number, moves: readonly Move[]): Seen {
  const base = salt % 2 === 0 ? settings : wild(salt);
  const given = { ...base, community: { ...base.community, time_zone: zone } };
  const timers = new Map<string, { readonly due: number; readonly asks: boolean }>();
  const seen: Seen = { chased: new Map(), quiet: false, hour: null };
  let kase: Case = emptyCase('thread');
  let at = began;
  let count = 0;

  function send(content: object, by: Person): void {
    count += 1;
    const inbound = { id: `m${count}`, thread: 'thread', at, by, ...content } as Inbound;
    const before = kase;
    const ring = inbound.kind === 'rang' ? timers.get(inbound.key) : undefined;
    if (inbound.kind === 'rang') timers.delete(inbound.key);
    const { events, outbound, after } = step(kase, inbound, radio, given);
    kase = after;
    if (ring?.asks && events.some(({ kind }) => kind === 'follow-up-due')) {
      const thing = nameOf(before);
      const times = (seen.chased.get(thing) ?? 0) + 1;
      seen.chased.set(thing, times);
      expect(times, thing).toBeLessThanOrEqual(2);
      expect(seen.quiet, `${thing}, after it was refused`).toBe(false);
      expect(isCivil(at, zone, seen.hour === null ? usual : { from: seen.hour, to: seen.hour + 1 })).toBe(
        true,
      );
      expect(['with people']).not.toContain(before.state);
      expect(before.stopped).toBe(false);
      expect(outbound.some(({ kind }) => kind === 'ask' || kind === 'say')).toBe(true);
    } else if (inbound.kind === 'rang') expect(events.map(({ kind }) => kind)).not.toContain('follow-up-due');
    for (const event of events) {
      if (event.kind === 'follow-ups-refused') seen.quiet = true;
      if (event.kind === 'taken-up-again') seen.quiet = false;
      if (event.kind === 'hour-stated') seen.hour = event.hour;
    }
    for (const one of outbound) {
      if (one.kind === 'remind')
        timers.set(one.key, { due: one.due, asks: one.later === true || one.key.startsWith('part:') });
      if (one.kind === 'unremind') timers.delete(one.key);
    }
    const left = [...timers].map(([key, { due }]) => ({ key, due }));
    expect(left.toSorted(byKey)).toEqual(timersOf(kase).toSorted(byKey));
  }

  /** Time goes by, and what falls due rings at that very moment. */
  function wait(until: number): void {
    for (;;) {
      const [next] = [...timers].sort(([, a], [, b]) => a.due - b.due);
      if (!next || next[1].due > until) break;
      at = Math.max(at, next[1].due);
      send({ kind: 'rang', key: next[0] }, theDesk);
    }
    at = Math.max(at, until);
  }

  send({ kind: 'opened', words: 'it lights up but it is silent', place: '' }, asker);
  for (const one of moves) {
    wait(at + 2 * minute);
    const hands = [asker, people.mender, people.moderator].find(({ id }) => id === kase.hands) ?? asker;
    switch (one.kind) {
      case 'days':
        wait(at + one.days * day);
        break;
      case 'words':
        send({ kind: 'said', words: one.words }, asker);
        break;
      case 'control':
        send({ kind: 'asked', what: one.what }, asker);
        break;
      case 'mender':
        send(
          {
            kind: 'acted',
            act: one.what === 'back' ? { what: 'back' } : { what: 'settle', outcome: one.what },
          },
          people.moderator,
        );
        break;
      case 'good':
      case 'answer': {
        const { question } = kase;
        const offered = question && offeredIn(question.kind, question.step);
        if (!question || !offered) break;
        if (offered.length === 0) {
          send({ kind: 'measured', reading: question.step.startsWith('known') ? '1.55 V' : '0.3 V' }, hands);
          break;
        }
        const answer = one.kind === 'good' ? offered[0] : offered[one.n % offered.length];
        send({ kind: 'chose', answer, of: question.key }, hands);
        break;
      }
      default:
        one satisfies never;
    }
  }
  // Then everybody is silent for as long as it takes: nothing is left in the end.
  wait(at + 400 * day);
  expect(timersOf(kase)).toEqual([]);
  return seen;
}

const byKey = (a: { readonly key: string }, b: { readonly key: string }): number => (a.key < b.key ? -1 : 1);

/** What a case is asked after when a timer rings, told apart by what a person would tell it by. */
function nameOf({ state, outcome, question, rest, answers }: Case): string {
  if (state === 'settled') return `the end at ${outcome?.at}`;
  const part = question?.kind === 'arrival' ? question.step : rest?.key.replace('part:', '');
  const order = answers.findLast((one) => one.kind === 'part-ordered' && one.step === part);
  return part === undefined ? `question ${question?.key}` : `order ${order?.seq}`;
}

/** What a person may answer, the helpful answer first; none where a number is wanted. */
function offeredIn(kind: string, step: string): string[] {
  const check = radio.checks.find(({ id }) => id === step);
  switch (kind) {
    case 'check':
      return (check?.outcomes ?? check?.reading?.bands ?? []).map(({ id }) => id);
    case 'complaint':
      return ['silent', 'hums', 'dead'];
    case 'detail':
      return radio.details.find(({ id }) => id === step)?.choices.map(({ id }) => id) ?? [];
    case 'prove':
      return [];
    case 'part':
      return ['ordered', 'have', 'too-dear'];
    case 'arrival':
      return ['not-yet', 'arrived', 'wrong-part', 'quiet'];
    case 'do':
    case 'test':
      return ['done', 'no', 'works', 'quiet', 'anew', 'different'];
    case 'follow-up':
      return ['works', 'not-yet', 'back', 'quiet', 'repaired', 'other', 'given-up'];
    case 'flag':
      return ['no', 'yes'];
    default:
      return ['yes', 'handy', 'unplugged', 'opened', 'shut', 'agreed', 'recycle'];
  }
}

test('nobody is asked more than twice about one thing, at night, or once they refused, and no timer is left over', () => {
  const all = { asked: 0, twice: 0, refused: 0, hours: 0 };
  fc.assert(
    fc.property(
      fc.nat({ max: 999 }),
      // Around the changes of the clocks of 29 March and 25 October 2026.
      fc.constantFrom(
        Date.UTC(2026, 2, 10, 14, 7),
        Date.UTC(2026, 9, 3, 22, 40),
        Date.UTC(2026, 9, 24, 6, 0),
      ),
      fc.array(move, { minLength: 3, maxLength: 45, size: 'max' }),
      (salt, began, moves) => {
        const { chased, quiet, hour } = play(salt, began, moves);
        all.asked += chased.size;
        all.twice += [...chased.values()].filter((times) => times === 2).length;
        all.refused += quiet ? 1 : 0;
        all.hours += hour === null ? 0 : 1;
      },
    ),
    { numRuns: 400, seed: 20_260_301 },
  );
  // The moves do come to what is asked after, so that the property says something.
  for (const count of Object.values(all)) expect(count).toBeGreaterThan(20);
});
