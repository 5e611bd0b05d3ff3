import type { Check, Flow } from '../../shared/flow.ts';
import { type Finding, type Path, quote } from '../files/finding.ts';
import { draftOf } from './draft.ts';
import { languageAdvice } from './language.ts';
import { volts } from './readings.ts';
import { type FaultNames, faultNames, valueFor } from './sparse.ts';
import { twinAdvice } from './twins.ts';

/** What a valid flow could do better: it works, but something in it never helps anybody. */
export function adviceOn(flow: Flow): Finding[] {
  const names = faultNames(draftOf(flow, []));
  return [
    ...flow.checks.flatMap((check, i) => idleCheck(check, i, names)),
    ...deadEnds(flow, names),
    ...dearParts(flow),
    ...bandsElsewhere(flow),
    ...unsourced(flow),
    ...twinAdvice(flow, names),
    ...languageAdvice(flow),
  ];
}

/** What a check says under a fault, as a text to be compared. */
function column(check: Check, fault: string, names: FaultNames): string {
  return JSON.stringify(
    check.reading
      ? valueFor(check.reading.expect, fault, names)
      : (check.outcomes ?? []).map(({ likely }) => (likely ? (valueFor(likely, fault, names) ?? 0) : null)),
  );
}

function idleCheck(check: Check, i: number, names: FaultNames): Finding[] {
  const columns = new Set(names.faults.map((fault) => column(check, fault, names)));
  if (columns.size > 1) return [];
  return [
    {
      path: ['checks', i],
      on: 'value',
      problem: 'this check says the same whatever the fault is, so it is never asked',
      instead: 'give at least one fault another likelihood',
    },
  ];
}

function deadEnds(flow: Flow, names: FaultNames): Finding[] {
  return flow.faults.flatMap((fault, i): Finding[] => {
    if (fault.id === 'something-else') return [];
    const cured = flow.remedies.some(({ cures }) => (valueFor(cures, fault.id, names) ?? 0) > 0);
    const told =
      flow.checks.some(
        (check) => column(check, fault.id, names) !== column(check, 'something-else', names),
      ) ||
      flow.details.some(({ choices }) =>
        choices.some(
          ({ likely }) =>
            likely && valueFor(likely, fault.id, names) !== valueFor(likely, 'something-else', names),
        ),
      );
    if (cured || told) return [];
    return [
      {
        path: ['faults', i],
        on: 'value',
        problem: `no remedy cures ${quote(fault.id)}, and no check tells it from something else`,
        instead: 'add a check or a remedy, or let "something-else" have its weight',
      },
    ];
  });
}

function dearParts(flow: Flow): Finding[] {
  const { price: instead } = flow.replace;
  return flow.remedies.flatMap(({ part }, i): Finding[] => {
    if (!part || part.price.currency !== instead.currency || part.price.low <= instead.low) return [];
    const { low, currency } = part.price;
    return [
      {
        path: ['remedies', i, 'part', 'price', 'low'],
        on: 'value',
        problem: `the part costs ${low} ${currency} or more, a replacement ${instead.low} ${currency} or more`,
        instead: 'check both prices: this remedy will hardly ever be proposed',
      },
    ];
  });
}

/** Bands that name the mains peak may be in order at 230 V and not where the mains have 100 or 120 V. */
function bandsElsewhere(flow: Flow): Finding[] {
  return flow.checks.flatMap(({ reading }, i): Finding[] => {
    for (const mains of [100, 120]) {
      const ends = (reading?.bands ?? []).flatMap(({ below }) =>
        below === undefined ? [] : [volts(below, mains)],
      );
      const wrong = ends.findIndex((end, j) => j > 0 && end <= (ends[j - 1] ?? 0));
      if (wrong < 0) continue;
      const path: Path = ['checks', i, 'reading', 'bands', wrong, 'below'];
      return [
        {
          path,
          on: 'value',
          problem: `at ${mains} V mains these bands do not go up`,
          instead: 'move the numbers away from "mains-peak" if the flow is for such places too',
        },
      ];
    }
    return [];
  });
}

function unsourced(flow: Flow): Finding[] {
  return flow.details.flatMap((detail, i) =>
    detail.choices.flatMap((choice, j): Finding[] =>
      choice.likely && choice.source === undefined
        ? [
            {
              path: ['details', i, 'choices', j, 'likely'],
              on: 'name',
              problem: 'likelihoods without "source"',
              instead: 'say where they come from, even if it is your own estimate',
            },
          ]
        : [],
    ),
  );
}
