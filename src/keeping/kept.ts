import type { Columns } from '../journal/engine.ts';

/**
 * The tables a backup of cases holds, and of each the columns that mean something anywhere. Leases and claims belong to
 * instances that run, and the cache can be worked out again.
 */
export interface KeptTable {
  readonly name: string;
  readonly columns: Columns;
  /** Read in this order; none: as it comes. */
  readonly order: readonly string[];
  /** The step of the journal that made it; none: the first. */
  readonly since?: number;
}

export const caseTables = [
  {
    name: 'cases',
    columns: {
      id: 'number',
      thread: 'text',
      platform: 'text',
      seq: 'number',
      sent: 'number',
      state: 'text',
      last_at: 'number',
    },
    order: ['id'],
  },
  {
    name: 'events',
    columns: { case_id: 'number', seq: 'number', id: 'text', body: 'text', sealed: 'text' },
    order: ['case_id', 'seq'],
  },
  { name: 'turns', columns: { case_id: 'number', inbound: 'text' }, order: [] },
  {
    name: 'outbox',
    columns: {
      case_id: 'number',
      n: 'number',
      key: 'text',
      body: 'text',
      reference: 'text',
      tries: 'number',
      next_try: 'number',
      since: 'number',
      state: 'number',
      why: 'text',
    },
    order: ['case_id', 'n'],
  },
  { name: 'timers', columns: { case_id: 'number', key: 'text', due: 'number', platform: 'text' }, order: [] },
  { name: 'people', columns: { person: 'text', case_id: 'number' }, order: [] },
  { name: 'learning', columns: { n: 'number', body: 'text' }, order: ['n'], since: 2 },
] as const satisfies readonly KeptTable[];

export const keyTable = {
  name: 'person_keys',
  columns: { person: 'text', id: 'text', key: 'text', made: 'number' },
  order: ['person'],
} as const satisfies KeptTable;
