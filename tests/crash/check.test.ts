import { describe, expect, test } from 'vitest';
import type { Event } from '../../shared/case.ts';
import type { Inbound } from '../../shared/inbound.ts';
import type { Person } from '../../shared/person.ts';
import { emptyCase, fold } from '../../src/core/reduce.ts';
import { step } from '../../src/core/step.ts';
import { judge } from './check.ts';
import type { Evidence, Post, Sent, Snapshot } from './evidence.ts';
import { flow, settings } from './scene.ts';

/** That the check can fail: a run that kept every promise, and the same with one thing wrong at a time. */

type Writable = {
  -readonly [K in keyof Evidence]: Evidence[K] extends readonly (infer T)[]
    ? T[]
    : Evidence[K] extends ReadonlyMap<infer A, infer B>
      ? Map<A, B>
      : Evidence[K];
};
type Content<I = Inbound> = I extends Inbound ? Omit<I, 'id' | 'thread' | 'at' | 'by'> : never;

const minute = 60_000;
const asker: Person = { id: 'ada', name: 'Ada', roles: [] };
const desk: Person = { id: 'desk', name: 'desk', roles: [] };

/** What would be left of conversations with a desk that never crashed. */
function perfect(): Writable {
  const evidence: Writable = {
    sent: [],
    posts: [],
    ends: [],
    outages: [],
    cases: [],
    turns: [],
    numbers: [],
    events: new Map(),
    outbox: [],
    timers: [],
    told: new Map(),
    snapshots: new Map(),
  };
  const talk = (id: number, contents: readonly Content[]): void => {
    const thread = `crash:${id}`;
    let kase = emptyCase(thread);
    let at = 1_700_000_000_000 + id * 7;
    let sent = 0;
    const events: Event[] = [];
    contents.forEach((content, i) => {
      at += minute;
      const rings = content.kind === 'rang';
      if (rings) at = kase.rest?.due ?? kase.followUp?.due ?? at;
      const key = rings ? (kase.rest ?? kase.followUp)?.key : undefined;
      const name = rings ? `rang:${key}:${at}` : `${thread}/${i}`;
      const inbound = {
        ...content,
        ...(rings ? { key } : {}),
        id: name,
        thread,
        at,
        by: rings ? desk : asker,
      } as Inbound;
      if (!rings) evidence.sent.push({ inbound, answers: i % 2 === 0 ? ['taken', 'seen'] : ['taken'] });
      evidence.turns.push({ thread, inbound: name });
      const turn = step(kase, inbound, flow, settings);
      kase = fold(kase, turn.events);
      events.push(...turn.events);
      for (const outbound of turn.outbound) {
        sent += 1;
        const message = `${id}.${sent}${outbound.kind === 'ask' ? '.q' : ''}`;
        const asked = evidence.posts.findLast(
          (post) =>
            post.thread === thread &&
            outbound.kind === 'amend' &&
            post.outbound.kind === 'ask' &&
            post.outbound.key === outbound.key,
        );
        const real = at + 5;
        evidence.posts.push({
          id: message,
          thread,
          outbound,
          ...(asked ? { amends: `m-${asked.id}` } : {}),
          at: real,
          real,
          desk: 1,
          answer: { reference: `m-${message}`, real: real + 3 },
        });
      }
      if (i === 2) {
        evidence.snapshots.set(thread, { kase, from: kase.seq, after: [] });
      }
    });
    const early = evidence.snapshots.get(thread);
    if (early) evidence.snapshots.set(thread, { ...early, after: events.slice(early.kase.seq) });
    evidence.cases.push({ id, thread, seq: kase.seq, sent });
    evidence.numbers.push(...events.map(({ seq }) => ({ thread, seq })));
    evidence.events.set(thread, events);
    evidence.told.set(thread, JSON.stringify(kase));
  };
  const begin: readonly Content[] = [
    { kind: 'opened', words: 'it hums', place: '' },
    { kind: 'chose', answer: 'hums' },
    { kind: 'said', words: 'the cat sat on it' },
    { kind: 'chose', answer: 'solid' },
    { kind: 'chose', answer: 'done' },
  ];
  talk(1, [...begin, { kind: 'rang', key: 'wait:drain' }, { kind: 'chose', answer: 'no' }]);
  talk(2, [...begin, { kind: 'asked', what: 'undo' }, { kind: 'asked', what: 'person' }]);
  // Left for a day, and asked whether they got to it.
  const left: Content = { kind: 'rang', key: 'after' };
  talk(3, [...begin.slice(0, 4), left, ...begin.slice(4), { kind: 'asked', what: 'person' }]);
  evidence.ends.push({ desk: 1, real: 1_800_000_000_000, inOrder: true });
  return evidence;
}

