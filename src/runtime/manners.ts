import type { Inbound } from '../../shared/inbound.ts';
import { readRedFlags } from '../core/words/red-flags.ts';

/** How much one person may send: so many at once, and then so many a second. Signs of danger always pass. */
export interface Manners {
  readonly burst: number;
  readonly perSecond: number;
}

export const usualManners: Manners = { burst: 20, perSecond: 1 };

/** People remembered; who was quiet longest is forgotten first. */
const peopleAtMost = 10_000;

/** Says of each message whether it is too much from this person just now. `now` in milliseconds. */
export function tooMuch({ burst, perSecond }: Manners, now: () => number): (inbound: Inbound) => boolean {
  const left = new Map<string, { readonly tokens: number; readonly at: number }>();
  return (inbound) => {
    if (inbound.kind === 'rang' || inbound.kind === 'changed' || dangerous(inbound)) return false;
    const { id } = inbound.by;
    const at = now();
    const before = left.get(id) ?? { tokens: burst, at };
    const tokens = Math.min(burst, before.tokens + (Math.max(0, at - before.at) / 1000) * perSecond);
    left.delete(id);
    left.set(id, { tokens: tokens < 1 ? tokens : tokens - 1, at });
    if (left.size > peopleAtMost) left.delete(left.keys().next().value as string);
    return tokens < 1;
  };
}

function dangerous(inbound: Inbound): boolean {
  if (inbound.kind === 'chose') return inbound.answer === 'danger';
  return (inbound.kind === 'said' || inbound.kind === 'opened') && readRedFlags(inbound.words).length > 0;
}
