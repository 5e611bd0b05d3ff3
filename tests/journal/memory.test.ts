import { memoryJournal, memoryStore } from '../../src/journal/memory.ts';
import { journalContract } from '../journal.contract.ts';

journalContract('in memory', async () => {
  const store = memoryStore();
  return {
    open: async (owner, now) => memoryJournal({ store, owner, now }),
    drop: async () => undefined,
  };
});