const broken = (doctor: (evidence: Writable) => void): readonly string[] => {
  const evidence = perfect();
  doctor(evidence);
  return judge(evidence).broken;
};
const of = (evidence: Writable, thread = 'crash:1'): Post[] =>
  evidence.posts.filter((post) => post.thread === thread);
const without = <T>(list: T[], which: (item: T) => boolean): void => {
  const i = list.findIndex(which);
  expect(i).toBeGreaterThanOrEqual(0);
  list.splice(i, 1);
};
const change = <T>(list: T[], which: (item: T) => boolean, to: (item: T) => T): void => {
  const i = list.findIndex(which);
  expect(i).toBeGreaterThanOrEqual(0);
  list[i] = to(list[i] as T);
};
/** The events of the first case, changed, and all that follows from them, so that only the tale is wrong. */
function retold(evidence: Writable, to: (events: Event[]) => Event[]): void {
  const thread = 'crash:1';
  const events = to([...(evidence.events.get(thread) ?? [])]).map((event, i) => ({ ...event, seq: i + 1 }));
  evidence.events.set(thread, events);
  evidence.numbers = [
    ...evidence.numbers.filter((one) => one.thread !== thread),
    ...events.map(({ seq }) => ({ thread, seq })),
  ];
  change(
    evidence.cases,
    (one) => one.thread === thread,
    (one) => ({ ...one, seq: events.length }),
  );
  evidence.told.set(thread, JSON.stringify(fold(emptyCase(thread), events)));
  evidence.snapshots.delete(thread);
}
const drain = ({ outbound }: Post): boolean => outbound.kind === 'remind' && outbound.key === 'wait:drain';
const ring = ({ outbound }: Post): boolean =>
  outbound.kind === 'say' && outbound.words.startsWith('The time is over');

test('a run that kept its promises is found in order, and counted', () => {
  const { broken: nothing, counts } = judge(perfect());
  expect(nothing).toEqual([]);
  expect(counts).toMatchObject({
    cases: 3,
    sent: 19,
    acknowledged: 19,
    lost: 0,
    doubled: 0,
    undelivered: 0,
    again: { afterCrash: 0, notAnswered: 0, unexplained: 0 },
    timers: { set: 9, rang: 2, takenBack: 7 },
    snapshots: 3,
  });
});

