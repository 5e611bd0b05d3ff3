import { isDeepStrictEqual } from 'node:util';
import { Case, Event, type Question } from '../../shared/case.ts';
import type { Flow } from '../../shared/flow.ts';
import { Inbound } from '../../shared/inbound.ts';
import { Outbound } from '../../shared/outbound.ts';
import type { Person } from '../../shared/person.ts';
import { believe, evidence } from '../../src/core/infer.ts';
import { emptyCase, fold } from '../../src/core/reduce.ts';
import { gate } from '../../src/core/safety.ts';
import type { Settings } from '../../src/core/settings.ts';
import { step, tablesOf } from '../../src/core/step.ts';
import { type Move, newScene, play, type Scene } from './moves.ts';
import { type Asked, newOracle, type Oracle } from './oracle.ts';

/** Plays moves through the core, and has every turn looked at: by the oracle, by the schemas, and by doing it twice. */

export function frozen<T>(value: T): T {
  if (typeof value === 'object' && value !== null && !Object.isFrozen(value) && !ArrayBuffer.isView(value)) {
    Object.freeze(value);
    for (const part of Object.values(value)) frozen(part);
  }
  return value;
}

export interface Conversation {
  readonly scene: Scene;
  readonly oracle: Oracle;
  readonly events: Event[];
  /** All that was sent. */
  readonly sent: Outbound[];
  /** One line for every turn, and under it what was wrong. */
  readonly log: string[];
  readonly problems: string[];
  /** Takes in one message and has the turn judged. */
  send(inbound: Inbound): void;
  /** From here on the flow's file is this one. */
  correct(to: Flow): void;
}

export function newConversation(began: Flow, settings: Settings, people: readonly Person[]): Conversation {
  let flow = began;
  const scene = newScene(emptyCase('thread'), people);
  const oracle = newOracle(flow);
  const events: Event[] = [];
  const sent: Outbound[] = [];
  const log: string[] = [];
  const problems: string[] = [];
  frozen(flow);
  frozen(settings);

  function send(raw: Inbound): void {
    const inbound = frozen(Inbound.parse(raw));
    const before = frozen(scene.kase);
    const wrong = (what: string): void => {
      problems.push(what);
      log.push(`  !! ${what}`);
    };
    log.push(line(inbound));
    const result = step(before, inbound, flow, settings);
    // Of a copy nothing is known yet that is kept by identity.
    const twice = step(structuredClone(before), inbound, flow, settings);
    if (!isDeepStrictEqual(result, twice)) wrong('the same turn twice gave two results');
    for (const event of result.events) {
      const parsed = Event.safeParse(event);
      if (!parsed.success) wrong(`event ${event.kind}: ${parsed.error.message}`);
    }
    for (const one of result.outbound) {
      const parsed = Outbound.safeParse(one);
      if (!parsed.success) wrong(`outbound ${one.kind}: ${parsed.error.message}`);
    }
    const after = fold(before, result.events);
    if (!isDeepStrictEqual(result.after, after)) wrong('the turn came to another case than its events');
    const kase = Case.safeParse(after);
    if (!kase.success) wrong(`the case: ${kase.error.message}`);
    log.push(
      `    ${result.events.map(({ kind }) => kind).join(' ')} -> ${after.state} ${after.question ? `${after.question.kind}:${after.question.step}` : ''}`,
    );
    for (const what of oracle.turn({
      before,
      inbound,
      events: result.events,
      outbound: result.outbound,
      after,
    }))
      wrong(what);
    if (flow.flow === began.flow) for (const what of gateAgainst(oracle, after, flow, inbound)) wrong(what);
    const rows = evidence(tablesOf(flow, settings), after.answers, settings.community.reliability);
    const sum = believe(tablesOf(flow, settings).prior, rows).faults.reduce((a, b) => a + b, 0);
    if (!(Math.abs(sum - 1) < 1e-9)) wrong(`belief sums to ${sum}`);
    if (result.events.some(({ kind }) => kind === 'forgotten') && JSON.stringify(after).includes('Quillon'))
      wrong('forgotten, and the name is still in the case');
    events.push(...result.events);
    sent.push(...result.outbound);
    scene.kase = after;
    scene.last = inbound;
    for (const one of result.outbound) if (one.kind === 'ask') scene.asks.push(one);
  }
  function correct(to: Flow): void {
    flow = frozen(to);
    oracle.corrected(to);
    log.push(`-- ${to.flow}, version ${to.version}`);
  }
  return { scene, oracle, events, sent, log, problems, send, correct };
}

