import { sqlKeys } from '../../src/journal/keys.ts';
import { postgresEngine } from '../../src/journal/postgres.ts';
import { sqlJournal } from '../../src/journal/sql.ts';
import { journalContract } from '../journal.contract.ts';
import { describePostgres, freshDatabase } from '../services.ts';

describePostgres('on a real server', () => {
  journalContract('in PostgreSQL', async () => {
    const database = await freshDatabase();
    const engine = () => postgresEngine(database.url, () => undefined);
    return {
      open: async (owner, now) =>
        sqlJournal({ engine: engine(), keys: await sqlKeys(engine(), now), owner, now }),
      drop: database.drop,
    };
  });
});
