import type { Case, Participant } from '../../shared/case.ts';
import type { Check, Flow, Level, Limit, Tier, Unsafe } from '../../shared/flow.ts';
import { type Demand, demandOf, pathTo, type Topic } from './demand.ts';
import { toldIn } from './history.ts';

/**
 * The gate. The last thing before any question leaves, and the only place that decides whether it may.
 * It knows the flow, the case and the time, and trusts no plan: it works out again what each question asks of a person.
 */

/** Under this many volts d.c. a capacitor counts as discharged. IEC 62368-1 calls up to 60 V d.c. ES1; we ask for less. */
export const dischargedBelow = 10;
/** A proof of discharge is good for one day, in milliseconds. */
export const proofLasts = 24 * 60 * 60_000;

export type Refusal =
  | { readonly why: 'flagged' }
  | { readonly why: 'limit'; readonly limit: Limit }
  | { readonly why: 'unknown-limit'; readonly detail: string }
  | { readonly why: 'tier'; readonly needs: Tier }
  | { readonly why: 'skill'; readonly needs: Level }
  | { readonly why: 'no-meter' }
  | { readonly why: 'plugged-in' }
  | { readonly why: 'wait'; readonly until: number }
  | { readonly why: 'shut' }
  | { readonly why: 'open' }
  | { readonly why: 'no-proof' }
  | { readonly why: 'no-live-terms' }
  /** What was seen makes it dangerous to switch on. */
  | { readonly why: 'unsafe'; readonly words: string };

/** May this question be put to the person with hands on the appliance, now? Null: yes. */
export function gate(
  question: Topic,
  kase: Case,
  flow: Flow,
  at: number,
  demonstration: boolean,
): Refusal | null {
  if ((kase.flags.length > 0 || kase.alarm) && question.kind !== 'flag') return { why: 'flagged' };
  const demand = demandOf(flow, question);
  const [never] = forbidden(demand, kase, flow);
  if (never) return never;
  if (works.has(question.kind) && endsHere(kase, flow)) return { why: 'unsafe', words: forPeople };
  const unsafe = unsafeFor(question.step, demand, kase, flow);
  if (unsafe) return unsafe;
  if (demand.handsIn) {
    if (!unpluggedHolds(kase, at, demonstration)) return { why: 'plugged-in' };
    const until = waitEnds(kase, flow);
    if (at < until) return { why: 'wait', until };
  }
  for (const stage of demand.through) if (!kase.world.open.includes(stage)) return { why: 'shut' };
  if (demand.allShut && coversOff(kase) > 0) return { why: 'open' };
  // Closing what lies behind the first cover is work inside.
  const inside = demand.proof || (question.kind === 'shut' && coversOff(kase) > 1);
  if (inside && !proofHolds(kase, flow, at, demonstration)) return { why: 'no-proof' };
  if (demand.tier === 'live' && question.kind !== 'live' && !liveAgreed(kase, question)) {
    return { why: 'no-live-terms' };
  }
  return null;
}

/** Whatever is done to the appliance; only closing it again and looking things up stay. */
const works: ReadonlySet<Topic['kind']> = new Set(['check', 'do', 'part', 'open', 'prove', 'live', 'test']);
const forPeople = 'What was said about it, or could not be told, makes it one for people.';

/**
 * Everything that no preparation of the appliance can change: tier, skill, what is never done on this appliance, what
 * is not known about it yet, the meter. All of it, so that a plan can tell what asking would settle.
 */
export function forbidden(demand: Demand, kase: Case, flow: Flow): Refusal[] {
  const refusals: Refusal[] = [];
  if (rank[tierOf(kase)] < rank[demand.tier]) refusals.push({ why: 'tier', needs: demand.tier });
  if (demand.least !== null && levels.indexOf(levelOf(kase)) < levels.indexOf(demand.least)) {
    refusals.push({ why: 'skill', needs: demand.least });
  }
  if (demand.tier === 'outside') return refusals;
  for (const detail of flow.details) {
    if (!detail.choices.some((choice) => choice.limit)) continue;
    const chosen = detail.choices.find((choice) => choice.id === detailOf(kase, detail.id));
    if (!chosen) refusals.push({ why: 'unknown-limit', detail: detail.id });
    else if (chosen.limit && exceeds(demand, chosen.limit, flow))
      refusals.push({ why: 'limit', limit: chosen.limit });
  }
  if (flow.energy.stores === 'capacitors' && !hasMeter(kase)) refusals.push({ why: 'no-meter' });
  return refusals;
}

