import type { Event } from '../../shared/case.ts';
import type { Inbound } from '../../shared/inbound.ts';
import { emptyCase, fold } from '../../src/core/reduce.ts';
import type { Evidence, Post } from './evidence.ts';
import { retell } from './retell.ts';
import { flow, settings } from './scene.ts';

/** What the desk promises, checked on what is left when it is over. */
export interface Judgement {
  /** Empty when every promise was kept. */
  readonly broken: readonly string[];
  readonly counts: Counts;
}

export interface Counts {
  readonly cases: number;
  /** Messages of askers: sent, acknowledged, and what became of them. */
  readonly sent: number;
  readonly acknowledged: number;
  readonly lost: number;
  readonly doubled: number;
  readonly events: number;
  readonly messages: number;
  readonly undelivered: number;
  /** Postings of a message that the platform had before: it knows them by their id. */
  readonly again: { readonly afterCrash: number; readonly notAnswered: number; readonly unexplained: number };
  readonly timers: { readonly set: number; readonly rang: number; readonly takenBack: number };
  /** Cases whose snapshot was in the cache at the end. */
  readonly snapshots: number;
}

type Broken = (what: string) => void;

/** Longer without an answer than this, milliseconds, and the desk may send it again. */
const answerWithin = 500;
/** That it was posted may take so long to be written, milliseconds, and so much longer once the database is back. */
const mark = 1000;
const recovery = 5000;

export function judge(evidence: Evidence): Judgement {
  const broken: string[] = [];
  const breaks =
    (check: string): Broken =>
    (what) =>
      broken.push(`${check}: ${what}`);
  const inbound = checkInbound(evidence, breaks('taken in'));
  checkEvents(evidence, breaks('events'));
  const undelivered = checkDelivered(evidence, breaks('delivered'));
  checkOrder(evidence, breaks('order'));
  const again = checkAgain(evidence, breaks('posted twice'));
  checkAmends(evidence, breaks('amends'));
  const timers = checkTimers(evidence, breaks('timers'));
  checkFolds(evidence, breaks('fold'));
  checkStories(evidence, breaks('story'));
  return {
    broken,
    counts: {
      cases: evidence.cases.length,
      ...inbound,
      events: evidence.numbers.length,
      messages: new Set(evidence.posts.map(({ id }) => id)).size,
      undelivered,
      again,
      timers,
      snapshots: evidence.snapshots.size,
    },
  };
}

/** Every acknowledged message is in the journal once, was taken in once, and nothing is there that nobody sent. */
function checkInbound({ sent, turns }: Evidence, broken: Broken) {
  const name = (thread: string, id: string): string => JSON.stringify([thread, id]);
  const times = tally(turns.map(({ thread, inbound }) => name(thread, inbound)));
  let lost = 0;
  let doubled = 0;
  const known = new Set<string>();
  for (const { inbound, answers } of sent) {
    const key = name(inbound.thread, inbound.id);
    known.add(key);
    const kept = times.get(key) ?? 0;
    if (answers.length === 0) broken(`${inbound.id} was never acknowledged`);
    else if (kept === 0) {
      lost += 1;
      broken(`${inbound.id} was acknowledged, and is not in the journal`);
    }
    const taken = answers.filter((answer) => answer === 'taken').length;
    if (kept > 1 || taken > 1) {
      doubled += 1;
      broken(`${inbound.id} stands ${kept} times in the journal and was taken in ${taken} times`);
    }
  }
  for (const { thread, inbound } of turns) {
    if (!known.has(name(thread, inbound)) && !inbound.startsWith('rang:'))
      broken(`${inbound} stands in the journal of ${thread}, and nobody sent it`);
  }
  return {
    sent: sent.length,
    acknowledged: sent.filter(({ answers }) => answers.length > 0).length,
    lost,
    doubled,
  };
}

