import type { Case, Event } from '../../shared/case.ts';
import { deskId } from '../core/turn.ts';
import type { Journal } from '../journal/journal.ts';
import { anyErasure, erasuresOf } from '../keeping/erasure.ts';

/**
 * Cases that their owners gave up, or whose owners were erased: nothing is learnt from them any more. What only lost its words
 * because it is old still counts.
 */
export async function givenUp(
  journal: Pick<Journal, 'takenIn'>,
): Promise<(kase: Case, events: readonly Event[]) => Promise<boolean>> {
  const erased = new Set(await journal.takenIn(anyErasure));
  const byAsker = new Map<string, ReadonlySet<string>>();
  return async (kase, events) => {
    if (events.some(({ kind, by }) => kind === 'forgotten' && by !== deskId)) return true;
    if (!erased.has(kase.id)) return false;
    // Whose erasure it was is looked up only where somebody else in the case was erased, too.
    if (!events.some(({ kind }) => kind === 'erased')) return true;
    const own = byAsker.get(kase.asker) ?? new Set(await journal.takenIn(erasuresOf(kase.asker)));
    byAsker.set(kase.asker, own);
    return own.has(kase.id);
  };
}