/** A finding after which nobody switches it on, unless this very step makes it safe or one that does was done since. */
export function unsafeFor(step: string, demand: Demand, kase: Case, flow: Flow): Refusal | null {
  if (!demand.powers) return null;
  for (const check of flow.checks) {
    for (const { unsafe, since, words } of dangersIn(check, kase)) {
      if (unsafe.until.includes(step)) continue;
      const made = kase.answers.some(
        (answer) => answer.kind === 'remedy-done' && answer.seq > since && unsafe.until.includes(answer.step),
      );
      if (!made) return { why: 'unsafe', words };
    }
  }
  return null;
}

interface Danger {
  readonly unsafe: Unsafe;
  /** The answer that it follows from. */
  readonly since: number;
  readonly words: string;
}

/** What a check found that makes power dangerous. In doubt it found the worst: each of its unsafe answers holds. */
function dangersIn(check: Check, kase: Case): Danger[] {
  const dangerous = [...(check.outcomes ?? []), ...(check.reading?.bands ?? [])].filter((one) => one.unsafe);
  if (dangerous.length === 0) return [];
  const { seen, aside } = toldIn(kase);
  const found = seen.get(check.id);
  if (found) {
    const ids = found.kind === 'answered' ? [found.outcome] : bandsAt(check, found.value);
    return dangerous.flatMap(({ id, unsafe }) =>
      unsafe && ids.includes(id) ? [{ unsafe, since: found.seq, words: unsafe.why }] : [],
    );
  }
  const left = aside.get(check.id);
  if (!left || !leavesDoubt(check, left.why)) return [];
  return dangerous.flatMap(({ unsafe }) =>
    unsafe
      ? [{ unsafe, since: left.seq, words: `Nobody knows yet: ${check.name}. It may be this: ${unsafe.why}` }]
      : [],
  );
}

/** Whether a check found, or may have found, what makes power dangerous. */
export const foundDanger = (check: Check, kase: Case): boolean => dangersIn(check, kase).length > 0;

/**
 * Who looked and is not sure leaves a doubt, and so does who cannot do what takes nothing but a look. Who has no number to tell
 * has measured nothing, and knows as little as before.
 */
const leavesDoubt = ({ tools, reading }: Check, why: string): boolean =>
  why === 'unsure' ? reading === undefined || tools.length === 0 : why === 'cannot' && tools.length === 0;

/** Whether putting this check aside now forbids to power the appliance. */
export const forbidsPower = (check: Check, why: string): boolean =>
  leavesDoubt(check, why) &&
  [...(check.outcomes ?? []), ...(check.reading?.bands ?? [])].some(({ unsafe }) => unsafe);

/** The bands that a value may lie in. What the peak of the mains is, is not known here: both bands beside it count. */
function bandsAt({ reading }: Check, value: number): string[] {
  const bands = reading?.bands ?? [];
  const ends = bands.map(({ below }) => (typeof below === 'number' ? below : null));
  return bands
    .filter((_, i) => {
      const from = ends.slice(0, i).findLast((end) => end !== null) ?? -Infinity;
      const to = ends.slice(i).find((end) => end !== null) ?? Infinity;
      return value >= from && value < to;
    })
    .map(({ id }) => id);
}

/**
 * Whether this appliance is for people alone: a detail was answered so that the desk's part ends, or nobody could tell
 * whether it must.
 */
export const endsHere = (kase: Case, flow: Flow): boolean => endedBy(kase, flow).length > 0;

