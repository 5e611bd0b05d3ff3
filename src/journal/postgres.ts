import { PostgresDialect, sql } from 'kysely';
import pg from 'pg';
import type { Columns, Engine } from './engine.ts';

/** PostgreSQL by `pg`, for several instances on one journal. */

const types: Record<Columns[string], 'bigint' | 'text'> = { number: 'bigint', text: 'text' };

/** `report` is told of connections that break while nobody uses them; the next query opens another. */
export function postgresEngine(url: string, report: (problem: string) => void): Engine {
  return {
    name: 'postgres',
    dialect: new PostgresDialect({
      pool: async () => {
        const pool = new pg.Pool({
          connectionString: url,
          max: 8,
          connectionTimeoutMillis: 5000,
          keepAlive: true,
          // Counts and times are whole numbers far below 2^53.
          types: {
            getTypeParser: ((oid: number, format?: 'text' | 'binary') =>
              oid === pg.types.builtins.INT8
                ? Number
                : pg.types.getTypeParser(oid, format as 'text')) as typeof pg.types.getTypeParser,
          },
        });
        // A connection that breaks during a query says so twice: to the query, and here.
        pool.on('connect', (client) => client.on('error', () => undefined));
        pool.on('error', (cause) => report(`The database closed a connection: ${cause.message}`));
        return pool;
      },
    }),
    types: { number: 'bigint', serial: 'bigint' },
    rows(columns, rows) {
      const names = Object.keys(columns);
      const lists = names.map((name, i) => {
        const type = sql.raw(types[columns[name] as Columns[string]]);
        return sql`${rows.map((row) => row[i])}::${type}[]`;
      });
      return sql`(select * from unnest(${sql.join(lists)}) as given(${sql.join(names.map((name) => sql.id(name)))}))`;
    },
    among: (list) => sql`(select unnest(${list}::text[]))`,
    lockRows: sql`for update`,
    skipLocked: sql`for update skip locked`,
    lockSchema: sql`select pg_advisory_xact_lock(6013240311)`,
    writers: 2,
    passes: (cause) => {
      const code = (cause as { code?: string } | null)?.code ?? '';
      // Serialization and deadlock, connections, resources, shutting down or starting up.
      return /^(40|08|53|57P)/.test(code) || /^E(CONN|PIPE|TIMEDOUT)/.test(code) || isLost(cause);
    },
  };
}

const isLost = (cause: unknown): boolean =>
  cause instanceof Error &&
  /connection (terminated|closed)|timeout exceeded|not queryable/i.test(cause.message);
