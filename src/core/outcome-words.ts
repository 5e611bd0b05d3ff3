import type { Case } from '../../shared/case.ts';
import type { Community } from '../../shared/community.ts';
import type { Flow } from '../../shared/flow.ts';
import type { View } from './next.ts';
import { type Confirmed, confirmedBy, roleOf, type Spent, saidBy, spentOf, workOf } from './spent.ts';
import { deskId } from './turn.ts';
import { inline, listWords, minutesWords, moneyWords, readable } from './wording.ts';

/** How a case ended, in the words of its card: what it was, how that is known, who says so, what it took. */
export function outcomeLines({ kase, tables: { flow }, settings: { community } }: View): string[] {
  const { outcome: end } = kase;
  if (!end) return [];
  const test = end.safety === undefined ? '' : ` Electrical test ${end.safety}.`;
  const lines = [`${end.outcome}.${test}`];
  if (end.barrier) lines.push(`Barrier: ${end.barrier}.`);
  if (end.fault !== null) {
    const known = confirmedBy(kase, flow) ?? (end.by === deskId ? 'guess' : 'person');
    lines.push(
      `${known === 'guess' ? 'Most likely' : 'What it was'}: ${inline(faultName(flow, end.fault))}.`,
    );
    lines.push(`How that is known: ${knownWords[known]}.`);
  }
  const who = tellerWords(kase);
  if (who !== null) lines.push(`Who says so: ${who}.`);
  const spent = spentOf(workOf(kase, flow), flow, community);
  lines.push(`Spent, by the guide’s figures: ${spentWords(spent, community)}.`);
  return lines;
}

export const faultName = (flow: Flow, fault: string): string =>
  flow.faults.find(({ id }) => id === fault)?.name ?? readable(fault);

const knownWords: Readonly<Record<NonNullable<Confirmed> | 'guess', string>> = {
  person: 'the person who settled it says so',
  cure: 'it works again after what mends this and hardly anything else',
  guess: 'a guess, the likeliest by what was seen',
};

/** By role, nobody by name. Null where nobody said anything: it was given up. */
function tellerWords(kase: Case): string | null {
  const teller = saidBy(kase);
  if (teller === null) return null;
  if (teller !== 'desk') return roles[teller];
  const last = kase.answers.findLast(({ kind }) => kind === 'tested');
  if (last?.kind !== 'tested' || last.result !== 'works' || last.by === deskId) return null;
  return `the bot, after ${roles[roleOf(kase, last.by)]} said that it works again`;
}

const roles = { asker: 'the owner', mender: 'a mender', moderator: 'a moderator' } as const;

/** What was not spent is not named. */
export function spentWords({ money, minutes, waited }: Omit<Spent, 'worth'>, community: Community): string {
  const parts = [
    ...(money > 0 ? [`about ${moneyWords(money, community)} for parts`] : []),
    ...(minutes > 0 ? [`${minutesWords(minutes)} of work`] : []),
    ...(waited > 0 ? [`${minutesWords(waited)} of waiting`] : []),
  ];
  return parts.length === 0 ? 'nothing' : listWords(parts, 'and');
}
