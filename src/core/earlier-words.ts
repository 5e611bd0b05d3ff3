import type { View } from './next.ts';
import { faultName, spentWords } from './outcome-words.ts';
import type { EarlierCase } from './settings.ts';
import { spentOf } from './spent.ts';
import { inline, sentence } from './wording.ts';

/** Earlier cases like this one, a line each: how each ended, what it was, how that is known, what it took, and when. */
export function earlierLines(view: View, limit: number): string[] {
  return (view.settings.earlier?.(view.kase, limit) ?? []).map((one) => earlierLine(one, view));
}

function earlierLine(one: EarlierCase, { tables: { flow }, settings: { community }, at }: View): string {
  const { outcome, barrier, safety, fault, confirmed } = one;
  const ended = [
    outcome,
    ...(safety ? [`electrical test ${safety}`] : []),
    ...(barrier ? [inline(barrier)] : []),
  ];
  const was =
    fault === null ? [] : [`${sentence(inline(faultName(flow, fault)))} (${known[confirmed ?? 'guess']}).`];
  return [
    `${ended.join(', ')}, ${ago(at - one.settled)}.`,
    ...was,
    `Spent: ${spentWords(spentOf(one, flow, community), community)}.`,
  ].join(' ');
}

const known = { person: 'a person says so', cure: 'it worked after the remedy', guess: 'a guess' } as const;

const day = 24 * 60 * 60_000;

function ago(since: number): string {
  const days = Math.floor(since / day);
  return days < 1 ? 'today' : days === 1 ? '1 day ago' : `${days} days ago`;
}
