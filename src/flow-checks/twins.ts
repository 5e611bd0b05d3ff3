import type { Flow } from '../../shared/flow.ts';
import type { Finding } from '../files/finding.ts';
import { quote } from '../files/finding.ts';
import { type FaultNames, type SparseValues, valueFor } from './sparse.ts';

/** Faults that nothing in the file tells apart, and that are not even mended in the same way: a coin would do as well. */
export function twinAdvice(flow: Flow, names: FaultNames): Finding[] {
  const spoken = flow.faults.map(({ id }) => signature(flow, id, names));
  const cured = flow.faults.map(({ id }) =>
    flow.remedies
      .filter(({ cures }) => (valueFor(cures, id, names) ?? 0) >= 0.3)
      .map((remedy) => remedy.id)
      .join(),
  );
  return flow.faults.flatMap(({ id }, i): Finding[] => {
    const other = spoken.findIndex((one, j) => j < i && one === spoken[i]);
    if (other < 0) return [];
    // One remedy for both makes it one fault for whoever mends it.
    if (cured[i] === cured[other] && cured[i] !== '') return [];
    return [
      {
        path: ['faults', i],
        on: 'value',
        problem: `nothing in the file tells ${quote(id)} from ${quote(flow.faults[other]?.id ?? '')}`,
        instead: 'add a check that differs between them, or make them one fault',
      },
    ];
  });
}

/** All that answers say under a fault, as a text to be compared. */
function signature(flow: Flow, fault: string, names: FaultNames): string {
  const value = (sparse: SparseValues<unknown> | undefined) =>
    sparse ? (valueFor(sparse, fault, names) ?? 0) : null;
  return JSON.stringify([
    flow.complaints.map(({ likely }) => value(likely)),
    flow.details.map(({ choices }) => choices.map(({ likely }) => value(likely))),
    flow.checks.map(({ outcomes, reading }) =>
      reading ? value(reading.expect) : (outcomes ?? []).map(({ likely }) => value(likely)),
    ),
  ]);
}
