import type { Control, Inbound } from '../../shared/inbound.ts';
import type { Ask, Outbound } from '../../shared/outbound.ts';
import type { Person } from '../../shared/person.ts';
import { type Random, random } from '../../src/rehearsal/random.ts';
import { platform } from './protocol.ts';

/**
 * People in many threads. Each answers what it was shown; now and then it undoes, wonders, talks nonsense, goes away and
 * comes back, taps an old question, or two tap at once. What they do is drawn from the seed; when, is the machine's.
 */
export interface Askers {
  /** Lets whoever is ready say something. */
  act(): void;
  /** A message was posted in their thread. */
  shown(thread: string, outbound: Outbound): void;
  /** A message of theirs was acknowledged. */
  heard(thread: string): void;
  /** Somebody new comes in, even where there are enough. */
  newcomer(): void;
  readonly threads: number;
}

export interface AskersOptions {
  readonly seed: number;
  /** People who are busy at the same time. */
  readonly busy: number;
  readonly now: () => number;
  readonly send: (inbound: Inbound, draw: Random) => void;
}

interface Thread {
  readonly name: string;
  readonly draw: Random;
  readonly asker: Person;
  readonly mender: Person;
  /** Messages until it leaves the thread as it is. */
  left: number;
  count: number;
  /** Not acknowledged yet. */
  open: number;
  nextAt: number;
  stage: 'new' | 'asked' | 'resting' | 'with people' | 'settled' | 'stopped';
  ask: Ask | null;
  readonly old: Ask[];
  asleep: boolean;
}

/** By the asker, where nobody else is named. */
type Said<I = Inbound> = I extends Inbound ? Omit<I, 'id' | 'thread' | 'at' | 'by'> & { by?: Person } : never;

const firstWords = ['it hums', 'it lights up but it is silent', 'nothing lights up', 'it is odd', ''];
const nonsense = ['the cat sat on it', 'ßüß 😀 “quoted” \\ and more', 'maybe later?', '42', 'why not', ' '];
const controls: readonly Control[] = ['why', 'where', 'card', 'mine', 'again', 'unsure', 'cannot'];
/** What helps most, where one of these is offered. */
const helpful = ['handy', 'yes', 'unplugged', 'opened', 'shut', 'agreed', 'done', 'arrived'];
const levels = [undefined, undefined, 'handy', 'trained', 'trained'] as const;

export function createAskers({ seed, busy, now, send }: AskersOptions): Askers {
  const threads = new Map<string, Thread>();
  /** In which people are at work; the others were left as they are, or sleep. */
  const active = new Set<Thread>();
  let count = 0;

  function newcomer(): void {
    count += 1;
    const draw = random('thread', seed, count);
    const level = levels[Math.floor(draw.next() * levels.length)];
    const thread: Thread = {
      name: `${platform}:${count}`,
      draw,
      asker: { id: `asker-${count}`, name: `Asker ${count}`, roles: [], ...(level ? { level } : {}) },
      mender: {
        id: `mender-${count % 5}`,
        name: `Mender ${count % 5}`,
        level: 'trained',
        roles: ['mender', 'moderator'],
      },
      left: 6 + Math.floor(draw.next() * 25),
      count: 0,
      open: 0,
      nextAt: 0,
      stage: 'new',
      ask: null,
      old: [],
      asleep: false,
    };
    threads.set(thread.name, thread);
    active.add(thread);
  }

  function say(thread: Thread, { by = thread.asker, ...content }: Said): void {
    thread.count += 1;
    thread.left -= 1;
    thread.open += 1;
    const id = `${thread.name}/${thread.count}`;
    send({ id, thread: thread.name, at: now(), by, ...content } as Inbound, thread.draw);
  }

  return {
    get threads() {
      return threads.size;
    },
    newcomer,
    act() {
      while (active.size < busy) newcomer();
      for (const thread of active) {
        if (thread.open > 0 || Date.now() < thread.nextAt) continue;
        thread.nextAt = Date.now() + 20 + 120 * thread.draw.next();
        for (const said of turn(thread)) say(thread, said);
        if (thread.left <= 0 || thread.asleep) active.delete(thread);
      }
    },
    shown(name, outbound) {
      const thread = threads.get(name);
      if (!thread) return;
      switch (outbound.kind) {
        case 'ask':
          if (thread.ask) thread.old.push(thread.ask);
          thread.ask = outbound;
          thread.stage = 'asked';
          break;
        case 'remind':
          // Nobody waits for being asked again.
          if (outbound.later) break;
          thread.ask = null;
          thread.stage = 'resting';
          break;
        case 'handover':
          thread.ask = null;
          thread.stage = 'with people';
          break;
        case 'settle':
          thread.ask = null;
          thread.stage = 'settled';
          break;
        default:
          break;
      }
      // Woken in the morning, some go on.
      if (thread.asleep && outbound.kind === 'ask') {
        thread.asleep = false;
        if (thread.left > 0 && thread.draw.next() < 0.5) active.add(thread);
      }
    },
    heard(name) {
      const thread = threads.get(name);
      if (thread) thread.open -= 1;
    },
  };
}

