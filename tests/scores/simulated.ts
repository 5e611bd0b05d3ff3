import type { Case } from '../../shared/case.ts';
import type { Inbound } from '../../shared/inbound.ts';
import { step, tablesOf } from '../../src/core/step.ts';
import { type SettledCase, settledCase } from '../../src/outcomes/settled.ts';
import { type CaseResult, runCase } from '../../src/rehearsal/run.ts';
import { drawTruth } from '../../src/rehearsal/truth.ts';
import { radio, settings } from '../core/example-flow.ts';

/** Cases in a world where the flow's numbers are true, each settled by somebody who knows what it was. */
export function simulated(count: number): { settled: SettledCase; result: CaseResult }[] {
  const tables = tablesOf(radio, settings);
  return Array.from({ length: count }, (_, i) => {
    const truth = drawTruth(tables, 7, i, 0, settings.community.reliability.handy);
    let last: { kase: Case; inbound: Inbound } | null = null;
    const result = runCase(radio, settings, truth, 'handy', {
      turn: (kase, inbound) => {
        last = { kase, inbound };
      },
    });
    const { kase, inbound } = last as unknown as { kase: Case; inbound: Inbound };
    const { after } = step(kase, inbound, radio, settings);
    const settled = settledCase(
      {
        ...after,
        state: 'settled',
        outcome: {
          outcome: after.outcome?.outcome ?? 'Repairable',
          fault: tables.faults[truth.fault] as string,
          barrier: null,
          by: 'mender',
          at: inbound.at,
        },
      },
      radio,
    );
    if (!settled) throw new Error('it is settled');
    return { settled, result };
  });
}