describe('it is found when', () => {
  test.each<[string, (evidence: Writable) => void, RegExp]>([
    [
      'an acknowledged message is not in the journal',
      (e) => without(e.turns, ({ inbound }) => inbound === 'crash:1/2'),
      /^taken in: crash:1\/2 was acknowledged, and is not in the journal/,
    ],
    [
      'a message is in the journal twice',
      (e) => e.turns.push({ thread: 'crash:1', inbound: 'crash:1/2' }),
      /^taken in: crash:1\/2 stands 2 times/,
    ],
    [
      'a message was taken in twice',
      (e) =>
        change<Sent>(
          e.sent,
          ({ inbound }) => inbound.id === 'crash:1/2',
          (one) => ({ ...one, answers: ['taken', 'taken'] }),
        ),
      /^taken in: crash:1\/2 .* was taken in 2 times/,
    ],
    [
      'a message is never acknowledged',
      (e) =>
        change<Sent>(
          e.sent,
          ({ inbound }) => inbound.id === 'crash:1/2',
          (one) => ({ ...one, answers: [] }),
        ),
      /^taken in: crash:1\/2 was never acknowledged/,
    ],
    [
      'the journal has a message that nobody sent',
      (e) => e.turns.push({ thread: 'crash:2', inbound: 'crash:1/2' }),
      /^taken in: crash:1\/2 stands in the journal of crash:2, and nobody sent it/,
    ],
    [
      'an event is missing',
      (e) => without(e.numbers, ({ seq }) => seq === 3),
      /^events: crash:1 stands at \d+ and has the events 1 2 4/,
    ],
    [
      'an event stands twice',
      (e) => e.numbers.push({ thread: 'crash:1', seq: 3 }),
      /^events: crash:1 stands at \d+ and has the events 1 2 3 3/,
    ],
    [
      'a case stands further than its events',
      (e) =>
        change(
          e.cases,
          ({ id }) => id === 1,
          (one) => ({ ...one, seq: one.seq + 1 }),
        ),
      /^events: crash:1 stands at/,
    ],
    [
      'events cannot be read',
      (e) => e.events.set('crash:1', (e.events.get('crash:1') ?? []).slice(1)),
      /^events: crash:1 is read as the events 2 3/,
    ],
    [
      'events have no case',
      (e) => e.numbers.push({ thread: 'crash:9', seq: 1 }),
      /^events: events of crash:9, which has no case/,
    ],
    [
      'a message never reached the platform',
      (e) => without(e.posts, ({ id }) => id === '1.3.q'),
      /^delivered: message 1\.3 of crash:1 never reached the platform/,
    ],
    [
      'the last message never reached the platform',
      (e) =>
        change(
          e.cases,
          ({ id }) => id === 1,
          (one) => ({ ...one, sent: one.sent + 1 }),
        ),
      /^delivered: message 1\.\d+ of crash:1 never reached the platform/,
    ],
    [
      'a message still waits',
      (e) => e.outbox.push({ id: '1.2', state: 'waiting' }),
      /^delivered: message 1\.2 is waiting/,
    ],
    [
      'a message was set aside',
      (e) => e.outbox.push({ id: '1.2', state: 'set aside' }),
      /^delivered: message 1\.2 is set aside/,
    ],
    [
      'messages come out of order',
      (e) => {
        const [first] = e.posts.splice(1, 1);
        e.posts.splice(2, 0, first as Post);
      },
      /^order: in crash:1, 1\.2 came after 1\.3/,
    ],
    [
      'a message is posted under two ids',
      (e) => e.posts.push({ ...(of(e)[1] as Post), id: '1.2.q' }),
      /^order: 1\.2 of crash:1 was posted as 1\.2 and as 1\.2\.q/,
    ],
    [
      'a message comes again with other words',
      (e) => e.posts.push({ ...(of(e)[1] as Post), outbound: { kind: 'say', words: 'something else' } }),
      /^order: 1\.2 of crash:1 came again with other content/,
    ],
    [
      'a message is posted that the case never gave out',
      (e) => e.posts.push({ ...(of(e).at(-1) as Post), id: '1.99' }),
      /^order: 1\.99 was posted in crash:1, whose case gave out no such message/,
    ],
    [
      'a message is posted in another thread',
      (e) => e.posts.push({ ...(of(e)[1] as Post), thread: 'crash:2' }),
      /^order: 1\.2 was posted in crash:2/,
    ],
    [
      'a message comes twice although nobody crashed',
      (e) => e.posts.push({ ...(of(e).at(-1) as Post), real: (of(e).at(-1) as Post).real + 50 }),
      /^posted twice: 1\.\d+.* and nobody had crashed/,
    ],
    [
      'a message comes twice although its desk had stopped in order',
      (e) => {
        const last = of(e).at(-1) as Post;
        e.ends = [{ desk: 1, real: last.real + 10, inOrder: true }];
        e.posts.push({ ...last, real: last.real + 2000, desk: 2 });
      },
      /^posted twice: 1\.\d+.* and nobody had crashed/,
    ],
    [
      'a change names no message',
      (e) =>
        change<Post>(
          e.posts,
          ({ amends }) => amends !== undefined,
          ({ amends: _, ...post }) => post,
        ),
      /^amends: 1\.2 of crash:1 changes nothing/,
    ],
    [
      'a change names another message',
      (e) =>
        change<Post>(
          e.posts,
          ({ amends }) => amends !== undefined,
          (post) => ({ ...post, amends: 'm-2.1.q' }),
        ),
      /^amends: 1\.2 of crash:1 changes m-2\.1\.q/,
    ],
    [
      'a timer is left over',
      (e) => e.timers.push({ thread: 'crash:1', key: 'wait:drain', due: 5 }),
      /^timers: wait:drain of crash:1 is still set/,
    ],
    [
      'a timer rang twice',
      (e) => e.turns.push(e.turns.find(({ inbound }) => inbound.startsWith('rang:')) as (typeof e.turns)[0]),
      /^timers: rang:wait:drain:\d+ of crash:1 rang 2 times/,
    ],
    [
      'a timer rang that was never set',
      (e) => e.turns.push({ thread: 'crash:1', inbound: 'rang:wait:drain:5' }),
      /^timers: rang:wait:drain:5 of crash:1 rang and was never set/,
    ],
    [
      'a timer rang before its time by the clock outside',
      (e) => change<Post>(e.posts, ring, (post) => ({ ...post, at: post.at - minute })),
      /^timers: wait:drain of crash:1, due at \d+, rang early/,
    ],
    [
      'a case woke although its timer did not ring',
      (e) => without(e.turns, ({ inbound }) => inbound.startsWith('rang:')),
      /^timers: wait:drain of crash:1, due at \d+, woke the case without ringing/,
    ],
    [
      'a case was told twice that its time is over',
      (e) => {
        const post = e.posts.find(ring) as Post;
        e.posts.push({ ...post, id: '1.99' });
      },
      /^timers: crash:1 was woken 1 times and was told so 2 times/,
    ],
    [
      'a case was asked after although no timer rang',
      (e) => without(e.turns, ({ inbound }) => inbound.startsWith('rang:after:')),
      /^timers: after:q\d:1 of crash:3, due at \d+, woke the case without ringing/,
    ],
    [
      'nobody was to be asked, and a timer is left',
      (e) => e.timers.push({ thread: 'crash:1', key: 'after:q9:1', due: 5 }),
      /^timers: after:q9:1 of crash:1 is still set/,
    ],
    [
      'what it means to ask about set no timer',
      (e) => without(e.posts, ({ outbound }) => outbound.kind === 'remind' && outbound.later === true),
      /^timers: after:q\d:1 of crash:1, due at \d+, was never set/,
    ],
    [
      'a timer never rang',
      (e) =>
        retold(e, (events) =>
          events.slice(
            0,
            events.findIndex(({ kind }) => kind === 'woken'),
          ),
        ),
      /^timers: wait:drain of crash:1, due at \d+, never rang/,
    ],
    [
      'a wait set no timer',
      (e) => without(e.posts, drain),
      /^timers: wait:drain of crash:1, due at \d+, was never set/,
    ],
    [
      'a timer was set without a wait',
      (e) =>
        change<Post>(e.posts, drain, (post) => ({
          ...post,
          outbound: { kind: 'remind', key: 'wait:drain', due: 5, reason: 'odd' },
        })),
      /^timers: wait:drain of crash:1 was set for 5 without a wait/,
    ],
    [
      'a wait that ended otherwise left its timer',
      (e) =>
        without(e.posts, ({ outbound }) => outbound.kind === 'unremind' && outbound.key === 'wait:drain'),
      /^timers: wait:drain of crash:2, due at \d+, neither rang nor was taken back/,
    ],
    [
      'the desk tells a case differently',
      (e) => e.told.set('crash:1', (e.told.get('crash:1') ?? '').replace('it hums', 'it hisses')),
      /^fold: crash:1 was told differently by the desk/,
    ],
    [
      'the desk does not tell a case',
      (e) => e.told.delete('crash:1'),
      /^fold: crash:1 was told differently by the desk/,
    ],
    [
      'a snapshot is of another history',
      (e) => e.snapshots.set('crash:1', { ...(e.snapshots.get('crash:1') as Snapshot), from: 0 }),
      /^fold: the snapshot of crash:1 is of another history/,
    ],
    [
      'a snapshot holds something else',
      (e) => {
        const snapshot = e.snapshots.get('crash:1');
        if (!snapshot) throw new Error('there is a snapshot');
        e.snapshots.set('crash:1', {
          ...snapshot,
          kase: { ...snapshot.kase, asked: snapshot.kase.asked + 1 },
        });
      },
      /^fold: crash:1 folds differently from its snapshot/,
    ],
    [
      'an event happened twice under two numbers',
      (e) =>
        retold(e, (events) =>
          events.flatMap((event): Event[] => (event.kind === 'noted' ? [event, event] : [event])),
        ),
      /^story: crash:1: its 7 messages do not tell it/,
    ],
    [
      'an event never happened',
      (e) => retold(e, (events) => events.filter(({ kind }) => kind !== 'noted')),
      /^story: crash:1: its 7 messages do not tell it/,
    ],
    [
      'a message says something else than was decided',
      (e) =>
        change<Post>(
          e.posts,
          ({ outbound }) => outbound.kind === 'say',
          (post) => ({ ...post, outbound: { kind: 'say', words: 'something else' } }),
        ),
      /^story: crash:1: its 7 messages do not tell it/,
    ],
    [
      'an event is of another time than its message',
      (e) => {
        change<Sent>(
          e.sent,
          ({ inbound }) => inbound.id === 'crash:1/6',
          ({ inbound, answers }) => ({ answers, inbound: { ...inbound, at: inbound.at + 1 } }),
        );
      },
      /^story: crash:1: its 7 messages do not tell it/,
    ],
  ])('%s', (_, doctor, expected) => {
    expect(broken(doctor)).toContainEqual(expect.stringMatching(expected));
  });
});

