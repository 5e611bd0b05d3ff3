import { randomUUID } from 'node:crypto';
import type { Engine } from './engine.ts';
import { sqlKeys } from './keys.ts';
import { postgresEngine } from './postgres.ts';
import { type SqlJournal, sqlJournal } from './sql.ts';
import { sqliteEngine } from './sqlite.ts';

/** Where a database is. */
export type Place =
  | { readonly kind: 'sqlite'; readonly file: string }
  | { readonly kind: 'postgres'; readonly url: string };

export interface OpenOptions {
  readonly journal: Place;
  /** Where people's keys are; apart from the journal's file, so that a copy of one is not a copy of both. */
  readonly keys: Place;
  readonly now?: () => number;
  /** How long a claim counts, milliseconds; the same for all instances. */
  readonly claimAge?: number;
  /** Told of what goes wrong between queries. */
  readonly report: (problem: string) => void;
  readonly passing?: (point: string) => void;
}

/** Opens the journal and brings its tables up to date. Throws `Advice` when they are newer than this program. */
export async function openJournal(options: OpenOptions): Promise<SqlJournal> {
  const { journal, keys, report, claimAge, passing, now = Date.now } = options;
  return sqlJournal({
    engine: engineOf(journal, report),
    keys: await sqlKeys(engineOf(keys, report), now, passing),
    owner: randomUUID(),
    now,
    ...(claimAge === undefined ? {} : { claimAge }),
    ...(passing ? { passing } : {}),
  });
}

export const engineOf = (place: Place, report: (problem: string) => void): Engine =>
  place.kind === 'sqlite' ? sqliteEngine(place.file) : postgresEngine(place.url, report);
