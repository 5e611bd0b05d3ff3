import { expect } from 'vitest';
import type { Flow } from '../../shared/flow.ts';
import type { Inbound } from '../../shared/inbound.ts';
import type { Ask } from '../../shared/outbound.ts';
import type { Person } from '../../shared/person.ts';
import { random } from '../../src/rehearsal/random.ts';
import { type Conversation, newConversation } from './converse.ts';
import { people, settings } from './example-flow.ts';
import { inboundOf, minute, openAsk } from './moves.ts';

/** Conversations that are answered until they end. */

/** The whole conversation stands in the failure, so that it can be read. */
export function expectNothingWrong({ problems, log }: Conversation): void {
  if (problems.length > 0) throw new Error(`${log.join('\n')}\n\n${problems.join('\n')}`);
}

/**
 * Answers until people have the case or it is settled. Turns are counted with the waits; the bounds are about twice the
 * longest conversation that was seen among some thousands.
 */
export function talked(
  flow: Flow,
  by: Person,
  answer: (ask: Ask) => Pick<Inbound, 'kind'> & object,
  most: number,
): Conversation {
  const talk = newConversation(flow, settings, [by, people.mender, people.moderator]);
  const { scene } = talk;
  const send = (content: object, from: Person = by): void =>
    talk.send(inboundOf(scene, content as Parameters<typeof inboundOf>[1], from));
  send({ kind: 'opened', words: '', place: '' });
  for (let turns = 0; !['settled', 'with people'].includes(scene.kase.state); turns++) {
    expect(turns, talk.log.slice(-60).join('\n')).toBeLessThan(most);
    scene.at += minute;
    const ask = openAsk(scene);
    const { rest } = scene.kase;
    if (rest && (!ask || turns % 2 === 0)) {
      scene.at = Math.max(scene.at, rest.due);
      send({ kind: 'rang', key: rest.key });
    } else if (ask) send(answer(ask));
    expectNothingWrong(talk);
  }
  return talk;
}

export const proofReading = (ask: Ask): string =>
  ask.step === 'earth' || ask.step === 'insulation'
    ? { earth: '0.1 ohm', insulation: '20 Mohm' }[ask.step]
    : ask.step.startsWith('known-source')
      ? '1.55 V'
      : '0.3 V';

/** Anything that is offered, now and then "not sure" or "can't do this", and mostly no cure. */
export function drawn(flow: Flow, index: number, most: number): Conversation {
  const draw = random('answers', index);
  const vouched = ([null, null, 'new', 'handy', 'trained'] as const)[Math.floor(draw.next() * 5)];
  const asker = vouched ? { ...people.asker, level: vouched } : people.asker;
  return talked(
    flow,
    asker,
    (ask) => {
      const chance = draw.next();
      if (ask.reading && ask.phase === 'safety')
        return { kind: 'measured', reading: chance < 0.1 ? '60 V' : proofReading(ask) };
      if (chance < 0.06) return { kind: 'asked', what: chance < 0.03 ? 'unsure' : 'cannot' };
      if (ask.reading) {
        const { min = 0, max = 0, unit } = flow.checks.find(({ id }) => id === ask.step)?.reading ?? {};
        return {
          kind: 'measured',
          reading: `${(min + (max - min) * draw.next() ** 3).toPrecision(3)} ${unit}`,
        };
      }
      const offered = ask.choices.filter(({ id }) => id !== 'danger');
      const pick = offered[Math.floor(draw.next() * offered.length)]?.id;
      const works = pick === 'works' && draw.next() < 0.7;
      return { kind: 'chose', answer: works ? 'no' : pick, of: ask.key };
    },
    most,
  );
}
