import type { Event, Unnumbered } from '../../shared/case.ts';
import type { Flow } from '../../shared/flow.ts';
import { emptyCase, number } from '../../src/core/reduce.ts';
import type { Settings } from '../../src/core/settings.ts';
import type { Journal } from '../../src/journal/journal.ts';
import type { LearntDesk } from '../../src/learning/decide.ts';
import { notGivenUp } from '../../src/learning/given-up.ts';
import { learntCommand } from '../../src/learning/learnt-command.ts';
import type { LearningBook } from '../../src/learning/store.ts';
import { allSettled } from '../../src/outcomes/all-settled.ts';
import { radio, settings as usual } from '../core/example-flow.ts';
import { day0 } from './communities.ts';

/** A community that learns: its journal, its book, and the command. */

export interface Course {
  readonly thread: string;
  readonly asker?: string;
  readonly complaint?: string;
  /** What a mender says it was. */
  readonly fault: string;
  readonly seen?: readonly (readonly [check: string, outcome: string])[];
  readonly flow?: Flow;
  readonly at?: number;
}

/** A settled case as its journal tells it. */
export function courseOf({ fault, asker = 'ada', ...course }: Course): Event[] {
  const { complaint = 'silent', flow = radio, at = day0 } = course;
  const by = { by: asker, at } as const;
  const events: Unnumbered[] = [
    { ...by, kind: 'joined', person: asker, name: 'Wilhelmina Quillon', level: 'handy', roles: [] },
    { ...by, kind: 'opened', words: 'it is silent, says Wilhelmina', place: '' },
    { ...by, kind: 'flow-taken', flow: flow.flow, version: flow.version },
    { ...by, level: 'handy', kind: 'complaint-stated', complaint },
    ...(course.seen ?? []).map(
      ([step, outcome]): Unnumbered => ({ ...by, level: 'handy', kind: 'answered', step, outcome }),
    ),
    { by: 'mender', at, kind: 'settled', outcome: 'Repairable', fault, barrier: null },
  ];
  return number(emptyCase(course.thread), events);
}

export async function settle(journal: Pick<Journal, 'append'>, course: Course): Promise<void> {
  const events = courseOf(course);
  const { thread } = course;
  const turn = { thread, inbound: 'all', after: 0, events, outbound: [], state: 'settled' as const };
  if ((await journal.append(turn)).kind !== 'done') throw new Error(`${thread} was not taken`);
}

export interface LearningDesk extends LearntDesk {
  readonly said: string[];
  readonly warned: string[];
  /** Runs the command and tells what it said. */
  learnt(...args: readonly string[]): Promise<{ readonly code: number; readonly text: string }>;
}

export function learningDesk(
  journal: Journal,
  book: LearningBook,
  { name = 'Millbrook', settings = usual, flows = [radio] as readonly Flow[], now = () => day0 } = {},
): LearningDesk {
  const said: string[] = [];
  const warned: string[] = [];
  const own: Settings = { ...settings, community: { ...settings.community, name } };
  const desk: LearntDesk = {
    book,
    cases: async function* () {
      yield* allSettled(journal, flows, await notGivenUp(journal));
    },
    knows: async (id) => (await journal.read(id)).events.length > 0,
    flows,
    settings: own,
    now,
    out: (line) => void said.push(line),
    err: (line) => void warned.push(line),
  };
  return {
    ...desk,
    said,
    warned,
    async learnt(...args) {
      said.length = 0;
      warned.length = 0;
      const code = await learntCommand(args, desk);
      return { code, text: said.join('\n') };
    },
  };
}
