import type { Flow } from '../../shared/flow.ts';
import type { Settings } from '../core/settings.ts';
import { tablesOf } from '../core/step.ts';
import type { SettledCase } from '../outcomes/settled.ts';
import { addCase, newTally, type Tally } from './counts.ts';

/** The tally of all settled cases that count, in whatever order they come; `excluded`: ids of those that a moderator left out. */
export async function rebuild(
  cases: AsyncIterable<SettledCase> | Iterable<SettledCase>,
  flows: readonly Flow[],
  settings: Settings,
  excluded: { has(id: string): boolean },
): Promise<Tally> {
  const tally = newTally(settings.community.learning.half_life_days);
  const byId = new Map(flows.map((flow) => [flow.flow, tablesOf(flow, settings)]));
  for await (const one of cases) {
    const tables = byId.get(one.flow);
    if (tables && !excluded.has(one.id)) addCase(tally, one, tables);
  }
  return tally;
}
