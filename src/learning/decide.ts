import type { Flow } from '../../shared/flow.ts';
import { Advice } from '../advice.ts';
import type { Settings } from '../core/settings.ts';
import { printable } from '../keeping/printable.ts';
import type { SettledCase } from '../outcomes/settled.ts';
import { type Decided, decided } from './decided.ts';
import { rebuild } from './rebuild.ts';
import type { Decision, Entry, LearningBook } from './store.ts';

/** What the command is given, and what its parts share. */

export interface LearntDesk {
  readonly book: LearningBook;
  /** Settled cases of which something may be learnt, anew at each call. */
  readonly cases: () => AsyncIterable<SettledCase>;
  /** Whether there is a case of this id. */
  readonly knows: (id: string) => Promise<boolean>;
  /** As their files have them. */
  readonly flows: readonly Flow[];
  readonly settings: Settings;
  readonly now: () => number;
  readonly out: (line: string) => void;
  readonly err: (line: string) => void;
}

/** Two moderators at once: whoever comes second decides again on what the first left. */
export async function decide(
  { book }: LearntDesk,
  what: (known: Decided, entries: readonly Entry[]) => Promise<Decision>,
): Promise<Decision> {
  for (let attempt = 0; attempt < 20; attempt++) {
    const entries = await book.read(0);
    const known = decided(entries);
    const decision = await what(known, entries);
    if (await book.write(known.last, decision)) return decision;
  }
  throw new Error('What was decided about learning kept changing; nothing was written.');
}

export const tallied = ({ excluded }: Decided, { cases, flows, settings }: LearntDesk) =>
  rebuild(cases(), flows, settings, excluded);

export function flowOf(id: string | undefined, { flows }: LearntDesk): Flow {
  const found = flows.find(({ flow }) => flow === id);
  if (!found)
    throw new Advice(
      `There is no flow “${printable(id ?? '')}”. There are: ${flows.map(({ flow }) => flow).join(', ')}.`,
    );
  return found;
}
