import { existsSync } from 'node:fs';
import { Advice } from '../advice.ts';
import type { Place } from '../journal/open-journal.ts';

/** What every command about kept cases is given. */
export interface Desk {
  readonly journal: Place;
  readonly keys: Place;
  /** Milliseconds since 1970-01-01 UTC. */
  readonly now: () => number;
  /** One line for whoever asked. */
  readonly out: (line: string) => void;
  /** One line beside what was asked for: warnings, usage. */
  readonly err: (line: string) => void;
}

/** A command that reads what is there must not make an empty file of a mistyped name. Throws `Advice`. */
export function mustBeThere(place: Place, what: 'journal' | 'keys'): void {
  if (place.kind === 'sqlite' && !existsSync(place.file))
    throw new Advice(
      `There is no file ${place.file} for the ${what}. Say where it is in the settings, as the desk that wrote it has them.`,
    );
}

export const counted = (count: number, one: string, many = `${one}s`): string =>
  `${count} ${count === 1 ? one : many}`;

/** `2026-03-01 10:22 UTC` */
export const dated = (at: number): string =>
  `${new Date(at).toISOString().slice(0, 16).replace('T', ' ')} UTC`;
