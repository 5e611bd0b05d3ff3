import { afterEach, beforeEach, expect, test } from 'vitest';
import { backupCommand } from '../../src/keeping/backup.ts';
import { restoreCommand } from '../../src/keeping/restore.ts';
import { recordsSecret } from '../../src/records/secret.ts';
import { type KeptDesk, keptDesk } from '../keeping/kept-desk.ts';

/** The secret behind the ids of records. */

let here: KeptDesk;
let there: KeptDesk;
beforeEach(async () => {
  [here, there] = await Promise.all([keptDesk('sqlite'), keptDesk('sqlite')]);
});
afterEach(() => Promise.all([here.drop(), there.drop()]));

const secretOf = ({ keys, now }: KeptDesk): Promise<string> => recordsSecret(keys, now, () => undefined);

test('stays the same from one export to the next, and is another one at every desk', async () => {
  const secret = await secretOf(here);
  expect(Buffer.from(secret, 'base64')).toHaveLength(32);
  expect(await secretOf(here)).toBe(secret);
  expect(await secretOf(there)).not.toBe(secret);
});

test('comes back with a backup of keys', async () => {
  const secret = await secretOf(here);
  await (await here.open()).close();
  const file = `${here.keys.kind === 'sqlite' ? here.keys.file : ''}.backup`;
  expect(await backupCommand(['--keys', file], here)).toBe(0);
  expect(await restoreCommand(['--keys', file], there)).toBe(0);
  expect(await secretOf(there)).toBe(secret);
});