/** Events are numbered from 1 without gaps and doubles, up to where the case says that it stands. */
function checkEvents({ cases, numbers, events }: Evidence, broken: Broken): void {
  const byThread = Map.groupBy(numbers, ({ thread }) => thread);
  for (const { thread, seq } of cases) {
    const found = (byThread.get(thread) ?? []).map((row) => row.seq).sort((a, b) => a - b);
    if (found.length !== seq || found.some((one, i) => one !== i + 1))
      broken(`${thread} stands at ${seq} and has the events ${found.join(' ')}`);
    const read = (events.get(thread) ?? []).map((event) => event.seq);
    if (read.join() !== found.join()) broken(`${thread} is read as the events ${read.join(' ')}`);
  }
  for (const thread of byThread.keys())
    if (!cases.some((one) => one.thread === thread)) broken(`events of ${thread}, which has no case`);
}

/** All that was ever given out to be posted was posted; nothing waits, nothing was set aside. */
function checkDelivered({ cases, posts, outbox }: Evidence, broken: Broken): number {
  for (const { id, state } of outbox) broken(`message ${id} is ${state}`);
  const posted = new Set(posts.map(({ id }) => placeOf(id)));
  let missing = 0;
  for (const { id, thread, sent } of cases) {
    for (let n = 1; n <= sent; n++) {
      if (posted.has(`${id}.${n}`)) continue;
      missing += 1;
      broken(`message ${id}.${n} of ${thread} never reached the platform`);
    }
  }
  return missing + outbox.length;
}

/** In a thread each message has one name and one content, and they come in the order of their numbers. */
function checkOrder({ cases, posts }: Evidence, broken: Broken): void {
  const caseOf = new Map(cases.map((one) => [one.thread, one]));
  for (const [thread, all] of Map.groupBy(posts, (post) => post.thread)) {
    const kase = caseOf.get(thread);
    const first = new Map<string, Post>();
    for (const post of all) {
      const place = placeOf(post.id);
      const before = first.get(place);
      if (!before) first.set(place, post);
      else if (before.id !== post.id)
        broken(`${place} of ${thread} was posted as ${before.id} and as ${post.id}`);
      else if (JSON.stringify(before.outbound) !== JSON.stringify(post.outbound))
        broken(`${post.id} of ${thread} came again with other content`);
    }
    const order = [...first.keys()];
    const numbers = order.map((place) => Number(place.split('.')[1]));
    for (const [i, place] of order.entries()) {
      if (!kase || place !== `${kase.id}.${numbers[i]}` || (numbers[i] as number) > kase.sent)
        broken(`${place} was posted in ${thread}, whose case gave out no such message`);
      if (i > 0 && (numbers[i - 1] as number) > (numbers[i] as number))
        broken(`in ${thread}, ${place} came after ${order[i - 1]}`);
    }
  }
}

/**
 * A message that comes again under its id is dropped by a platform that keeps ids, and doubled by others. It may come
 * again after a crash of the desk or the database, or where the platform did not say that it had it; never else.
 */
function checkAgain({ posts, ends, outages }: Evidence, broken: Broken): Counts['again'] {
  const counts = { afterCrash: 0, notAnswered: 0, unexplained: 0 };
  // Who stops in order leaves nothing in doubt.
  const endOf = new Map(ends.flatMap(({ desk, real, inOrder }) => (inOrder ? [] : [[desk, real]])));
  const last = new Map<string, Post>();
  for (const post of posts) {
    const before = last.get(post.id);
    last.set(post.id, post);
    if (!before) continue;
    const ended = endOf.get(before.desk) ?? Number.POSITIVE_INFINITY;
    const unanswered =
      before.answer === null ||
      before.answer.reference === null ||
      before.answer.real - before.real > answerWithin;
    const away = outages.some(({ from, to }) => from - mark <= before.real && before.real <= to + recovery);
    if (unanswered) counts.notAnswered += 1;
    else if (ended <= post.real || away) counts.afterCrash += 1;
    else {
      counts.unexplained += 1;
      broken(
        `${post.id} of ${post.thread} came again after ${post.real - before.real} ms, from desk ${post.desk} after desk ${before.desk}, and nobody had crashed`,
      );
    }
  }
  return counts;
}

