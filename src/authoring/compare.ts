import type { Flow, Level } from '../../shared/flow.ts';
import type { Settings } from '../core/settings.ts';
import { tablesOf } from '../core/step.ts';
import { moneyWords } from '../core/wording.ts';
import { foresee, waysOn } from './foresee.ts';
import { imagined } from './given.ts';

/** What a changed flow changes: belief, cost and order, complaint by complaint. */

/** Shares that differ by less are not told, in per cent. */
const tell = 0.5;
/** Steps of the order that are shown. */
const far = 6;

export function compared(before: Flow, after: Flow, settings: Settings, level: Level): string {
  const lines: string[] = [
    ...names('faults', before.faults, after.faults),
    ...names('checks', before.checks, after.checks),
    ...names('remedies', before.remedies, after.remedies),
    ...names('complaints', before.complaints, after.complaints),
  ];
  const both = after.complaints.filter(({ id }) => before.complaints.some((one) => one.id === id));
  for (const complaint of both) {
    const [old, now] = [before, after].map((flow) => seen(flow, complaint.id, settings, level));
    if (!old || !now) continue;
    const moved = [...new Set([...old.shares.keys(), ...now.shares.keys()])]
      .map((fault) => ({ fault, was: old.shares.get(fault) ?? 0, is: now.shares.get(fault) ?? 0 }))
      .filter(({ was, is }) => Math.abs(is - was) * 100 >= tell)
      .sort((a, b) => Math.abs(b.is - b.was) - Math.abs(a.is - a.was));
    const cost =
      Math.abs(now.cost - old.cost) < 0.005
        ? []
        : [
            `  to expect: ${moneyWords(old.cost, settings.community)} -> ${moneyWords(now.cost, settings.community)}`,
          ];
    const order =
      old.order.join() === now.order.join()
        ? []
        : [`  order was: ${old.order.join(', ')}`, `  order now: ${now.order.join(', ')}`];
    const belief = moved.map(
      ({ fault, was, is }) => `  ${fault}: ${(100 * was).toFixed(1)} % -> ${(100 * is).toFixed(1)} %`,
    );
    if (cost.length + order.length + belief.length === 0) continue;
    lines.push(`${complaint.label} (${complaint.id})`, ...belief, ...cost, ...order);
  }
  return lines.length === 0
    ? 'Nothing changes in belief, cost or order.'
    : [...lines, '', 'Order: as long as nothing helps and the likeliest answer comes.'].join('\n');
}

interface Seen {
  readonly shares: ReadonlyMap<string, number>;
  readonly cost: number;
  readonly order: readonly string[];
}

function seen(flow: Flow, complaint: string, settings: Settings, level: Level): Seen | null {
  const tables = tablesOf(flow, settings);
  const given = imagined(flow, [`complaint=${complaint}`], level);
  if ('problems' in given) return null;
  const first = foresee(given.kase, tables, settings);
  const order: string[] = [];
  let { kase } = given;
  for (let n = 0; n < far; n++) {
    const { step } = foresee(kase, tables, settings);
    order.push(step ?? 'it stops');
    const [likeliest] = waysOn(kase, step, tables, settings);
    if (!likeliest) break;
    kase = likeliest.kase;
  }
  return {
    shares: new Map(first.belief.map(({ fault, share }) => [fault, share])),
    cost: first.plan.cost,
    order,
  };
}

function names(
  what: string,
  before: readonly { readonly id: string }[],
  after: readonly { readonly id: string }[],
): string[] {
  const [old, now] = [before, after].map((list) => list.map(({ id }) => id));
  const gone = (old ?? []).filter((id) => !now?.includes(id));
  const fresh = (now ?? []).filter((id) => !old?.includes(id));
  return [
    ...(fresh.length > 0 ? [`new ${what}: ${fresh.join(', ')}`] : []),
    ...(gone.length > 0 ? [`${what} gone: ${gone.join(', ')}`] : []),
  ];
}
