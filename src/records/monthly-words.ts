import type { Community } from '../../shared/community.ts';
import { RepairOutcome } from '../../shared/outcome.ts';
import { minutesWords, moneyWords } from '../core/wording.ts';
import type { Mistake, Month } from './monthly.ts';

/** A month as Markdown for the community: counts and sums, nobody's words or names. */
export function monthlyReport(month: Month, community: Community): string {
  const { cases, gone } = month;
  const left = gone > 0 ? ` ${gone} more had a flow that is not here any more; they are not counted.` : '';
  const head = [
    `# ${plain(community.name)}: ${month.month}`,
    `${counted(cases, 'case')} came to an end.${left}`,
  ];
  if (cases === 0) return `${head.join('\n\n')}\n`;
  return `${[
    ...head,
    ...endings(month),
    ...categories(month),
    ...savings(month, community),
    ...mistakes(month),
    '## How long it took',
    `Half of the cases ended within ${minutesWords(month.median ?? 0)}, from the first message to the end.`,
  ].join('\n\n')}\n`;
}

function endings({ cases, ended, barriers }: Month): string[] {
  const rows = RepairOutcome.options
    .map((status) => [status, ended.get(status) ?? 0] as const)
    .filter(([, n]) => n > 0)
    .map(([status, n]) => [status, String(n), percent(n, cases)]);
  const why = largestFirst(barriers).map(([barrier, n]) => [barrier ?? 'Nobody said', String(n)]);
  return [
    '## How they ended',
    table(['Status', 'Cases', 'Share'], rows),
    ...(why.length > 0 ? ['Why it was the end of its life:', table(['Barrier', 'Cases'], why)] : []),
  ];
}

const categories = ({ categories: all }: Month): string[] => [
  '## By category',
  table(
    ['Category', 'Cases', 'Fixed'],
    [...all]
      .toSorted(([a, { cases: m }], [b, { cases: n }]) => n - m || (a < b ? -1 : 1))
      .map(([category, { cases, fixed }]) => [category, String(cases), String(fixed)]),
  ),
];

function savings({ money, mass, ended }: Month, community: Community): string[] {
  const { replacements, parts, time, otherwise } = money;
  const fixed = ended.get('Fixed') ?? 0;
  const saved = replacements - parts - time;
  const words = (amount: number): string => moneyWords(amount, community);
  const spent = otherwise > 0 ? [`On the others, parts and time came to ${words(otherwise)}.`] : [];
  if (fixed === 0) return ['## What was saved', ['Nothing was fixed this month.', ...spent].join(' ')];
  return [
    '## What was saved',
    `${words(saved)} on ${counted(fixed, 'fixed appliance')}: replacing them would have cost ${words(replacements)}; parts cost ${words(parts)}, and the time was worth ${words(time)}.${spent.map((one) => ` ${one}`).join('')}`,
    `${kilogramWords(mass.kg)} did not become waste.${mass.unweighed > 0 ? ` ${counted(mass.unweighed, 'fixed appliance')} could be anything and ${mass.unweighed === 1 ? 'is' : 'are'} not weighed.` : ''}`,
    'Prices are the middle of each flow’s range. Time is the usual minutes of the steps that were done, without opening and closing, and without the time of menders. Weights are typical ones by category (author’s estimates): nobody weighed anything.',
  ];
}

function mistakes({ desk: { confirmed, wrong } }: Month): string[] {
  const times = wrong.reduce((sum, one) => sum + one.times, 0);
  const head = '## Where the desk was wrong';
  if (confirmed === 0) return [head, 'No fault was confirmed, so nobody knows.'];
  const lead = `The fault was confirmed in ${counted(confirmed, 'case')}. In ${times} of them the desk thought another one likelier.`;
  const rows = wrong.map(({ flow, said, was, times: n }) => [
    flow.title,
    fault(flow, said),
    fault(flow, was),
    String(n),
  ]);
  return [
    head,
    lead,
    ...(rows.length > 0 ? [table(['Appliance', 'The desk said', 'It was', 'Times'], rows)] : []),
  ];
}

const fault = (flow: Mistake['flow'], id: string): string =>
  flow.faults.find((one) => one.id === id)?.name ?? id;

const largestFirst = <K extends string | null>(counts: ReadonlyMap<K, number>): [K, number][] =>
  [...counts].toSorted(([a, m], [b, n]) => n - m || (String(a) < String(b) ? -1 : 1));

const counted = (n: number, noun: string): string => `${n} ${noun}${n === 1 ? '' : 's'}`;
const percent = (n: number, of: number): string => `${Math.round((100 * n) / of)} %`;
const kilogramWords = (kg: number): string => `About ${kg < 10 ? kg.toFixed(1) : Math.round(kg)} kg`;

/** The first column is words, the others are numbers or words as they come. */
function table(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const line = (cells: readonly string[]): string => `| ${cells.map(plain).join(' | ')} |`;
  return [line(head), line(head.map(() => '---')), ...rows.map(line)].join('\n');
}

/** Nothing in it means anything to Markdown. */
const plain = (words: string): string =>
  words.replace(/\s+/g, ' ').replace(/[\\`*_[\]<>#|~]/g, (sign) => `\\${sign}`);
