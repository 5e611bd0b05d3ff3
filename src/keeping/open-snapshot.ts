import type { Place } from '../journal/open-journal.ts';
import { postgresSnapshot } from './postgres-snapshot.ts';
import type { Snapshot } from './snapshot.ts';
import { sqliteSnapshot } from './sqlite-snapshot.ts';

/** Throws `Advice` when there is no journal. */
export const snapshotOf = (place: Place): Promise<Snapshot> =>
  place.kind === 'sqlite' ? sqliteSnapshot(place.file) : postgresSnapshot(place.url);
