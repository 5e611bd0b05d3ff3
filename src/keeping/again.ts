import type { Case, Unnumbered } from '../../shared/case.ts';
import type { Outbound } from '../../shared/outbound.ts';
import { leftMessage } from '../core/bench.ts';
import { timersGone } from '../core/follow-up.ts';
import { emptyCase, fold, number } from '../core/reduce.ts';
import type { CaseLog } from '../journal/journal.ts';

/** Whoever reads, decides and then finds that somebody wrote meanwhile, does it again; more often in a row is a bug. */
const tries = 50;

/** What is to happen to a case as it stands; null: nothing any more. */
export type Decide = (kase: Case) => Unnumbered | null;

/**
 * One event of the desk's own, on top of whatever the case is by now; the timers it ends are no longer kept. False: nothing
 * was to happen any more, or it had happened.
 */
export async function happen(
  log: CaseLog,
  thread: string,
  inbound: string,
  decide: Decide,
): Promise<boolean> {
  for (let attempt = 0; attempt < tries; attempt++) {
    const kase = fold(emptyCase(thread), (await log.read(thread)).events);
    const what = decide(kase);
    if (what === null) return false;
    const events = number(kase, [what]);
    const after = fold(kase, events);
    const over = timersGone(kase, after).map((key) => ({ kind: 'unremind' as const, key }));
    const { kind } = await log.append({
      thread,
      inbound,
      after: kase.seq,
      events,
      outbound: [...over, ...offTheList(kase, after)],
      state: after.state,
    });
    if (kind !== 'conflict') return kind === 'done';
  }
  throw new Error(`The case of thread ${thread} kept changing; nothing was written to it.`);
}

/** A case that people had and have no more leaves their list, with the words that stood there. */
const offTheList = (before: Case, after: Case): Outbound[] =>
  before.state === 'with people' && before.handover !== null && after.state !== 'with people'
    ? [leftMessage(after, before.handover, 'A case')]
    : [];
