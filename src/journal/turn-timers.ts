import type { JournalTurn } from './journal.ts';

/** Timers as a turn leaves them, by key; null: gone. */
export function timersOf(turn: JournalTurn): Map<string, number | null> {
  const timers = new Map<string, number | null>();
  if (turn.rung !== undefined) timers.set(turn.rung, null);
  for (const one of turn.outbound) {
    if (one.kind === 'remind') timers.set(one.key, one.due);
    if (one.kind === 'unremind') timers.set(one.key, null);
  }
  return timers;
}