/** A change to a message names one that stands in its thread and is the question it changes. */
function checkAmends({ posts }: Evidence, broken: Broken): void {
  const questions = new Map<string, Set<string>>();
  for (const { thread, outbound, id, amends } of posts) {
    if (outbound.kind !== 'ask' && outbound.kind !== 'amend') continue;
    const key = JSON.stringify([thread, outbound.key]);
    if (outbound.kind === 'ask') questions.set(key, (questions.get(key) ?? new Set()).add(`m-${id}`));
    else if (!questions.get(key)?.has(amends ?? ''))
      broken(`${id} of ${thread} changes ${amends ?? 'nothing'}, which is not its question`);
  }
}

interface Timer {
  readonly key: string;
  readonly due: number;
  /** How it ended: by ringing, as the end of a wait or to ask how it went on, or because something else came first. */
  ended: { readonly by: 'waking' | 'asking' | 'else'; readonly at: number } | null;
}

/** Waits, and what a case is asked after, as the events tell them; in the order in which they were set. */
function timersOf(thread: string, events: readonly Event[]): Timer[] {
  const timers: Timer[] = [];
  let kase = emptyCase(thread);
  for (const event of events) {
    kase = fold(kase, [event]);
    const on = [kase.rest, kase.followUp].flatMap((one) =>
      one && one.due !== null ? [{ key: one.key, due: one.due }] : [],
    );
    const same = (a: { key: string; due: number }, b: { key: string; due: number }): boolean =>
      a.key === b.key && a.due === b.due;
    for (const timer of timers)
      if (!timer.ended && !on.some((one) => same(one, timer)))
        timer.ended = { by: endedBy(event), at: event.at };
    for (const one of on)
      if (!timers.some((timer) => !timer.ended && same(timer, one))) timers.push({ ...one, ended: null });
  }
  return timers;
}

const endedBy = ({ kind, by }: Event): 'waking' | 'asking' | 'else' =>
  kind === 'woken' && by === 'desk' ? 'waking' : kind === 'follow-up-due' ? 'asking' : 'else';

/** Every timer that was set rang once, not early, or was taken back. */
function checkTimers(evidence: Evidence, broken: Broken): Counts['timers'] {
  const { cases, events, turns, posts, timers: left } = evidence;
  const counts = { set: 0, rang: 0, takenBack: 0 };
  for (const { thread, key } of left) broken(`${key} of ${thread} is still set`);
  const rung = Map.groupBy(
    turns.filter(({ inbound }) => inbound.startsWith('rang:')),
    ({ thread }) => thread,
  );
  const first = Map.groupBy(firstOnly(posts), ({ thread }) => thread);
  for (const { thread } of cases) {
    const timers = timersOf(thread, events.get(thread) ?? []);
    const said = first.get(thread) ?? [];
    const set = said.flatMap(({ outbound }) => (outbound.kind === 'remind' ? [outbound] : []));
    const backs = tally(said.flatMap(({ outbound }) => (outbound.kind === 'unremind' ? [outbound.key] : [])));
    const rings = said.filter(
      ({ outbound }) =>
        outbound.kind === 'say' && /^The (?:time is over|part should be here)/.test(outbound.words),
    );
    const marks = tally((rung.get(thread) ?? []).map(({ inbound }) => inbound));
    const names = new Set(timers.map(({ key, due }) => `rang:${key}:${due}`));
    for (const [mark, times] of marks) {
      if (times > 1) broken(`${mark} of ${thread} rang ${times} times`);
      if (!names.has(mark)) broken(`${mark} of ${thread} rang and was never set`);
    }
    for (const { key, due } of set)
      if (!names.has(`rang:${key}:${due}`)) broken(`${key} of ${thread} was set for ${due} without a wait`);
    let ringing = 0;
    for (const { key, due, ended } of timers) {
      counts.set += 1;
      const mark = marks.has(`rang:${key}:${due}`);
      if (!set.some((one) => one.key === key && one.due === due))
        broken(`${key} of ${thread}, due at ${due}, was never set`);
      if (ended === null) broken(`${key} of ${thread}, due at ${due}, never rang`);
      else if (ended.by !== 'else') {
        counts.rang += 1;
        const ring = ended.by === 'waking' ? rings[ringing] : undefined;
        if (ended.by === 'waking') ringing += 1;
        if (!mark) broken(`${key} of ${thread}, due at ${due}, woke the case without ringing`);
        if (ended.at < due || (ring && ring.at < due))
          broken(`${key} of ${thread}, due at ${due}, rang early`);
      } else {
        counts.takenBack += 1;
        // A person came first: it was taken back, set anew, or rang and meant nothing any more.
        const taken = (backs.get(key) ?? 0) > 0;
        if (taken) backs.set(key, (backs.get(key) as number) - 1);
        if (!taken && !mark && set.filter((one) => one.key === key).length < 2)
          broken(`${key} of ${thread}, due at ${due}, neither rang nor was taken back`);
      }
    }
    if (rings.length !== ringing)
      broken(`${thread} was woken ${ringing} times and was told so ${rings.length} times`);
  }
  return counts;
}