/** The answers that end the desk's part, by number. */
export const endedBy = (kase: Case, flow: Flow): number[] =>
  flow.details.flatMap(({ id, choices }) => {
    const stops = choices.filter(({ stop }) => stop !== undefined).map((choice) => choice.id);
    if (stops.length === 0) return [];
    const stated = detailOf(kase, id);
    const left = stated === null ? toldIn(kase).aside.get(id) : undefined;
    if (left) return [left.seq];
    return kase.answers.flatMap((answer) =>
      answer.kind === 'detail-stated' && answer.detail === id && stops.includes(stated ?? '')
        ? [answer.seq]
        : [],
    );
  });

function exceeds(demand: Demand, limit: Limit, flow: Flow): boolean {
  if (limit.live === 'never' && demand.tier === 'live') return true;
  if (limit.deepest === undefined) return false;
  const allowed = pathTo(flow, limit.deepest);
  return demand.path.some((stage) => !allowed.includes(stage));
}

/** How many stages are open, or may be: those the flow lost count until somebody says that all is closed. */
export const coversOff = ({ world }: Case): number => world.open.length + world.lost.length;

/** What the platform says of somebody; undefined for who was never seen here, whatever they are called. */
export const personOf = (kase: Case, id: string): Participant | undefined =>
  Object.hasOwn(kase.people, id) ? kase.people[id] : undefined;

const rank: Readonly<Record<Tier, number>> = { outside: 0, cold: 1, live: 2 };
const levels: readonly Level[] = ['new', 'handy', 'trained'];
const ownTier: Readonly<Record<Level, Tier>> = { new: 'outside', handy: 'cold', trained: 'live' };

/** The level of whoever has the appliance in front of them: what the platform vouches for, else what they said, else new. */
export function levelOf(kase: Case): Level {
  const vouched = personOf(kase, kase.hands)?.level;
  if (vouched) return vouched;
  const said = kase.answers.findLast((a) => a.kind === 'level-stated' && a.person === kase.hands);
  // Nobody becomes trained by saying so.
  return said?.kind === 'level-stated' && said.stated === 'handy' ? 'handy' : 'new';
}

/** The deepest tier for this person in this case: their level's own, or one a moderator cleared for this very person. */
export function tierOf(kase: Case): Tier {
  const own = ownTier[levelOf(kase)];
  const { clearance } = kase;
  if (clearance === null || clearance.person !== kase.hands || !mayClear(levelOf(kase), clearance.tier))
    return own;
  return rank[clearance.tier] > rank[own] ? clearance.tier : own;
}

/** One tier more than the level's own and no further: `new` never works live. */
export const mayClear = (level: Level, tier: Tier): boolean => rank[tier] === rank[ownTier[level]] + 1;

export function hasMeter(kase: Case): boolean {
  const said = kase.answers.findLast((a) => a.kind === 'meter-stated' && a.person === kase.hands);
  return said?.kind === 'meter-stated' && said.has;
}

export const detailOf = (kase: Case, detail: string): string | null =>
  toldIn(kase).details.get(detail) ?? null;

function unpluggedHolds(kase: Case, at: number, demonstration: boolean): boolean {
  const { unplugged } = kase.world;
  return (
    unplugged !== null &&
    unplugged.by === kase.hands &&
    (demonstration || !unplugged.demonstration) &&
    at >= unplugged.at &&
    at - unplugged.at < proofLasts
  );
}

/** When the wait after unplugging is over; a clock moved for a demonstration shortens it on the demonstration's clock only. */
export function waitEnds(kase: Case, flow: Flow): number {
  const minutes = flow.energy.stores === 'none' ? 0 : flow.energy.wait_minutes;
  const { unplugged } = kase.world;
  return unplugged === null ? Infinity : unplugged.at + minutes * 60_000;
}

/** A proof holds for the hands that made it, for a day, on the clock it was made on, until power comes back. */
export function proofHolds(kase: Case, flow: Flow, at: number, demonstration: boolean): boolean {
  if (flow.energy.stores === 'none') return true;
  const { proof, charged } = kase.world;
  return (
    proof !== null &&
    !charged &&
    proof.by === kase.hands &&
    proof.demonstration === demonstration &&
    at >= proof.at &&
    at - proof.at < proofLasts
  );
}

function liveAgreed(kase: Case, question: Topic): boolean {
  const { live } = kase.world;
  return live !== null && live.step === question.step && live.by === kase.hands;
}
