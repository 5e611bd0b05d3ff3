import { isDeepStrictEqual } from 'node:util';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { Case, Event } from '../../shared/case.ts';
import { Inbound } from '../../shared/inbound.ts';
import { Outbound } from '../../shared/outbound.ts';
import { emptyCase, fold } from '../../src/core/reduce.ts';
import { step } from '../../src/core/step.ts';
import { unchosen } from '../../src/core/unchosen.ts';
import { parseFlow } from '../../src/flows.ts';
import { createLibrary } from '../../src/library/library.ts';
import { flowOf as flowIn, lamp as lampText } from '../desk-lamp.ts';
import { people, radio, settings } from './example-flow.ts';
import { movesOf, newScene, play } from './moves.ts';

/** Whatever people do before and after the appliance is known: every turn adds up, and no flow is taken without a tap. */

const lamp = flowIn(parseFlow(lampText, 'lamp'));
const general = {
  ...radio,
  flow: 'any',
  title: 'Something else',
  noun: 'appliance',
  general: 'mains' as const,
};
const library = createLibrary([general, lamp, radio]);
const chosen = { ...settings, library };
const words = fc.constantFrom(
  '',
  'my radio is silent',
  'desk lamp',
  'radio or desk lamp?',
  'help',
  'there was smoke',
);

test('with three appliances to choose from', () => {
  const moves = fc.array(movesOf(radio, 6), { minLength: 3, maxLength: 25, size: 'max' });
  const flowsSeen = new Set<string | null>();
  let left = 0;
  fc.assert(
    fc.property(words, moves, (first, played) => {
      const scene = newScene(emptyCase('thread'), [
        people.asker,
        people.mender,
        people.moderator,
        people.stranger,
      ]);
      const send = (raw: Inbound): void => {
        const inbound = Inbound.parse(raw);
        const before = scene.kase;
        const latest =
          before.flow === null
            ? unchosen
            : (library.flows.find(({ flow }) => flow === before.flow) ?? unchosen);
        const { events, outbound, after } = step(before, inbound, latest, chosen);
        for (const event of events) Event.parse(event);
        for (const one of outbound) Outbound.parse(one);
        Case.parse(after);
        expect(isDeepStrictEqual(fold(before, events), after)).toBe(true);
        if (events.some(({ kind }) => kind === 'flow-taken')) {
          // A tap, or words that are the answer itself.
          expect(before.question?.kind).toBe('appliance');
          expect(['chose', 'said', 'opened']).toContain(inbound.kind);
        }
        if (events.some(({ kind }) => kind === 'flow-left')) left++;
        if (after.flow === null && after.question)
          expect(['appliance', 'flag']).toContain(after.question.kind);
        flowsSeen.add(after.flow);
        scene.kase = after;
        scene.last = inbound;
        for (const one of outbound) if (one.kind === 'ask') scene.asks.push(one);
      };
      send({
        id: 'm0',
        thread: 'thread',
        at: scene.at,
        by: people.asker,
        kind: 'opened',
        words: first,
        place: '',
      });
      for (const move of played) {
        const inbound = play(scene, move);
        if (inbound) send(inbound);
      }
    }),
    { numRuns: 400, seed: 20_261_125 },
  );
  // The conversations went where the test is about.
  expect(flowsSeen.size).toBeGreaterThanOrEqual(3);
  expect(left).toBeGreaterThan(0);
});
