import { createHash } from 'node:crypto';
import { Learnt } from './learnt.ts';
import { nameOf } from './propose.ts';

/** A short name of accepted numbers, for the journals of cases: of the numbers alone, whoever accepted them, and when. */
export function digestOf(given: Learnt): string {
  // Parsed, its fields stand in one order.
  const { flow, version, trust, distributions } = Learnt.parse(given);
  const ordered = distributions.toSorted((a, b) => (nameOf(a) < nameOf(b) ? -1 : 1));
  const text = JSON.stringify([flow, version, trust, ordered]);
  return createHash('sha256').update(text).digest('hex').slice(0, 12);
}