/** Events fold to the same bytes here, in the desk, and from a snapshot on. */
function checkFolds({ cases, events, told, snapshots }: Evidence, broken: Broken): void {
  for (const { thread } of cases) {
    const all = events.get(thread) ?? [];
    const folded = JSON.stringify(fold(emptyCase(thread), all));
    if (JSON.stringify(fold(emptyCase(thread), all)) !== folded) broken(`${thread} folds in two ways`);
    if (told.get(thread) !== folded) broken(`${thread} was told differently by the desk`);
    const snapshot = snapshots.get(thread);
    if (!snapshot) continue;
    if (snapshot.from !== snapshot.kase.seq) broken(`the snapshot of ${thread} is of another history`);
    else if (JSON.stringify(fold(snapshot.kase, snapshot.after)) !== folded)
      broken(`${thread} folds differently from its snapshot at ${snapshot.kase.seq}`);
  }
}

/** Each case is what the core makes of its messages, each taken once. */
function checkStories({ cases, sent, turns, posts, events }: Evidence, broken: Broken): void {
  const words = Map.groupBy(sent, ({ inbound }) => inbound.thread);
  const first = Map.groupBy(firstOnly(posts), ({ thread }) => thread);
  const kept = Map.groupBy(turns, ({ thread }) => thread);
  for (const { thread } of cases) {
    const known = new Map((words.get(thread) ?? []).map(({ inbound }) => [inbound.id, inbound]));
    const inbounds = (kept.get(thread) ?? []).flatMap(
      ({ inbound }) => known.get(inbound) ?? ringing(thread, inbound),
    );
    // Their order on the platform is looked at elsewhere.
    const messages = (first.get(thread) ?? [])
      .toSorted((a, b) => numberOf(a) - numberOf(b))
      .map(({ outbound }) => outbound);
    const wrong = retell({ thread, inbounds, events: events.get(thread) ?? [], messages }, flow, settings);
    if (wrong) broken(wrong);
  }
}

function ringing(thread: string, id: string): Inbound[] {
  const found = /^rang:(.+):(\d+)$/.exec(id);
  if (!found) return [];
  const by = { id: 'desk', name: 'desk', roles: [] };
  return [{ kind: 'rang', id, thread, key: found[1] as string, at: Number(found[2]), by }];
}

/** A message's place in its case: its id without the mark of a question. */
const placeOf = (id: string): string => id.replace(/\.q$/, '');

const numberOf = ({ id }: Post): number => Number(placeOf(id).split('.')[1]);

function firstOnly(posts: readonly Post[]): Post[] {
  const seen = new Set<string>();
  return posts.filter(({ id }) => !seen.has(id) && seen.add(id));
}

function tally<T>(items: readonly T[]): Map<T, number> {
  const counts = new Map<T, number>();
  for (const item of items) counts.set(item, (counts.get(item) ?? 0) + 1);
  return counts;
}
