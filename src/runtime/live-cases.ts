import type { Case, Event } from '../../shared/case.ts';
import type { Cache } from '../cache/cache.ts';
import { emptyCase, fold } from '../core/reduce.ts';
import type { CaseLog, Mark } from '../journal/journal.ts';

/**
 * Cases as they stand, so that a turn need not fold a case from its beginning: the latest in memory, others as snapshots
 * in the cache, each at a place in the journal. The journal alone is the truth; whatever is missing, older or of another
 * history is folded again from there.
 */
export interface LiveCases {
  /** As far as this instance knows; somebody else may have written since, and then the journal says so at `append`. */
  known(thread: string): Promise<Live>;
  /** As the journal has it now. */
  current(thread: string): Promise<Live>;
  /** What a turn made of it. */
  moved(thread: string, live: Live): void;
  /** Not kept anywhere any more. */
  drop(thread: string): Promise<'gone' | 'unsure'>;
  readonly size: number;
}

export interface Live {
  readonly kase: Case;
  readonly mark: Mark | null;
}

/** Cases in memory. */
const most = 1000;
/** Events after which a new snapshot is worth it: folding so many again costs less than writing one. */
const every = 12;

export function liveCases(log: CaseLog, cache: Cache): LiveCases {
  /** Oldest first. */
  const memory = new Map<string, Live>();
  /** Where the last snapshot of a case in memory was taken. */
  const saved = new Map<string, number>();

  function keep(thread: string, live: Live): Live {
    memory.delete(thread);
    memory.set(thread, live);
    if (memory.size > most) {
      const [oldest] = memory.keys();
      memory.delete(oldest as string);
      saved.delete(oldest as string);
    }
    return live;
  }

  async function replayed(thread: string, from: Live | null): Promise<Live> {
    const stretch = await log.read(thread, from?.mark ?? undefined);
    // Words that were taken out since may still stand in what was remembered.
    const usable =
      from?.mark && stretch.from === from.mark.seq && !stretch.events.some(takesWordsOut) ? from : null;
    if (from?.mark && !usable && stretch.from !== 0) return replayed(thread, null);
    return { kase: fold(usable?.kase ?? emptyCase(thread), stretch.events), mark: stretch.mark };
  }

  async function snapshot(thread: string): Promise<Live | null> {
    const found = (await cache.get('case', thread)) as Live | undefined;
    if (!found) return null;
    saved.set(thread, found.kase.seq);
    return found;
  }

  return {
    async known(thread) {
      const live = memory.get(thread);
      return keep(thread, live ?? (await replayed(thread, await snapshot(thread))));
    },
    async current(thread) {
      return keep(thread, await replayed(thread, memory.get(thread) ?? (await snapshot(thread))));
    },
    moved(thread, live) {
      keep(thread, live);
      if (live.kase.seq - (saved.get(thread) ?? 0) < every) return;
      saved.set(thread, live.kase.seq);
      cache.put('case', thread, live);
    },
    async drop(thread) {
      memory.delete(thread);
      saved.delete(thread);
      return cache.remove('case', thread);
    },
    get size() {
      return memory.size;
    },
  };
}

const takesWordsOut = ({ kind }: Event): boolean => kind === 'erased' || kind === 'forgotten';
