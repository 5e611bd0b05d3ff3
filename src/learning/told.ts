import type { Reply } from '../../shared/adapter.ts';
import type { Flow } from '../../shared/flow.ts';
import { counted } from '../keeping/desk.ts';
import type { FlowFigures } from './figures.ts';
import { nameOf, type Proposal } from './propose.ts';
import { meaning, partName } from './wording.ts';

/** What was learnt, in words for a moderator in the chat: beside the file's numbers, most cases first. */

/** Numbers in one answer; who wants them all has the command. */
const shownAtMost = 6;
/** Cases behind them in one answer. */
const casesAtMost = 10;

export const clearly = ({ proposals }: FlowFigures): readonly Proposal[] =>
  proposals
    .filter(({ clear }) => clear)
    .toSorted((a, b) => b.cases.length - a.cases.length || (a.id < b.id ? -1 : 1))
    .slice(0, shownAtMost);

/** A line for each flow of which something was learnt. */
export function allTold(figures: readonly FlowFigures[]): Reply {
  const some = figures.filter(({ cases, others, accepted }) => cases > 0 || others.length > 0 || accepted);
  if (some.length === 0)
    return {
      words:
        'No case is settled yet whose fault is confirmed. The desk goes by the numbers in the flows’ files.',
      cases: [],
    };
  const line = (one: FlowFigures): string =>
    `${one.flow.title} (${one.flow.flow}): ${counted(one.cases, 'confirmed case')}. ${offWords(one)}. ${useWords(one)}`;
  return {
    words: [
      'What settled cases say of the numbers that the desk goes by:',
      ...some.map(line),
      'Name a flow to see its numbers.',
    ].join('\n'),
    cases: [],
  };
}

/** One flow's numbers that are clearly off, with the cases behind them, and the offer to use exactly these. */
export function flowTold(figures: FlowFigures): Reply {
  const { flow, cases } = figures;
  const shown = clearly(figures);
  const behind = [
    ...new Map(
      shown.flatMap(({ distribution, cases: ids }) =>
        ids.map((thread) => [thread, meaning(distribution, flow)]),
      ),
    ),
  ];
  const inUse = new Set(
    figures.accepted && !figures.accepted.stale ? figures.accepted.learnt.distributions.map(nameOf) : [],
  );
  const left = figures.proposals.filter(({ clear }) => clear).length - shown.length;
  return {
    words: [
      `${flow.title}: ${counted(cases, 'confirmed case')}. ${offWords(figures)}. ${useWords(figures)}`,
      ...shown.flatMap((one) => proposalLines(one, flow, inUse.has(nameOf(one.distribution)))),
      ...(left > 0 ? [`${left} more: npm run learnt -- show ${flow.flow}`] : []),
      ...(shown.length > 0
        ? [
            'A few look off by chance alone, so look at the cases behind them. Safety never depends on these numbers.',
          ]
        : []),
    ].join('\n'),
    cases: behind.slice(0, casesAtMost).map(([thread, words]) => ({ thread, words, danger: false })),
    ...(shown.length > 0 ? { confirm: { label: 'Use these numbers', flow: flow.flow } } : {}),
  };
}

const offWords = ({ proposals }: FlowFigures): string => {
  const off = proposals.filter(({ clear }) => clear).length;
  return off === 0 ? 'Nothing is clearly off' : `The file is clearly off in ${counted(off, 'place')}`;
};

const useWords = ({ accepted, flow }: FlowFigures): string => {
  if (accepted === null) return 'In use: the file’s numbers.';
  return accepted.stale
    ? `In use: the file’s numbers. What was accepted belongs to version ${accepted.learnt.version}, and the file is version ${flow.version} now.`
    : `In use: learnt numbers in ${counted(accepted.learnt.distributions.length, 'place')}.`;
};

function proposalLines({ distribution, cases }: Proposal, flow: Flow, inUse: boolean): string[] {
  const percent = (share: number): string => `${Math.round(100 * share)} %`;
  const off = Object.entries(distribution.shares).filter(
    ([, { file, low, high }]) => file < low || file > high,
  );
  return [
    `• ${meaning(distribution, flow)} (${counted(cases.length, 'case')} here${inUse ? '; learnt numbers in use' : ''}):`,
    ...off.map(
      ([name, one]) =>
        `   ${partName(distribution, name, flow)}: file ${percent(one.file)}, learnt ${percent(one.mean)} (95 %: ${percent(one.low)} to ${percent(one.high)})`,
    ),
  ];
}
