import type { Case } from '../../shared/case.ts';
import { Flow } from '../../shared/flow.ts';
import type { Settings } from '../core/settings.ts';
import { taught } from '../learning/apply.ts';
import { digestOf } from '../learning/digest.ts';
import type { ReportHeader } from './report-format.ts';

/** The flow with the numbers that a reported case went by, as far as the report has them and they fit; and what to say of it. */
export function numbered(
  flow: Flow | null,
  { numbers }: Case,
  { learnt }: ReportHeader,
  { community: { floor, country } }: Settings,
): { readonly flow: Flow | null; readonly told: readonly string[] } {
  if (numbers === 'file') return { flow, told: [] };
  const file = 'belief, plan and what comes next are by the file’s';
  const here = learnt !== undefined && digestOf(learnt) === numbers;
  if (!flow || !here)
    return { flow, told: [`It went by learnt numbers ${numbers}, which are not here: ${file}.`] };
  const own = taught(flow, learnt, { floor, mainsVolts: country.mains_volts });
  // A report comes from anywhere: numbers that make no flow are not reckoned with.
  if (own === flow || !Flow.safeParse(own).success)
    return { flow, told: [`It went by learnt numbers ${numbers}, which do not fit the flow here: ${file}.`] };
  return { flow: own, told: [`It goes by learnt numbers ${numbers}, which came along.`] };
}
