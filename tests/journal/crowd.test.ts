import type { DatabaseConnection, Dialect } from 'kysely';
import pg from 'pg';
import { afterEach, beforeEach, expect, test } from 'vitest';
import type { Outbound } from '../../shared/outbound.ts';
import type { JournalTurn, Waiting } from '../../src/journal/journal.ts';
import { sqlKeys } from '../../src/journal/keys.ts';
import { postgresEngine } from '../../src/journal/postgres.ts';
import { type SqlJournal, sqlJournal } from '../../src/journal/sql.ts';
import { describePostgres, freshDatabase } from '../services.ts';

/** Where instances on one PostgreSQL, and the writes of one instance, can get into each other's way: held there by locks. */
describePostgres('several instances on one PostgreSQL', () => {
  let database: Awaited<ReturnType<typeof freshDatabase>>;
  let here: SqlJournal;
  let there: SqlJournal;
  /** Somebody else's transaction, which locks what a test wants held up. */
  let other: pg.Client;
  /** Writes that failed and were tried again. */
  let failures: unknown[];
  /** Whether the answer to this query is held back, and until when. */
  let hold: (query: string) => Promise<void> | null;

  const open = async (owner: string): Promise<SqlJournal> => {
    const engine = postgresEngine(database.url, () => undefined);
    return sqlJournal({
      engine: {
        ...engine,
        dialect: slow(engine.dialect, (query) => hold(query)),
        passes(cause) {
          failures.push(cause);
          return engine.passes(cause);
        },
      },
      keys: await sqlKeys(
        postgresEngine(database.url, () => undefined),
        Date.now,
      ),
      owner,
      now: Date.now,
    });
  };
  const turn = (inbound: string, thread: string, ...words: string[]): JournalTurn => ({
    thread,
    inbound,
    after: 0,
    events: [],
    outbound: words.map((one): Outbound => ({ kind: 'say', words: one })),
    state: 'asking',
  });
  const written = async (one: JournalTurn): Promise<readonly Waiting[]> => {
    const done = await here.append(one);
    return done.kind === 'done' ? done.messages : [];
  };
  const idsIn = async (journal: SqlJournal, thread: string): Promise<string[] | null> =>
    (await journal.take(thread))?.map(({ id }) => id) ?? null;
  const lock = (thread: string) => other.query('select 1 from cases where thread = $1 for update', [thread]);
  /** Long enough for whatever is under way to be done, or to come to a lock. */
  const aMoment = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 150));

  beforeEach(async () => {
    database = await freshDatabase();
    failures = [];
    hold = () => null;
    here = await open('here');
    there = await open('there');
    other = new pg.Client({ connectionString: database.url });
    await other.connect();
  });
  afterEach(async () => {
    await other.end();
    await here.close();
    await there.close();
    await database.drop();
  });

  test('a write takes all its cases in one order, what it gives back included', async () => {
    await written(turn('a', 'first', 'one'));
    const [message] = await written(turn('b', 'second', 'one'));
    await here.delivered(message?.id ?? '', 'm');
    await other.query('begin');
    await lock('first');
    await here.release('second');
    const appended = here.append(turn('c', 'first', 'two'));
    await aMoment();
    // Whoever has the first case may have the second: the write does not sit on it while it waits.
    await lock('second');
    await other.query('commit');
    expect(await appended).toMatchObject({ kind: 'done' });
    expect(failures).toEqual([]);
  });

  test('what was delivered is not handed out again while that is being written', async () => {
    const [message] = await written(turn('a', 't', 'one'));
    const late = Promise.withResolvers<void>();
    hold = (query) => (/^select .* from "outbox"/.test(query) ? late.promise : null);
    await here.delivered(message?.id ?? '', 'm');
    const taken = idsIn(here, 't');
    await aMoment();
    late.resolve();
    expect(await taken).toEqual([]);
  });

  test('messages that another instance wrote a moment before are told to be waiting', async () => {
    const [message] = await written(turn('a', 't', 'one'));
    await here.delivered(message?.id ?? '', 'm');
    await aMoment();
    await other.query('begin');
    await lock('t');
    const appended = here.append(turn('b', 't', 'three'));
    await aMoment();
    await other.query(`insert into outbox (case_id, n, body, since) select id, 2, '{}', 0 from cases`);
    await other.query('update cases set sent = 2');
    await other.query('commit');
    expect(await appended).toMatchObject({
      kind: 'done',
      mine: true,
      behind: true,
      messages: [{ id: '1.3' }],
    });
  });

  test('a thread is given back only once all that was delivered in it is written', async () => {
    const [first, second] = await written(turn('a', 't', 'one', 'two'));
    await other.query('begin');
    await other.query('select 1 from outbox where n = 1 for update');
    await here.delivered(first?.id ?? '', 'm1');
    await aMoment();
    // The write of the first one waits; another goes ahead with the second and the thread.
    await here.delivered(second?.id ?? '', 'm2');
    await here.release('t');
    await aMoment();
    expect(await idsIn(there, 't')).toBeNull();
    await other.query('commit');
    await aMoment();
    expect(await idsIn(there, 't')).toEqual([]);
  });

  test('what is given back while a turn is written is not what that turn takes', async () => {
    const [message] = await written(turn('a', 't', 'one'));
    await here.delivered(message?.id ?? '', 'm');
    await aMoment();
    await other.query('begin');
    // Somebody seems to have written this message already, and takes it back: the write waits in its midst.
    await other.query(`insert into outbox (case_id, n, body, since) select id, 2, '{}', 0 from cases`);
    const appended = here.append(turn('b', 't', 'two'));
    await aMoment();
    await here.release('t');
    await other.query('rollback');
    expect(await appended).toMatchObject({ kind: 'done', mine: true });
    await aMoment();
    expect(await idsIn(there, 't')).toBeNull();
  });
});

/** The same database, whose answers may be held back on their way. */
function slow(dialect: Dialect, hold: (query: string) => Promise<void> | null): Dialect {
  const real = new WeakMap<DatabaseConnection, DatabaseConnection>();
  const of = (connection: DatabaseConnection): DatabaseConnection => real.get(connection) ?? connection;
  return {
    createAdapter: () => dialect.createAdapter(),
    createIntrospector: (db) => dialect.createIntrospector(db),
    createQueryCompiler: () => dialect.createQueryCompiler(),
    createDriver() {
      const driver = dialect.createDriver();
      return {
        init: (options) => driver.init(options),
        destroy: (options) => driver.destroy(options),
        beginTransaction: (connection, settings) => driver.beginTransaction(of(connection), settings),
        commitTransaction: (connection) => driver.commitTransaction(of(connection)),
        rollbackTransaction: (connection) => driver.rollbackTransaction(of(connection)),
        releaseConnection: (connection, options) => driver.releaseConnection(of(connection), options),
        async acquireConnection(options) {
          const connection = await driver.acquireConnection(options);
          const slowed: DatabaseConnection = {
            async executeQuery(query, more) {
              const answer = await connection.executeQuery(query, more);
              await hold(query.sql);
              return answer as never;
            },
            streamQuery: (query, size, more) => connection.streamQuery(query, size, more) as never,
          };
          real.set(slowed, connection);
          return slowed;
        },
      };
    },
  };
}