describe('a message that comes again is counted, and nothing is broken, when', () => {
  const again = (e: Writable, more: Partial<Post>): void => {
    const last = of(e).at(-1) as Post;
    e.posts.push({ ...last, real: last.real + 2000, desk: 2, ...more });
  };
  test('its desk died meanwhile', () => {
    const evidence = perfect();
    again(evidence, {});
    evidence.ends = [{ desk: 1, real: (of(evidence).at(-2) as Post).real + 10, inOrder: false }];
    const { broken: nothing, counts } = judge(evidence);
    expect(nothing).toEqual([]);
    expect(counts.again).toEqual({ afterCrash: 1, notAnswered: 0, unexplained: 0 });
  });

  test('the database crashed meanwhile', () => {
    const evidence = perfect();
    again(evidence, {});
    const { real } = of(evidence).at(-2) as Post;
    evidence.outages = [{ from: real + 10, to: real + 500 }];
    expect(judge(evidence)).toMatchObject({ broken: [], counts: { again: { afterCrash: 1 } } });
  });

  test('the platform had not answered', () => {
    const evidence = perfect();
    const { id } = of(evidence).at(-1) as Post;
    change<Post>(
      evidence.posts,
      (post) => post.id === id,
      (post) => ({ ...post, answer: null }),
    );
    again(evidence, {});
    expect(judge(evidence)).toMatchObject({ broken: [], counts: { again: { notAnswered: 1 } } });
  });
});
