import type { Case } from '../../shared/case.ts';
import type { Community } from '../../shared/community.ts';
import type { Flow } from '../../shared/flow.ts';
import { priceIn, ratesOf } from './settings.ts';
import { deskId } from './turn.ts';

/** What a case took, how what it was is known, and who says so: by the flow's own figures, and by roles, not names. */

export interface Work {
  /** Hands-on minutes, and minutes waited. */
  readonly minutes: number;
  readonly waited: number;
  /** Parts bought: remedies by id. */
  readonly parts: readonly string[];
}

export interface Spent {
  /** Parts, at the middle of each price, in the community's currency. A part that the flow does not know any more has no price. */
  readonly money: number;
  readonly minutes: number;
  readonly waited: number;
  /** What the time is worth in that currency, waiting at its share, as the plan counts both. */
  readonly worth: number;
}

export function spentOf({ minutes, waited, parts }: Work, flow: Flow, community: Community): Spent {
  const { minute, wait } = ratesOf(community);
  const money = parts.reduce((sum, bought) => {
    const part = flow.remedies.find(({ id }) => id === bought)?.part;
    return sum + (part ? priceIn(community, part.price) : 0);
  }, 0);
  return { money, minutes, waited, worth: minutes * minute + waited * wait };
}

/** Each step that was answered or tested counts once. */
export function workOf({ answers }: Pick<Case, 'answers'>, flow: Flow): Work {
  const done = new Set(
    answers.flatMap((answer) =>
      answer.kind === 'answered' || answer.kind === 'read'
        ? [answer.step]
        : answer.kind === 'tested'
          ? answer.remedies
          : [],
    ),
  );
  const steps = [...flow.checks, ...flow.remedies].filter(({ id }) => done.has(id));
  return {
    minutes: steps.reduce((sum, { minutes }) => sum + minutes, 0),
    waited: steps.reduce((sum, { wait_minutes: wait }) => sum + wait, 0),
    parts: answers.flatMap((answer) => (answer.kind === 'part-arrived' ? [answer.step] : [])),
  };
}

/** A person who settled it said so, or it works after what cures it. Null: what it was is a guess. */
export type Confirmed = 'person' | 'cure' | null;

/** A cure confirms only what the remedies tried last surely mend; a remedy that mends three things points to none. */
export function confirmedBy(kase: Case, flow: Flow): Confirmed {
  const { outcome } = kase;
  if (!outcome || outcome.fault === null || outcome.fault === 'something-else') return null;
  if (outcome.by !== deskId) return 'person';
  const last = kase.answers.findLast(({ kind }) => kind === 'tested');
  if (outcome.outcome !== 'Fixed' || last?.kind !== 'tested' || last.result !== 'works') return null;
  const cured = flow.faults
    .map(({ id }) => id)
    .filter((fault) =>
      flow.remedies.some(({ id, cures }) => last.remedies.includes(id) && mends(flow, cures, fault)),
    );
  return cured.length === 1 && cured[0] === outcome.fault ? 'cure' : null;
}

/** Above a chance that a wrong part is changed and it works by luck. */
const surely = 0.3;

const mends = (flow: Flow, cures: Flow['remedies'][number]['cures'], fault: string): boolean => {
  const group = Object.entries(flow.groups).find(
    ([name, members]) => members.includes(fault) && cures[name] !== undefined,
  )?.[0];
  return (cures[fault] ?? (group === undefined ? cures.otherwise : cures[group]) ?? 0) >= surely;
};

/** In which role somebody said how it ended; `desk`: nobody settled it, the desk did, since it works again. */
export type Teller = 'asker' | 'mender' | 'moderator' | 'desk';

export function saidBy(kase: Case): Teller | null {
  const { outcome, followed } = kase;
  if (outcome === null) return null;
  const { by } = changedIt(kase) && followed ? followed : outcome;
  return by === deskId ? 'desk' : roleOf(kase, by);
}

/** What became of it since is another end, and known from whoever told of it. */
const changedIt = ({ outcome, followed }: Case): boolean =>
  followed !== null && followed.of === `end:${outcome?.at}` && followed.was.outcome !== outcome?.outcome;

export function roleOf({ people }: Pick<Case, 'people'>, person: string): Exclude<Teller, 'desk'> {
  const roles = Object.hasOwn(people, person) ? (people[person]?.roles ?? []) : [];
  return roles.includes('moderator') ? 'moderator' : roles.includes('mender') ? 'mender' : 'asker';
}
