import type { Event } from '../../shared/case.ts';
import type { Flow } from '../../shared/flow.ts';
import { emptyCase, fold } from '../core/reduce.ts';
import type { Journal } from '../journal/journal.ts';
import { type SettledCase, settledCase } from './settled.ts';

const page = 200;

/**
 * Every settled case of a journal whose flow is still here, one after the other, in the order in which they were opened; with
 * `which` only those whose events it likes. Nobody's words are read.
 */
export async function* allSettled(
  journal: Pick<Journal, 'settled'>,
  flows: readonly Flow[],
  which: (events: readonly Event[], thread: string) => boolean | Promise<boolean> = () => true,
): AsyncGenerator<SettledCase> {
  const byId = new Map(flows.map((flow) => [flow.flow, flow]));
  let mark: number | null = null;
  for (;;) {
    const threads: Awaited<ReturnType<Journal['settled']>> = await journal.settled(mark, page);
    for (const { thread, events } of threads) {
      const kase = fold(emptyCase(thread), events);
      const flow = byId.get(kase.flow ?? '');
      const settled = flow ? settledCase(kase, flow) : null;
      if (settled && (await which(events, thread))) yield settled;
    }
    const last = threads.at(-1);
    if (!last) return;
    mark = last.mark;
  }
}

/** Nobody has wanted it forgotten since it was settled. */
export const stillTold = (events: readonly Event[]): boolean =>
  events.findLast(({ kind }) => kind === 'settled' || kind === 'forgotten')?.kind === 'settled';
