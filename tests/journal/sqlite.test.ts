import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { sqlKeys } from '../../src/journal/keys.ts';
import { sqlJournal } from '../../src/journal/sql.ts';
import { sqliteEngine } from '../../src/journal/sqlite.ts';
import { journalContract } from '../journal.contract.ts';

journalContract('in SQLite', async () => {
  const dir = await mkdtemp(join(tmpdir(), 'journal-'));
  return {
    async open(owner, now) {
      const keys = await sqlKeys(sqliteEngine(join(dir, 'keys.db')), now);
      return sqlJournal({ engine: sqliteEngine(join(dir, 'desk.db')), keys, owner, now });
    },
    drop: () => rm(dir, { recursive: true }),
  };
});