/** The flow's file is another one, from the next turn on. */
export interface Correction {
  readonly kind: 'correct';
  readonly to: Flow;
}

/** Whatever question one may think of: where the gate says yes, the oracle has no objection. */
function gateAgainst(oracle: Oracle, kase: Case, flow: Flow, { at, demonstration }: Inbound): string[] {
  const steps = [...flow.checks.map(({ id }) => id), ...flow.remedies.map(({ id }) => id)];
  const points =
    flow.energy.stores === 'capacitors'
      ? ['known-source-before', ...flow.energy.points.map(({ id }) => id)]
      : [];
  const ideas: [Question['kind'], Asked['kind'], string][] = [
    ...flow.checks.map(({ id }): (typeof ideas)[0] => ['check', 'step', id]),
    ...flow.remedies.map(({ id }): (typeof ideas)[0] => ['do', 'step', id]),
    ...flow.remedies.filter(({ part }) => part).map(({ id }): (typeof ideas)[0] => ['part', 'part', id]),
    ...flow.checks
      .filter(({ power, access }) => power === 'on' && access !== 'outside')
      .map(({ id }): (typeof ideas)[0] => ['live', 'live-terms', id]),
    ...flow.access.map(({ id }): (typeof ideas)[0] => ['open', 'open', id]),
    ...points.map((point): (typeof ideas)[0] => ['prove', 'prove', point]),
    ['test', 'test', 'test'],
    ['shut', 'shut', 'shut'],
    ['check', 'step', 'no-such-step'],
    ['do', 'step', 'constructor'],
    ['unplug', 'look-up', 'unplug'],
    ['replace', 'look-up', 'replace'],
    ['arrival', 'look-up', steps.at(-1) ?? ''],
  ];
  const demo = demonstration === true;
  return ideas.flatMap(([kind, asked, step]) => {
    const passes = gate({ kind, step }, kase, flow, at, demo) === null;
    const objection = passes ? oracle.objection({ kind: asked, step }, at, demo) : null;
    return objection === null ? [] : [`the gate lets ${kind} ${step} pass: ${objection}`];
  });
}

/** Whole conversations: the opening words, then the moves. Everything wrong with them, with the log above it. */
export function converse(
  flow: Flow,
  settings: Settings,
  people: readonly Person[],
  words: string,
  moves: readonly (Move | Correction)[],
): Conversation {
  const talk = newConversation(flow, settings, people);
  const { scene } = talk;
  const opening: Inbound = {
    id: 'm0',
    thread: 'thread',
    at: scene.at,
    by: people[0] as Person,
    kind: 'opened',
    words,
    place: '',
  };
  talk.send(opening);
  for (const move of moves) {
    if (talk.problems.length > 0) break;
    if (move.kind === 'correct') {
      talk.correct(move.to);
      continue;
    }
    const inbound = play(scene, move);
    if (inbound) talk.send(inbound);
  }
  for (const [name, events] of [
    ['replayed', talk.events],
    ['replayed from JSON', JSON.parse(JSON.stringify(talk.events)) as Event[]],
  ] as const) {
    const again = fold(emptyCase('thread'), events);
    if (JSON.stringify(again) !== JSON.stringify(scene.kase))
      talk.problems.push(`${name}, the case is another one`);
  }
  return talk;
}

function line(inbound: Inbound): string {
  const { id: _id, thread: _thread, at, by, kind, demonstration, ...rest } = inbound;
  return `${new Date(at).toISOString().slice(5, 16)}${demonstration ? ' DEMO' : ''} ${by.id}(${by.level ?? '-'}${by.roles.map((r) => ` ${r}`).join('')}) ${kind} ${JSON.stringify(rest).slice(0, 140)}`;
}
