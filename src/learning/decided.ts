import type { Exchange } from './exchange.ts';
import type { Learnt } from './learnt.ts';
import type { Decision, Entry } from './store.ts';

/** What holds now of all that was decided. */
export interface Decided {
  /** Number of the last entry of the book. */
  readonly last: number;
  /** Numbers accepted and not withdrawn, by flow. */
  readonly learnt: ReadonlyMap<string, Learnt>;
  /** By id of the case. */
  readonly excluded: ReadonlyMap<string, Extract<Decision, { kind: 'excluded' }>>;
  readonly imports: readonly Import[];
}

/** The newest counts of a community for a flow. */
export interface Import {
  readonly flow: string;
  readonly exchange: Exchange;
  readonly digest: string;
}

export const undecided: Decided = { last: 0, learnt: new Map(), excluded: new Map(), imports: [] };

/** The book's fold; `before`: what held before these entries. */
export const decided = (entries: readonly Entry[], before = undecided): Decided =>
  entries.reduce(after, before);

function after(before: Decided, { n, decision: one }: Entry): Decided {
  const now = { ...before, last: n };
  switch (one.kind) {
    case 'accepted':
      return { ...now, learnt: new Map([...before.learnt, [one.flow, one.learnt]]) };
    case 'withdrawn':
      return { ...now, learnt: without(before.learnt, one.flow) };
    case 'excluded':
      return { ...now, excluded: new Map([...before.excluded, [one.case, one]]) };
    case 'included':
      return { ...now, excluded: without(before.excluded, one.case) };
    case 'imported':
      return { ...now, imports: added(before.imports, one) };
    default:
      return one satisfies never;
  }
}

const without = <V>(map: ReadonlyMap<string, V>, key: string): Map<string, V> =>
  new Map([...map].filter(([name]) => name !== key));

/** What a community sent of a flow takes the place of what it sent before: its cases are in both. */
function added(
  before: readonly Import[],
  { exchange, digest }: Extract<Decision, { kind: 'imported' }>,
): readonly Import[] {
  const older = ({ flow, exchange: other }: Import): boolean =>
    other.from === exchange.from && Object.hasOwn(exchange.flows, flow) && other.day <= exchange.day;
  const kept = before.filter((one) => !older(one));
  const fresh = Object.keys(exchange.flows).filter(
    (flow) => !kept.some((one) => one.flow === flow && one.exchange.from === exchange.from),
  );
  return [...kept, ...fresh.map((flow) => ({ flow, exchange, digest }))];
}
