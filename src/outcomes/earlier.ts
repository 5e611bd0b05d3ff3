import type { Case, Event } from '../../shared/case.ts';
import type { Flow } from '../../shared/flow.ts';
import { toldIn } from '../core/history.ts';
import { emptyCase, fold } from '../core/reduce.ts';
import type { Earlier, Settings } from '../core/settings.ts';
import { tablesOf } from '../core/step.ts';
import type { Journal } from '../journal/journal.ts';
import { allSettled, stillTold } from './all-settled.ts';
import { type SettledCase, settledCase } from './settled.ts';
import { type Asked, addSettled, type CaseIndex, newIndex, removeSettled, similar } from './similar.ts';

/**
 * The settled cases of a desk in memory, for whoever wants those most like another one. What this desk settles, takes up again or
 * forgets is there at once; what other instances and commands do, with the next `load`.
 */
export interface EarlierCases {
  readonly find: Earlier;
  /** What a turn made of a case. */
  turned(kase: Case, events: readonly Event[]): void;
  /** Looks at a case in the journal once more. */
  refresh(thread: string): Promise<void>;
  /** Reads all of them from the journal; what is there meanwhile is the old state. Rejects as the journal does. */
  load(): Promise<void>;
  /** Resolves once nothing is read any more. */
  stop(): Promise<void>;
  readonly size: number;
}

export function earlierCases({
  journal,
  flows,
  settings,
}: {
  readonly journal: Pick<Journal, 'read' | 'settled'>;
  readonly flows: readonly Flow[];
  readonly settings: Settings;
}): EarlierCases {
  const byId = new Map(flows.map((flow) => [flow.flow, flow]));
  let index = newIndex();
  /** While everything is read: what turns did since, so that nothing older is put over it. */
  let reading: { readonly fresh: CaseIndex; readonly since: Set<string> } | null = null;
  let underWay: Promise<void> = Promise.resolve();
  let stopped = false;

  function put(into: CaseIndex, settled: SettledCase): void {
    const flow = byId.get(settled.flow);
    if (flow) addSettled(into, settled, tablesOf(flow, settings));
  }

  /** Null: it is not, or not any more, one to show. */
  function is(id: string, settled: SettledCase | null): void {
    reading?.since.add(id);
    for (const one of reading ? [index, reading.fresh] : [index])
      if (settled) put(one, settled);
      else removeSettled(one, id);
  }

  const settledOf = (kase: Case): SettledCase | null => {
    const flow = byId.get(kase.flow ?? '');
    return flow ? settledCase(kase, flow) : null;
  };

  async function refresh(thread: string): Promise<void> {
    const { events } = await journal.read(thread);
    is(thread, stillTold(events) ? settledOf(fold(emptyCase(thread), events)) : null);
  }

  async function readAll(): Promise<void> {
    const fresh = newIndex();
    const since = new Set<string>();
    reading = { fresh, since };
    try {
      for await (const one of allSettled(journal, flows, stillTold)) {
        if (stopped) return;
        if (!since.has(one.id)) put(fresh, one);
      }
      index = fresh;
    } finally {
      reading = null;
    }
  }

  return {
    find(kase, limit) {
      const flow = byId.get(kase.flow ?? '');
      if (!flow) return [];
      return similar(askedOf(kase), tablesOf(flow, settings), index, limit).map(({ settled }) => settled);
    },
    turned(kase, events) {
      if (kase.state !== 'settled' || events.some(({ kind }) => kind === 'forgotten')) is(kase.id, null);
      else if (events.some(({ kind }) => kind === 'settled') || index.places.has(kase.id))
        is(kase.id, settledOf(kase));
    },
    refresh,
    load() {
      underWay = underWay.then(readAll, readAll);
      return underWay;
    },
    async stop() {
      stopped = true;
      await underWay.catch(() => undefined);
    },
    get size() {
      return index.places.size;
    },
  };
}

/** What is known of a case by now, in the form in which settled cases have it. */
function askedOf(kase: Case): Asked {
  const { complaint, details, seen } = toldIn(kase);
  return {
    id: kase.id,
    flow: kase.flow ?? '',
    complaint,
    details: Object.fromEntries(details),
    seen: [...seen].map(([check, answer]) => ({
      check,
      outcome: answer.kind === 'answered' ? answer.outcome : null,
      value: answer.kind === 'read' ? answer.value : null,
      level: answer.level,
    })),
    demonstration: kase.demonstration,
  };
}
