import { createHash } from 'node:crypto';
import type { Flow } from '../../shared/flow.ts';
import { boundedMap } from '../cache/bounded-map.ts';
import type { Cache } from '../cache/cache.ts';
import type { Compiled } from '../core/compile.ts';
import type { Plan, Problem, ProblemState } from '../core/plan/problem.ts';
import { planKey } from '../core/plan-key.ts';
import { levelOf } from '../core/safety.ts';
import type { Decide, Settings } from '../core/settings.ts';
import type { Notify } from '../notice.ts';

/**
 * Plans remembered. A plan is a function of the flow, the community, the level and the answers; so whatever was worked out
 * once is looked up: in memory, then in the cache. The core is pure and asks for a plan in the middle of a turn: where it
 * is not in memory, the turn is given up, the plan fetched or worked out, and the turn decided again, with the same result.
 */
export interface Plans {
  /**
   * What `turn` returns; it is called again for each plan that had to be fetched first. `settings`: those that came with the
   * flow, where they are not the first ones any more.
   */
  decided<T>(flow: Flow, turn: (settings: Settings) => T, settings?: Settings): Promise<T>;
}

/** Works a plan out; in a worker, where the desk must not stand still meanwhile. */
export type Solve = (problem: Problem, state: ProblemState, budget: number) => Promise<Plan>;

export interface PlansOptions {
  readonly settings: Settings;
  readonly cache: Cache;
  readonly solve: Solve;
  readonly notify: Notify;
  /** Plans in memory. */
  readonly most?: number;
}

/** Thrown through the core by the decision that lacks its plan; caught by `decided` alone. */
class Wanted {
  readonly key: string;
  readonly compiled: Compiled;

  constructor(key: string, compiled: Compiled) {
    this.key = key;
    this.compiled = compiled;
  }
}

export function createPlans({ settings: first, cache, solve, notify, most = 5000 }: PlansOptions): Plans {
  const memory = boundedMap<Plan>(most);
  const underWay = new Map<string, Promise<Plan>>();
  const settingsOf = new WeakMap<Settings, WeakMap<Flow, Settings>>();

  async function obtain({ key, compiled }: Wanted, budget: number): Promise<Plan> {
    const began = performance.now();
    const hash = digest(key);
    const kept = (await cache.get('plan', hash)) as Plan | undefined;
    const plan = kept ?? (await solve(compiled.problem, compiled.state, budget));
    notify({ kind: 'plan', from: kept ? 'cache' : 'worked-out', took: performance.now() - began });
    memory.set(key, plan);
    if (!kept) cache.put('plan', hash, plan);
    return plan;
  }

  /** The core's settings, with plans looked up in memory only. */
  function withPlans(flow: Flow, settings: Settings): Settings {
    // Somebody else decides: a printed sheet, a test.
    if (settings.decide) return settings;
    const byFlow = settingsOf.get(settings) ?? new WeakMap<Flow, Settings>();
    settingsOf.set(settings, byFlow);
    const known = byFlow.get(flow);
    if (known) return known;
    const base = fingerprint(flow, settings);
    const decide: Decide = (compiled, kase) => {
      const key = `${base}:${levelOf(kase)}:${planKey(compiled)}`;
      const plan = memory.get(key);
      if (!plan) throw new Wanted(key, compiled);
      return plan;
    };
    const made = { ...settings, decide };
    byFlow.set(flow, made);
    return made;
  }

  return {
    async decided(flow, turn, settings = first) {
      for (;;) {
        try {
          return turn(withPlans(flow, settings));
        } catch (wanted) {
          if (!(wanted instanceof Wanted)) throw wanted;
          const running = underWay.get(wanted.key) ?? obtain(wanted, settings.budget);
          underWay.set(wanted.key, running);
          try {
            await running;
          } finally {
            underWay.delete(wanted.key);
          }
        }
      }
    },
  };
}

/** What `planKey` takes for granted: the whole flow, what the community says of prices and trust, the plan's budget. */
function fingerprint(flow: Flow, { community, budget }: Settings): string {
  return digest(JSON.stringify([flow, community, budget]));
}

/** Over the text's 16-bit units, whatever they are. */
const digest = (text: string): string =>
  createHash('sha256').update(text, 'utf16le').digest('base64url').slice(0, 32);