/** What is said next in a thread: mostly one thing, or nothing. */
function turn(thread: Thread): Said[] {
  const { draw, mender, ask } = thread;
  const chance = draw.next();
  switch (thread.stage) {
    case 'new':
      thread.stage = 'resting';
      return [{ kind: 'opened', words: pick(draw, firstWords), place: chance < 0.5 ? '' : 'chat' }];
    case 'settled':
      if (chance < 0.15) return [{ kind: 'asked', what: 'again' }];
      if (chance < 0.25) return [{ kind: 'said', words: pick(draw, nonsense) }];
      // Asked after a while how it went on, some answer.
      if (chance < 0.6) thread.asleep = true;
      else thread.left = 0;
      return [];
    case 'with people':
      if (chance < 0.2) return [{ kind: 'acted', act: { what: 'take', hands: chance < 0.05 }, by: mender }];
      if (chance < 0.5) return [{ kind: 'acted', act: { what: 'back' }, by: mender }];
      if (chance < 0.6)
        return [{ kind: 'acted', act: { what: 'advise', words: `Try ${thread.count}` }, by: mender }];
      if (chance < 0.7)
        return [{ kind: 'acted', act: { what: 'settle', outcome: 'Repairable' }, by: mender }];
      if (chance < 0.8) return [{ kind: 'said', words: pick(draw, nonsense) }];
      thread.left = 0;
      return [];
    case 'stopped':
      thread.stage = 'resting';
      return [chance < 0.5 ? { kind: 'asked', what: 'again' } : { kind: 'said', words: 'I am back' }];
    case 'resting':
      if (chance < 0.06) return [{ kind: 'asked', what: 'undo' }];
      if (chance < 0.12) return [{ kind: 'said', words: 'I am back' }];
      if (chance < 0.16) return [{ kind: 'asked', what: pick(draw, controls) }];
      if (chance < 0.19) return stop(thread);
      if (chance < 0.22) return tapOld(thread);
      // They go to bed; the desk wakes the case by itself.
      if (chance < 0.3) thread.asleep = true;
      return [];
    case 'asked':
      return ask ? answer(thread, ask) : [];
    default:
      return thread.stage satisfies never;
  }
}

function answer(thread: Thread, ask: Ask): Said[] {
  const { draw, mender } = thread;
  const chance = draw.next();
  if (chance < 0.05) return [{ kind: 'asked', what: 'undo' }];
  if (chance < 0.09) return [{ kind: 'asked', what: pick(draw, controls) }];
  if (chance < 0.13) return [{ kind: 'said', words: pick(draw, nonsense) }];
  if (chance < 0.15) return stop(thread);
  if (chance < 0.18) return [{ kind: 'photo', references: [`photo ${thread.name} ${thread.count}`] }];
  if (chance < 0.21) return tapOld(thread);
  if (chance < 0.22) return [{ kind: 'chose', answer: 'danger', of: ask.key }];
  if (chance < 0.23) return [{ kind: 'asked', what: 'person' }];
  if (chance < 0.3 && ['do', 'test', 'part'].includes(ask.phase)) {
    // They leave it for another day; the desk asks whether they got to it.
    thread.asleep = true;
    return [];
  }
  if (ask.reading) {
    const proof = ask.step.startsWith('known-source') ? '1.55 V' : draw.next() < 0.1 ? '60 V' : '0.3 V';
    const found = `${pick(draw, [0.1, 8, 12, 250, 5])} ${ask.reading.unit}`;
    const reading = ask.phase === 'safety' ? proof : found;
    return [
      draw.next() < 0.5 ? { kind: 'measured', reading, of: ask.key } : { kind: 'said', words: reading },
    ];
  }
  const offered = ask.choices.filter(({ id }) => id !== 'danger' && id !== 'recalled');
  const best = offered.find(({ id }) => helpful.includes(id));
  const choice = best && draw.next() < 0.8 ? best : pick(draw, offered);
  if (!choice) return [];
  if (chance < 0.28) return [{ kind: 'said', words: choice.label }];
  const tap = { kind: 'chose', answer: choice.id, of: ask.key } as const;
  // Two at once, not always of one mind.
  return chance < 0.34 ? [tap, { ...tap, answer: pick(draw, offered)?.id ?? choice.id, by: mender }] : [tap];
}

function stop(thread: Thread): Said[] {
  thread.stage = 'stopped';
  thread.ask = null;
  return [{ kind: 'asked', what: 'stop' }];
}

function tapOld({ old, draw }: Thread): Said[] {
  const question = old.at(-1 - Math.floor(draw.next() * 4));
  const [choice] = question?.choices ?? [];
  return question && choice ? [{ kind: 'chose', answer: choice.id, of: question.key }] : [];
}

const pick = <T>(draw: Random, list: readonly T[]): T => list[Math.floor(draw.next() * list.length)] as T;
