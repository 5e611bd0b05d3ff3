import { randomBytes } from 'node:crypto';
import { connect } from 'node:net';
import pg from 'pg';
import { describe } from 'vitest';

/**
 * The real PostgreSQL and Redis that tests use, started by `tests/services.sh`. Suites that need one which is not there
 * are skipped, and their names say how to run them; with CI_NEEDS_SERVICES=1 importing this file fails instead.
 */
export const postgresUrl: string | undefined = process.env.TEST_POSTGRES_URL || undefined;
export const redisUrl: string | undefined = process.env.TEST_REDIS_URL || undefined;

const howToRun = 'run: eval "$(bash tests/services.sh start)" && npm test';

if (process.env.CI_NEEDS_SERVICES === '1') {
  if (postgresUrl === undefined) throw new Error(`TEST_POSTGRES_URL is not set; ${howToRun}`);
  if (redisUrl === undefined) throw new Error(`TEST_REDIS_URL is not set; ${howToRun}`);
}

/** A suite for a real PostgreSQL. `suite` is read even when skipped: connect in hooks and tests only. */
export function describePostgres(name: string, suite: () => void): void {
  describeService(name, 'PostgreSQL', postgresUrl, suite);
}

/** A suite for a real Redis. `suite` is read even when skipped: connect in hooks and tests only. */
export function describeRedis(name: string, suite: () => void): void {
  describeService(name, 'Redis', redisUrl, suite);
}

function describeService(name: string, service: string, url: string | undefined, suite: () => void): void {
  const title = url === undefined ? `${name} (skipped: no ${service}; ${howToRun})` : name;
  describe.skipIf(url === undefined)(title, suite);
}

/**
 * A new, empty database for one test file. `drop` cuts the connections that are still open to it, and a pool that
 * was not ended says so loudly.
 */
export async function freshDatabase(): Promise<{ readonly url: string; drop(): Promise<void> }> {
  if (postgresUrl === undefined) throw new Error(`no PostgreSQL; ${howToRun}`);
  const server = postgresUrl;
  const name = `test_${randomBytes(8).toString('hex')}`;
  // From template0: nobody can be connected to it, so files that start together do not wait for each other.
  await runOn(server, `create database ${name} template template0`);
  const url = new URL(server);
  url.pathname = `/${name}`;
  return { url: url.href, drop: () => runOn(server, `drop database if exists ${name} with (force)`) };
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

/**
 * An empty numbered database of the Redis server for one test file; its number is the path of the URL. Numbers are
 * counted up in database 0 and never used twice; one that holds anything is passed over. `drop` empties it.
 */
export async function freshRedis(): Promise<{ readonly url: string; drop(): Promise<void> }> {
  if (redisUrl === undefined) throw new Error(`no Redis; ${howToRun}`);
  for (;;) {
    const url = new URL(redisUrl);
    url.pathname = `/${await redisCommand(redisUrl, 'INCR', 'mendthread-tests')}`;
    if ((await redisCommand(url.href, 'DBSIZE')) !== '0') continue;
    return {
      url: url.href,
      drop: async () => {
        await redisCommand(url.href, 'FLUSHDB');
      },
    };
  }
}

/**
 * One command on a connection of its own, so that tests can look at Redis past the client they test. For answers of
 * one line (status, number); an error answer rejects. The URL's path is the database's number; no passwords.
 */
export function redisCommand(url: string, ...command: readonly string[]): Promise<string> {
  const { hostname, port, pathname } = new URL(url);
  const commands = [['SELECT', pathname.slice(1) || '0'], command];
  return new Promise((resolve, reject) => {
    const socket = connect(Number(port || 6379), hostname);
    let received = '';
    socket.setEncoding('utf8');
    socket.setTimeout(10_000, () => socket.destroy(new Error(`Redis did not answer ${command[0]}`)));
    socket.on('data', (data) => {
      received += data;
      const [selected, answer, end] = received.split('\r\n');
      const wrong = [selected, answer].find((line) => line?.startsWith('-'));
      if (wrong !== undefined) socket.destroy(new Error(`Redis: ${wrong.slice(1)}`));
      else if (answer !== undefined && end !== undefined) {
        resolve(answer.slice(1));
        socket.end();
      }
    });
    socket.on('error', reject);
    socket.on('close', () => reject(new Error('Redis closed the connection')));
    for (const words of commands) socket.write(encoded(words));
  });
}

/** As in the Redis serialization protocol: how many words, then each with its length in bytes. */
function encoded(words: readonly string[]): string {
  return `*${words.length}\r\n${words.map((word) => `$${Buffer.byteLength(word)}\r\n${word}\r\n`).join('')}`;
}
