import { execFile } from 'node:child_process';
import { randomBytes } from 'node:crypto';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { promisify } from 'node:util';
import pg from 'pg';
import type { Place } from '../../src/journal/open-journal.ts';

/** An empty database for one run, and a way to look into it that shares nothing with the program. */
export interface Database {
  readonly journal: Place;
  readonly keys: Place;
  /** Rows of a query, numbers as numbers. */
  query(text: string): Promise<Record<string, unknown>[]>;
  /** Takes the server down as a crash would, and starts it again. */
  readonly restart: (() => Promise<void>) | null;
  /** Removes it, with whatever was started for it. */
  drop(): Promise<void>;
}

export async function sqliteDatabase(): Promise<Database> {
  const dir = await mkdtemp(join(tmpdir(), 'crash-'));
  const file = join(dir, 'desk.db');
  return {
    journal: { kind: 'sqlite', file },
    keys: { kind: 'sqlite', file: join(dir, 'keys.db') },
    async query(text) {
      const database = new DatabaseSync(file, { readOnly: true, timeout: 10_000 });
      try {
        return database.prepare(text).all() as Record<string, unknown>[];
      } finally {
        database.close();
      }
    },
    restart: null,
    drop: () => rm(dir, { recursive: true }),
  };
}

const script = join(import.meta.dirname, '../services.sh');

/** On the server of TEST_POSTGRES_URL, or, with `own` or without that, on one that is started for this run. */
export async function postgresDatabase({ own }: { readonly own: boolean }): Promise<Database> {
  const server = own ? undefined : process.env.TEST_POSTGRES_URL;
  const started = server ? null : await startServer();
  const base = server ?? (started as Started).url;
  const name = `crash_${randomBytes(8).toString('hex')}`;
  await on(base, `create database ${name} template template0`);
  const url = new URL(base);
  url.pathname = `/${name}`;
  const place: Place = { kind: 'postgres', url: url.href };
  return {
    journal: place,
    keys: place,
    query: (text) => on(url.href, text),
    restart: started ? started.restart : null,
    drop: () =>
      started ? started.stop() : on(base, `drop database ${name} with (force)`).then(() => undefined),
  };
}

interface Started {
  readonly url: string;
  restart(): Promise<void>;
  stop(): Promise<void>;
}

async function startServer(): Promise<Started> {
  const { TEST_SERVICES_DIR: _, ...env } = process.env;
  const services = (...args: string[]) => promisify(execFile)('bash', [script, ...args], { env });
  const { stdout } = await services('start');
  const told = (variable: string): string => {
    const found = new RegExp(`^export ${variable}=(.+)$`, 'm').exec(stdout)?.[1];
    if (!found) throw new Error(`services.sh did not tell ${variable}`);
    return found;
  };
  const dir = told('TEST_SERVICES_DIR');
  return {
    url: told('TEST_POSTGRES_URL'),
    restart: async () => void (await services('restart-postgres', dir, 'immediate')),
    stop: async () => void (await services('stop', dir)),
  };
}

async function on(url: string, text: string): Promise<Record<string, unknown>[]> {
  const client = new pg.Client({
    connectionString: url,
    types: { getTypeParser: (oid: number) => (oid === pg.types.builtins.INT8 ? Number : String) } as never,
  });
  // A server that goes down under an idle connection says so here.
  client.on('error', () => undefined);
  await client.connect();
  try {
    return (await client.query(text)).rows;
  } finally {
    await client.end().catch(() => undefined);
  }
}
