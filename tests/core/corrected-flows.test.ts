import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Flow, Level } from '../../shared/flow.ts';
import { Control } from '../../shared/inbound.ts';
import type { Person } from '../../shared/person.ts';
import type { Settings } from '../../src/core/settings.ts';
import { type Conversation, type Correction, converse } from './converse.ts';
import { correctionsOf } from './corrections.ts';
import { people, radio, settings } from './example-flow.ts';
import { inboundOf, type Move, movesOf } from './moves.ts';
import { wild } from './wild.ts';

/** Whatever is corrected in a flow while people are in the middle of it, a case goes on, safely, and stays what it was. */

const seed = 20_260_411;
const runs = { wild: 1000, planned: 150, gone: 300 };

const level = fc.constantFrom<(Level | null)[]>(null, 'new', 'handy', 'trained', 'trained');
const words = fc.constantFrom('', 'it hums', 'it lights up but it is silent');
const asking = (vouched: Level | null): Person[] => {
  const { asker, mender, moderator, stranger } = people;
  return [vouched ? { ...asker, level: vouched } : asker, mender, moderator, stranger];
};

/** Moves with a corrected flow between them, now and then. */
const movesWith = (to: fc.Arbitrary<Flow>): fc.Arbitrary<(Move | Correction)[]> => {
  const stretch = fc.array(movesOf(radio, 8), { minLength: 2, maxLength: 30, size: 'max' });
  const correction = to.map((flow): Correction => ({ kind: 'correct', to: flow }));
  return fc
    .tuple(stretch, correction, stretch, fc.option(correction), stretch)
    .map(([first, one, second, two, third]) => [first, one, second, two ?? [], third].flat());
};

function hold(to: fc.Arbitrary<Flow>, ofSettings: (salt: number) => Settings, numRuns: number): string[] {
  const events: string[] = [];
  fc.assert(
    fc.property(level, words, fc.nat({ max: 1000 }), movesWith(to), (vouched, first, salt, moves) => {
      const talk = converse(radio, ofSettings(salt), asking(vouched), first, moves);
      expectNothingWrong(talk);
      asksEverything(talk);
      for (const event of talk.events) events.push(tell(event));
    }),
    { numRuns, seed },
  );
  return events;
}

const tell = (event: Conversation['events'][number]): string =>
  event.kind === 'flow-changed'
    ? `flow-changed, ${event.dropped.length > 0 ? 'dropped' : 'all kept'}${event.ended ? ', ended' : ''}`
    : event.kind === 'handed-over'
      ? `handed-over ${event.reason}`
      : event.kind;

function expectNothingWrong({ problems, log }: Conversation): void {
  if (problems.length > 0) throw new Error(`${log.join('\n')}\n\n${problems.join('\n')}`);
}

/** Every control can be used on what is left, one after the other. */
function asksEverything(talk: Conversation): void {
  const by = talk.scene.people[0] as Person;
  for (const what of Control.options) talk.send(inboundOf(talk.scene, { kind: 'asked', what }, by));
  expectNothingWrong(talk);
}

describe('a flow that is corrected while people are in the middle of it', () => {
  test('with a plan that knows no rules', () => {
    const raised: fc.Arbitrary<Flow> = fc.constant({ ...radio, version: 2 });
    const to = fc.oneof({ weight: 1, arbitrary: raised }, { weight: 4, arbitrary: correctionsOf(radio) });
    const events = hold(to, wild, runs.wild);
    // It is about something: answers were dropped, kept, and waits ended.
    const count = (what: string): number => events.filter((event) => event.startsWith(what)).length;
    expect(count('flow-changed, dropped')).toBeGreaterThan(300);
    expect(count('flow-changed, all kept')).toBeGreaterThan(300);
    expect(events.filter((event) => event.endsWith('ended')).length).toBeGreaterThan(10);
  });

  test('with the plan', () => {
    hold(correctionsOf(radio), () => settings, runs.planned);
  });

  test('or goes, and perhaps comes back', () => {
    const other = { ...radio, flow: 'kettle', title: 'Kettle', noun: 'kettle' };
    const to = fc.oneof(fc.constant(other), correctionsOf(other), fc.constant(radio), correctionsOf(radio));
    const events = hold(to, wild, runs.gone);
    expect(events.filter((event) => event === 'handed-over no-guide').length).toBeGreaterThan(100);
  });
});
