import type { Event } from '../../shared/case.ts';
import { deskId } from '../core/turn.ts';
import type { Journal } from '../journal/journal.ts';
import { anyErasure, erasuresOf } from '../keeping/erasure.ts';

/**
 * Of which cases something may be learnt: not of those that their owners gave up, nor of people who were erased. What only
 * lost its words because it is old still counts.
 */
export async function notGivenUp(
  journal: Pick<Journal, 'takenIn'>,
): Promise<(events: readonly Event[], thread: string) => Promise<boolean>> {
  const erased = new Set(await journal.takenIn(anyErasure));
  const byAsker = new Map<string, ReadonlySet<string>>();
  return async (events, thread) => {
    if (events.some(({ kind, by }) => kind === 'forgotten' && by !== deskId)) return false;
    if (!erased.has(thread)) return true;
    // Whose erasure it was is looked up only where somebody else in the case was erased, too.
    if (!events.some(({ kind }) => kind === 'erased')) return false;
    const asker = events.find(({ kind }) => kind === 'opened')?.by ?? '';
    const own = byAsker.get(asker) ?? new Set(await journal.takenIn(erasuresOf(asker)));
    byAsker.set(asker, own);
    return !own.has(thread);
  };
}
