import { execFile } from 'node:child_process';
import { mkdtemp, readdir, rm, writeFile } from 'node:fs/promises';
import { connect } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import pg from 'pg';
import { afterEach, describe, expect, it, vi } from 'vitest';
import {
  describePostgres,
  describeRedis,
  freshDatabase,
  freshRedis,
  postgresUrl,
  redisCommand,
  redisUrl,
} from './services.ts';

async function query(url: string | undefined, statement: string): Promise<unknown[]> {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    return (await client.query({ text: statement, rowMode: 'array' })).rows.flat();
  } finally {
    await client.end();
  }
}

describePostgres('the PostgreSQL of the tests', () => {
  it('answers', async () => {
    expect(await query(postgresUrl, 'select 1')).toEqual([1]);
  });

  it('keeps what it has acknowledged, as in earnest', async () => {
    expect(await query(postgresUrl, 'show fsync')).toEqual(['on']);
    expect(await query(postgresUrl, 'show synchronous_commit')).toEqual(['on']);
    expect(await query(postgresUrl, 'show full_page_writes')).toEqual(['on']);
  });

  it('gives every file an empty database of its own, which is gone when dropped', async () => {
    const [one, other] = await Promise.all([freshDatabase(), freshDatabase()]);
    const tables = `select count(*)::int from pg_class where relnamespace = 'public'::regnamespace`;
    expect(await query(one.url, tables)).toEqual([0]);
    await query(one.url, 'create table kept (id int)');
    expect(await query(one.url, tables)).toEqual([1]);
    expect(await query(other.url, tables)).toEqual([0]);
    await one.drop();
    await other.drop();
    await one.drop();
    // 3D000 is "invalid catalog name" (PostgreSQL documentation, appendix A).
    await expect(query(one.url, 'select 1')).rejects.toMatchObject({ code: '3D000' });
  });

  it('drops a database that somebody still holds open', async () => {
    const { url, drop } = await freshDatabase();
    const held = new pg.Client({ connectionString: url });
    const cut = new Promise<Error>((resolve) => {
      held.once('error', resolve);
      held.on('error', () => {});
    });
    await held.connect();
    await drop();
    // 57P01 is "admin shutdown" (same appendix).
    expect(await cut).toMatchObject({ code: '57P01' });
    await expect(query(url, 'select 1')).rejects.toMatchObject({ code: '3D000' });
  });
});

describeRedis('the Redis of the tests', () => {
  it('answers PING over a plain socket', async () => {
    const { hostname, port } = new URL(redisUrl ?? '');
    const answer = await new Promise<string>((resolve, reject) => {
      const socket = connect(Number(port || 6379), hostname, () => socket.write('PING\r\n'));
      socket.once('data', (data) => {
        resolve(data.toString());
        socket.end();
      });
      socket.once('error', reject);
    });
    expect(answer).toBe('+PONG\r\n');
  });

  it('gives every file an empty database of its own, which is empty again when dropped', async () => {
    const [one, other] = await Promise.all([freshRedis(), freshRedis()]);
    expect(one.url).not.toBe(other.url);
    expect(await redisCommand(one.url, 'DBSIZE')).toBe('0');
    await redisCommand(one.url, 'SET', 'näme', 'two words');
    expect(await redisCommand(one.url, 'STRLEN', 'näme')).toBe('9');
    expect(await redisCommand(other.url, 'DBSIZE')).toBe('0');
    await one.drop();
    expect(await redisCommand(one.url, 'DBSIZE')).toBe('0');
    await other.drop();
  });

  it('says what Redis refuses', async () => {
    await expect(redisCommand(redisUrl ?? '', 'NO-SUCH-COMMAND')).rejects.toThrow('unknown command');
  });
});

describe('without services', () => {
  afterEach(() => {
    vi.unstubAllEnvs();
    vi.resetModules();
  });

  it.each(['TEST_POSTGRES_URL', 'TEST_REDIS_URL'])('CI refuses to skip for want of %s', async (missing) => {
    vi.stubEnv('TEST_POSTGRES_URL', 'postgres://127.0.0.1:1/postgres');
    vi.stubEnv('TEST_REDIS_URL', 'redis://127.0.0.1:1');
    vi.stubEnv('CI_NEEDS_SERVICES', '1');
    vi.resetModules();
    await expect(import('./services.ts')).resolves.toHaveProperty('redisUrl', 'redis://127.0.0.1:1');
    vi.stubEnv(missing, '');
    vi.resetModules();
    await expect(import('./services.ts')).rejects.toThrow(`${missing} is not set; run: eval`);
  });
});

describe('the script of the services', () => {
  const script = (...args: readonly string[]) =>
    new Promise<{ code: unknown; err: string }>((resolve) => {
      execFile('bash', [join(import.meta.dirname, 'services.sh'), ...args], (error, _, err) =>
        resolve({ code: error?.code ?? 0, err }),
      );
    });

  it('never removes a folder that it did not make', async () => {
    const folder = await mkdtemp(join(tmpdir(), 'not-services-'));
    await writeFile(join(folder, 'exports'), 'mine');
    const { code, err } = await script('stop', folder);
    expect(code).toBe(2);
    expect(err).toContain('is not a folder of test services');
    expect(await readdir(folder)).toEqual(['exports']);
    await rm(folder, { recursive: true });
  });

  it('has nothing to do for services that are gone', async () => {
    expect(await script('stop', join(tmpdir(), 'no-such-services'))).toMatchObject({ code: 0 });
  });

  it('says how it is used', async () => {
    expect(await script('begin')).toMatchObject({ code: 2, err: expect.stringContaining('usage') });
  });
});
