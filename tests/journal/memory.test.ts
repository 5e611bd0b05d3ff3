import { memoryJournal } from '../../src/journal/memory.ts';
import { journalContract } from '../journal.contract.ts';

journalContract('in memory', memoryJournal);
