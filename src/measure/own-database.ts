import { randomBytes } from 'node:crypto';
import pg from 'pg';

/** A new, empty database on the server of `url`, so that nothing is written into one that is in use; `drop` removes it. */
export async function ownDatabase(url: string): Promise<{ readonly url: string; drop(): Promise<void> }> {
  const name = `measure_${randomBytes(8).toString('hex')}`;
  await runOn(url, `create database ${name} template template0`);
  const own = new URL(url);
  own.pathname = `/${name}`;
  return { url: own.href, drop: () => runOn(url, `drop database if exists ${name} with (force)`) };
}

async function runOn(url: string, statement: string): Promise<void> {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    await client.query(statement);
  } finally {
    await client.end();
  }
}
