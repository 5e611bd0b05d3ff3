import { sqlKeys } from '../journal/keys.ts';
import { engineOf, type Place } from '../journal/open-journal.ts';

/**
 * The community's secret for the ids of its records, 256 bits as text. Without it a record's id would be a digest of a thread's id,
 * and whoever can see threads could try them all. It lies among the keys, under a name that no platform gives to a person: made with
 * the first export, the same ever after, and in the backup of keys. Losing it only gives all records other ids from then on.
 */
export async function recordsSecret(
  place: Place,
  now: () => number,
  report: (problem: string) => void,
): Promise<string> {
  const keys = await sqlKeys(engineOf(place, report), now);
  try {
    const key = (await keys.current([name])).get(name);
    if (!key) throw new Error('The secret of the records was made and is not there.');
    return key.secret.toString('base64');
  } finally {
    await keys.close();
  }
}

const name = 'desk:records';
