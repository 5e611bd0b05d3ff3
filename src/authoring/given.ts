import type { Case, Unnumbered } from '../../shared/case.ts';
import type { Flow, Level } from '../../shared/flow.ts';
import { emptyCase, fold, number } from '../core/reduce.ts';
import { propose, quote } from '../files/finding.ts';

/** A case as somebody who writes a flow imagines it: `complaint=dead lead=sound element=24.3 reseat=no`. */

type Given = { readonly kase: Case } | { readonly problems: readonly string[] };

/** Milliseconds; a case that is only thought of begins at no particular time. */
const at = 0;
const by = 'author';

/** Each entry is a name and an answer. A remedy's answer is `no`: it was done, and it does not work yet. */
export function imagined(flow: Flow, given: readonly string[], level: Level): Given {
  const problems: string[] = [];
  const events: Unnumbered[] = [
    { by, at, kind: 'opened', words: '', place: '' },
    { by, at, kind: 'flow-taken', flow: flow.flow, version: flow.version },
    { by, at, kind: 'joined', person: by, name: by, level, roles: [] },
    { by, at, kind: 'meter-stated', level, person: by, has: level !== 'new' },
  ];
  for (const entry of given) {
    const [name = '', answer = ''] = entry.split('=');
    const read = answerOf(flow, name, answer, level);
    if (typeof read === 'string') problems.push(`${entry}: ${read}`);
    else events.push(...read);
  }
  if (problems.length > 0) return { problems };
  const empty = emptyCase('imagined');
  return { kase: fold(empty, number(empty, events)) };
}

function answerOf(flow: Flow, name: string, answer: string, level: Level): readonly Unnumbered[] | string {
  const stamp = { by, at, level };
  const oneOf = (known: readonly { readonly id: string }[], what: string): string | null =>
    known.some(({ id }) => id === answer)
      ? null
      : `${quote(answer)} is no ${what} of ${name}; ${propose(
          answer,
          known.map(({ id }) => id),
        )}`;
  if (name === 'complaint') {
    const wrong = oneOf([...flow.complaints, { id: 'other' }], 'complaint');
    return wrong ?? [{ ...stamp, kind: 'complaint-stated', complaint: answer }];
  }
  const detail = flow.details.find(({ id }) => id === name);
  if (detail)
    return (
      oneOf(detail.choices, 'answer') ?? [{ ...stamp, kind: 'detail-stated', detail: name, choice: answer }]
    );
  const check = flow.checks.find(({ id }) => id === name);
  if (check?.reading && answer !== '' && Number.isFinite(Number(answer)))
    return [{ ...stamp, kind: 'read', step: name, value: Number(answer), typed: answer }];
  if (check) {
    const outcomes = check.outcomes ?? check.reading?.bands ?? [];
    return oneOf(outcomes, 'outcome') ?? [{ ...stamp, kind: 'answered', step: name, outcome: answer }];
  }
  if (flow.remedies.some(({ id }) => id === name)) {
    if (answer !== 'no') return 'a remedy is followed by "no": it was done, and it does not work yet';
    return [
      { ...stamp, kind: 'remedy-done', step: name },
      { ...stamp, kind: 'tested', result: 'no', remedies: [name] },
    ];
  }
  const known = [...flow.details, ...flow.checks, ...flow.remedies].map(({ id }) => id);
  return `nothing is called ${quote(name)}; ${propose(name, ['complaint', ...known])}`;
}
