import { counted, dated } from '../keeping/desk.ts';
import { printable } from '../keeping/printable.ts';
import type { FlowFigures } from './figures.ts';
import type { Figure } from './posterior.ts';
import { nameOf, type Proposal } from './propose.ts';
import type { Entry } from './store.ts';
import { meaning, partName } from './wording.ts';

/** What was learnt and decided, as lines for a terminal. */

const percent = (share: number): string => `${(100 * share).toFixed(1)} %`;

export interface Shown {
  /** Also what the file may well be right about. */
  readonly all: boolean;
  /** The ids of the cases behind each. */
  readonly cases: boolean;
}

export function figuresLines(figures: FlowFigures, { all, cases }: Shown): string[] {
  const { proposals } = figures;
  const shown = all ? proposals : proposals.filter(({ clear }) => clear);
  const rest = proposals.length - shown.length;
  return [
    ...headLines(figures),
    ...shown.flatMap((one) => ['', ...proposalLines(one, figures, all, cases)]),
    ...(rest > 0
      ? [
          '',
          `${counted(rest, shown.length > 0 ? 'other' : 'place')}, where the file’s numbers may well be right: --all shows them.`,
        ]
      : []),
    '',
  ];
}

function headLines({ flow, cases, others, accepted, proposals }: FlowFigures): string[] {
  const clear = proposals.filter((one) => one.clear).length;
  return [
    `${flow.flow}: ${counted(cases, 'confirmed case')} here${others.map(({ from, day, cases: theirs }) => `, ${theirs} from ${printable(from)} (${day})`).join('')}; the file is clearly off in ${clear} of ${counted(proposals.length, 'place')}.`,
    ...(accepted === null
      ? ['  In use: the file’s numbers.']
      : [
          accepted.stale
            ? `  In use: the file’s numbers. Numbers ${accepted.numbers} were accepted beside version ${accepted.learnt.version}, and the file is version ${flow.version} now: accept again.`
            : `  In use: numbers ${accepted.numbers}, accepted ${dated(accepted.learnt.at)} by ${printable(accepted.learnt.by)}: ${counted(accepted.learnt.distributions.length, 'place')}.`,
        ]),
  ];
}

/** One to be accepted as a whole: its rows add up. */
function proposalLines(
  { id, distribution, clear, cases: behind }: Proposal,
  { flow, accepted }: FlowFigures,
  all: boolean,
  cases: boolean,
): string[] {
  const used =
    accepted && !accepted.stale
      ? accepted.learnt.distributions.find((one) => nameOf(one) === nameOf(distribution))
      : undefined;
  const rows = Object.entries(distribution.shares);
  const some = rows.filter(([, one]) => all || one.count > 0 || isClear(one));
  const left = rows.length - some.length;
  return [
    `  ${id}${clear ? '  *' : ''}`,
    `    ${meaning(distribution, flow)} (${counted(behind.length, 'case')} here)`,
    ...aligned([
      ['', 'file', ...(used ? ['in use'] : []), 'learnt', '95 %', 'counted', ''],
      ...some.map(([name, one]) => [
        partName(distribution, name, flow),
        percent(one.file),
        ...(used ? [used.shares[name] ? percent(used.shares[name].mean) : ''] : []),
        percent(one.mean),
        `${percent(one.low)} to ${percent(one.high)}`,
        one.count.toFixed(1),
        isClear(one) ? '*' : '',
      ]),
    ]).map((line) => `    ${line}`),
    ...(left > 0 ? [`    and ${left} more of which no case was seen`] : []),
    ...(cases ? [`    cases: ${behind.length > 0 ? behind.map(printable).join(', ') : 'none here'}`] : []),
  ];
}

const isClear = ({ file, low, high }: Figure): boolean => file < low || file > high;

function aligned(rows: readonly (readonly string[])[]): string[] {
  const widths = (rows[0] ?? []).map((_, i) => Math.max(...rows.map((row) => (row[i] ?? '').length)));
  return rows.map((row) =>
    row
      .map((text, i) => (i === 0 ? text.padEnd(widths[0] as number) : text.padStart(widths[i] as number)))
      .join('  ')
      .trimEnd(),
  );
}

/** `  3  2026-10-03 10:22 UTC  Maren: excluded discord:1:2. A joke` */
export function entryLine({ n, decision: one }: Entry): string {
  const said = (): string => {
    switch (one.kind) {
      case 'accepted':
        return `accepted for ${one.flow} ${counted(one.learnt.distributions.length, 'place')}, version ${one.learnt.version}`;
      case 'withdrawn':
        return `withdrew the learnt numbers of ${one.flow}: the file’s are used`;
      case 'excluded':
        return `left out case ${one.case}: ${one.why}`;
      case 'included':
        return `took case ${one.case} in again`;
      case 'imported':
        return `added counts of ${one.exchange.from} of ${one.exchange.day}: ${Object.keys(one.exchange.flows).join(', ')}`;
      default:
        return one satisfies never;
    }
  };
  return printable(`${String(n).padStart(4)}  ${dated(one.at)}  ${one.by}: ${said()}`);
}
