import { beforeEach, describe, expect, test } from 'vitest';
import type { Inbound } from '../../shared/inbound.ts';
import { type Cache, noCache } from '../../src/cache/cache.ts';
import { solve } from '../../src/core/plan/plan.ts';
import { emptyCase, fold } from '../../src/core/reduce.ts';
import type { Settings } from '../../src/core/settings.ts';
import { step } from '../../src/core/step.ts';
import type { Notice } from '../../src/notice.ts';
import { createPlans, type Solve } from '../../src/runtime/plans.ts';
import { workerSolver } from '../../src/runtime/solver.ts';
import { following } from '../conversations/thread.ts';
import { people, radio } from '../core/example-flow.ts';

const { decide: _decide, ...plain } = following('drain');
const settings: Settings = plain;

/** The turns up to the first planned question, each decided by `plans`; what came out of all of them. */
async function conversation(plans: ReturnType<typeof createPlans>, flow = radio): Promise<unknown[]> {
  let kase = emptyCase('t');
  const results: unknown[] = [];
  const inbounds = [
    { kind: 'opened', words: 'it hums', place: '' },
    { kind: 'chose', answer: 'hums' },
    { kind: 'chose', answer: 'solid' },
    { kind: 'asked', what: 'why' },
  ];
  for (const [i, content] of inbounds.entries()) {
    const inbound = { id: `${i}`, thread: 't', at: i, by: people.asker, ...content } as Inbound;
    const { events, outbound } = await plans.decided(flow, (given) => step(kase, inbound, flow, given));
    kase = fold(kase, events);
    results.push({ events, outbound });
  }
  return results;
}

let notices: Notice[];
let solved: number;
const counting: Solve = async (...task) => {
  solved += 1;
  return solve(...task);
};
const plansOf = (cache: Cache, solver: Solve = counting) =>
  createPlans({ settings, cache, solve: solver, notify: (notice) => notices.push(notice) });
beforeEach(() => {
  notices = [];
  solved = 0;
});

describe('plans', () => {
  test('remembered give the turns that a plan worked out on the spot gives', async () => {
    const expected = await conversation({ decided: async (_flow, turn) => turn(settings) });
    const plans = plansOf(noCache);
    expect(await conversation(plans)).toEqual(expected);
    const once = solved;
    expect(once).toBeGreaterThan(0);
    expect(await conversation(plans)).toEqual(expected);
    expect(solved).toBe(once);
  });

  test('come from the cache in another desk, and from no other flow, version or community', async () => {
    const values = new Map<string, string>();
    const cache: Cache = {
      ...noCache,
      get: async (_of, key) => JSON.parse(values.get(key) ?? 'null') ?? undefined,
      put: (_of, key, value) => void values.set(key, JSON.stringify(value)),
    };
    const expected = await conversation(plansOf(cache));
    solved = 0;
    expect(await conversation(plansOf(cache))).toEqual(expected);
    expect(solved).toBe(0);
    expect(notices.at(-1)).toMatchObject({ kind: 'plan', from: 'cache' });
    await conversation(plansOf(cache), { ...radio, version: radio.version + 1 });
    expect(solved).toBeGreaterThan(0);
    solved = 0;
    const dearer = { ...settings, community: { ...settings.community, hour: settings.community.hour * 2 } };
    await conversation(createPlans({ settings: dearer, cache, solve: counting, notify: () => undefined }));
    expect(solved).toBeGreaterThan(0);
  });

  test('wanted by many at once are worked out once', async () => {
    const plans = plansOf(noCache);
    await conversation(plans);
    const once = solved;
    solved = 0;
    const fresh = plansOf(noCache);
    await Promise.all(Array.from({ length: 10 }, () => conversation(fresh)));
    expect(solved).toBe(once);
  });

  test('that cannot be worked out fail the turn, and are tried again the next time', async () => {
    let broken = true;
    const plans = plansOf(noCache, async (...task) => {
      if (broken) throw new Error('no plan');
      return solve(...task);
    });
    await expect(conversation(plans)).rejects.toThrow('no plan');
    broken = false;
    expect(await conversation(plans)).toHaveLength(4);
  });

  test('worked out in another thread are the same', async () => {
    const solver = workerSolver();
    const expected = await conversation(plansOf(noCache));
    expect(await conversation(plansOf(noCache, solver.solve))).toEqual(expected);
    await solver.stop();
  });
});
