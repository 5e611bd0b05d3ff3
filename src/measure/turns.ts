import type { Case } from '../../shared/case.ts';
import { type Flow, Level } from '../../shared/flow.ts';
import type { Inbound } from '../../shared/inbound.ts';
import { believe, type Evidence } from '../core/infer.ts';
import type { Settings } from '../core/settings.ts';
import { step, tablesOf } from '../core/step.ts';
import { rememberedPlans } from '../rehearsal/policies.ts';
import { runCase } from '../rehearsal/run.ts';
import { scaled } from '../rehearsal/scale.ts';
import { drawTruth } from '../rehearsal/truth.ts';

/** How long a turn takes to decide, and how that grows. Figures of one run, on this machine. */

interface Times {
  readonly turns: number;
  readonly p50: number;
  readonly p99: number;
  readonly worst: number;
}

interface Moment {
  readonly kase: Case;
  readonly inbound: Inbound;
}

const cap = 5000;
const scales = [1, 2, 4] as const;

export interface TurnFigures {
  readonly flow: string;
  readonly unit: 'ms';
  readonly turn: Record<string, Times>;
  readonly growth: Record<string, Times & { faults: number; steps: number }>;
  readonly beliefPerMultiplyLoop: number;
}

/** Over the states that so many rehearsed cases of each level meet. */
export function measureTurns(flow: Flow, settings: Settings, cases: number): TurnFigures {
  const levels: Record<string, Times> = {};
  for (const level of Level.options)
    levels[level] = timed(flow, settings, moments(flow, settings, level, cases));
  const growth: Record<string, Times & { faults: number; steps: number }> = {};
  for (const times of scales) {
    const large = scaled(flow, times);
    growth[`x${times}`] = {
      faults: large.faults.length,
      steps: large.checks.length + large.remedies.length,
      ...timed(large, settings, moments(large, settings, 'trained', Math.max(5, Math.ceil(cases / 10)))),
    };
  }
  const belief = beliefCost(flow, settings);
  return { flow: flow.flow, unit: 'ms', turn: levels, growth, beliefPerMultiplyLoop: belief };
}

/** Every different state that rehearsed cases meet, with what reached it; at most `cap`, evenly taken. */
function moments(flow: Flow, settings: Settings, level: Level, cases: number): Moment[] {
  const tables = tablesOf(flow, settings);
  const decide = rememberedPlans(50_000);
  const met = new Map<string, Moment>();
  for (let index = 0; index < cases; index++) {
    const truth = drawTruth(tables, 7, index, 0.2, settings.community.reliability[level]);
    runCase(flow, { ...settings, decide }, truth, level, {
      turn(kase, inbound) {
        const { id: _id, at: _at, ...what } = inbound;
        const answers = kase.answers.map(({ seq: _seq, at: _when, ...answer }) => answer);
        met.set(JSON.stringify([answers, kase.world.open, kase.question?.step, what]), {
          // A copy: what is known of a list of answers is known by the very list.
          kase: structuredClone(kase),
          inbound,
        });
      },
    });
  }
  const all = [...met.values()];
  const stride = Math.max(1, Math.ceil(all.length / cap));
  return all.filter((_, i) => i % stride === 0);
}

/** A whole turn, inbound to outbound, nothing remembered from another turn but what is the flow's own. */
function timed(flow: Flow, settings: Settings, met: readonly Moment[]): Times {
  // The first few warm the machine up and do not count.
  for (const { kase, inbound } of met.slice(0, 50)) step(kase, inbound, flow, settings);
  const times = met.map(({ kase, inbound }) => {
    const start = performance.now();
    step(kase, inbound, flow, settings);
    return performance.now() - start;
  });
  times.sort((a, b) => a - b);
  const at = (q: number): number => times[Math.min(times.length - 1, Math.floor(q * times.length))] as number;
  return { turns: times.length, p50: at(0.5), p99: at(0.99), worst: at(1) };
}

/** A belief over ten answers as a multiple of a bare multiply loop over typed arrays of the same size. */
function beliefCost(flow: Flow, settings: Settings): number {
  const { prior, checks } = tablesOf(flow, settings);
  const rows = [...checks.entries()]
    .slice(0, 10)
    .map(([id, table], seq): Evidence => ({ seq, step: id, row: table.rows[0] as Float64Array }));
  const rounds = 20_000;
  let sink = 0;
  const bare = (): number => {
    const start = performance.now();
    for (let r = 0; r < rounds; r++) {
      const product = Float64Array.from(prior);
      for (const { row } of rows)
        for (let f = 0; f < product.length; f++) product[f] = (product[f] as number) * (row[f] as number);
      sink += product[0] as number;
    }
    return performance.now() - start;
  };
  const whole = (): number => {
    const start = performance.now();
    for (let r = 0; r < rounds; r++) sink += believe(prior, rows).probability;
    return performance.now() - start;
  };
  // Taken in turns, so that a slow minute of the machine meets both.
  const ratios: number[] = [];
  for (let i = 0; i < 9; i++) {
    const loop = bare();
    ratios.push(whole() / loop);
  }
  ratios.sort((a, b) => a - b);
  return sink > 0 ? (ratios[4] as number) : Number.NaN;
}

export function printTurns(result: TurnFigures): void {
  const ms = (x: number): string => `${x.toFixed(2)} ms`;
  console.log(`A whole turn of ${result.flow}, inbound to outbound, over the states met in rehearsed cases:`);
  for (const [level, t] of Object.entries(result.turn)) {
    console.log(
      `  ${level.padEnd(8)} p50 ${ms(t.p50)}  p99 ${ms(t.p99)}  worst ${ms(t.worst)}  (${t.turns} states)`,
    );
  }
  console.log('Growth, level trained:');
  const base = result.growth.x1?.p99 ?? Number.NaN;
  for (const [name, t] of Object.entries(result.growth)) {
    console.log(
      `  ${name}: ${t.faults} faults, ${t.steps} steps: p50 ${ms(t.p50)}  p99 ${ms(t.p99)}  (${(t.p99 / base).toFixed(2)} of x1)`,
    );
  }
  console.log(
    `A belief over ten answers costs ${result.beliefPerMultiplyLoop.toFixed(2)} of a bare multiply loop.`,
  );
}
