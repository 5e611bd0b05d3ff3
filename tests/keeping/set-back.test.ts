import { rm } from 'node:fs/promises';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { CaseState, Event } from '../../shared/case.ts';
import { emptyCase, fold, number } from '../../src/core/reduce.ts';
import { step } from '../../src/core/step.ts';
import type { SqlJournal } from '../../src/journal/sql.ts';
import { backupCases, backupKeys } from '../../src/keeping/backup.ts';
import { restoreCommand } from '../../src/keeping/restore.ts';
import { restoreCases } from '../../src/keeping/restore-cases.ts';
import { newTalk } from '../conversations/thread.ts';
import { radio, settings } from '../core/example-flow.ts';
import { describePostgres } from '../services.ts';
import { ask, began, type KeptDesk, type Kind, keptDesk, newFolder, remind, say, turn } from './kept-desk.ts';

const ada = { id: 'ada', name: 'Ada Quillon', roles: [] };
const day = 24 * 60 * 60_000;

/** A radio that is out of the wall, open and proven discharged, with a question inside put. */
function proven(): readonly Event[] {
  const talk = newTalk();
  talk.as(ada).says('the radio is silent');
  const kase = fold(emptyCase('t:1'), talk.events);
  const own = { by: 'ada', at: began };
  const more = number(kase, [
    { ...own, kind: 'unplugged' },
    { ...own, kind: 'stage-opened', stage: radio.access[0]?.id ?? '' },
    { ...own, kind: 'proven' },
    { ...own, kind: 'live-agreed', step: 'x' },
    {
      by: 'desk',
      at: began,
      kind: 'put',
      question: { key: 'q9', kind: 'check', step: 'x', power: 'none', inside: true },
      told: [],
    },
  ]);
  return [...talk.events, ...more];
}

function settingBack(kind: Kind): void {
  let folder: string;
  let desk: KeptDesk;
  let to: KeptDesk;
  let journal: SqlJournal;
  const file = (name: string): string => join(folder, name);
  beforeEach(async () => {
    folder = await newFolder();
    desk = await keptDesk(kind);
    to = await keptDesk(kind);
    journal = await desk.open();
    const add = (
      thread: string,
      state: CaseState,
      events: readonly Event[],
      outbound = [remind('wait', 9)],
    ) => journal.append(turn(thread, 'a', 0, { events, outbound, state }));
    const events = proven();
    await add('t:1', 'asking', events);
    await journal.append(
      turn('t:1', 'b', events.length, { outbound: [say('first'), ask('q9', 'Reach in')] }),
    );
    const opened = (at: number): Event => ({ kind: 'opened', seq: 1, at, by: 'ada', words: 'w', place: '' });
    await add('t:rest', 'resting', [
      opened(began),
      { kind: 'rested', seq: 2, at: began, by: 'desk', key: 'wait', due: 9, reason: 'it dries' },
    ]);
    await add('t:silent', 'asking', [opened(began - 31 * day)]);
    await add('t:people', 'with people', [opened(began)]);
    await add('t:settled', 'settled', [opened(began)]);
    await journal.append(turn('t:nobody', 'a', 0, { outbound: [say('hello')] }));
    await backupCases(file('cases'), desk);
    await backupKeys(file('keys'), desk);
    to.clock.now += 3 * 60 * 60_000;
  });
  afterEach(async () => {
    await desk.drop();
    await to.drop();
    await rm(folder, { recursive: true });
  });
  const kaseOf = async (where: SqlJournal, thread: string) =>
    fold(emptyCase(thread), (await where.read(thread)).events);
  const told = async (where: SqlJournal, thread: string) =>
    ((await where.take(thread)) ?? []).map(({ outbound }) =>
      'words' in outbound ? outbound.words.slice(0, 23) : outbound.kind,
    );

  test('stops what was under way, so that nothing counts as safe any more', async () => {
    const before = await kaseOf(journal, 't:1');
    expect(before.world).toMatchObject({ charged: false, proof: { by: 'ada' }, unplugged: { by: 'ada' } });
    await restoreCommand(['--keys', file('keys')], to);
    await restoreCommand([file('cases')], to);
    expect(to.said.join('\n')).toMatch(/3 cases were under way and stopped here/);
    const restored = await to.open();
    const kase = await kaseOf(restored, 't:1');
    expect(kase).toMatchObject({
      state: 'resting',
      stopped: true,
      question: null,
      seq: before.seq + 1,
      world: {
        open: before.world.open,
        charged: true,
        proof: null,
        unplugged: null,
        live: null,
        readings: [],
      },
    });
    expect(await kaseOf(restored, 't:rest')).toMatchObject({ stopped: true, rest: null });
    expect(await kaseOf(restored, 't:silent')).toMatchObject({ stopped: true });
    for (const thread of ['t:people', 't:settled'])
      expect((await restored.read(thread)).events).toEqual((await journal.read(thread)).events);
    expect((await restored.read('t:nobody')).events).toEqual([]);

    // What was still on its way goes out, but for the question that is closed.
    expect(await told(restored, 't:1')).toEqual(['remind', 'first', 'This desk was set back ']);
    expect(await told(restored, 't:rest')).toEqual(['remind', 'This desk was set back ']);
    expect(await told(restored, 't:silent')).toEqual(['remind']);
    expect(await told(restored, 't:people')).toEqual(['remind']);
    const timers = await restored.claim({ now: 1e15, platforms: ['t'], limit: 10 });
    expect(timers.map(({ thread }) => thread).toSorted()).toEqual(['t:people', 't:settled']);
  });

  test('goes on when its person writes, from the plug on', async () => {
    await restoreCommand([file('cases')], to);
    const restored = await to.open();
    const kase = await kaseOf(restored, 't:1');
    const inbound = {
      kind: 'said',
      id: 'x',
      thread: 't:1',
      at: to.now(),
      by: ada,
      words: 'here again',
    } as const;
    const { events, outbound } = step(kase, inbound, radio, settings);
    const appended = await restored.append(
      turn('t:1', 'x', kase.seq, { events, outbound, state: fold(kase, events).state }),
    );
    expect(appended.kind).toBe('done');
    const after = await kaseOf(restored, 't:1');
    expect(after).toMatchObject({ stopped: false, state: 'asking' });
    expect(after.question?.inside).not.toBe(true);
  });

  test('holds when the keys come later: the closed question does not come back', async () => {
    await restoreCommand([file('cases')], to);
    const restored = await to.open();
    expect(await told(restored, 't:1')).toEqual(['This desk was set back ']);
    await restored.release('t:1');
    expect(await restoreCommand(['--keys', file('keys')], to)).toBe(0);
    expect(await told(restored, 't:1')).toEqual(['remind', 'first', 'This desk was set back ']);
  });

  test('is left out for a journal that is only looked at', async () => {
    const { stopped } = await restoreCases(file('cases'), to, { asTheyWere: true });
    expect(stopped).toBe(0);
    expect(await (await to.open()).nextDue()).toBe(9);
  });
}

describe('a desk set back in SQLite', () => settingBack('sqlite'));
describePostgres('a desk set back in PostgreSQL', () => settingBack('postgres'));
