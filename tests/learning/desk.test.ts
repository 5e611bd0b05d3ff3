import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import type { Adapter } from '../../shared/adapter.ts';
import { readSettings } from '../../src/config.ts';
import { openDesk } from '../../src/desk.ts';
import { openJournal } from '../../src/journal/open-journal.ts';
import { decided } from '../../src/learning/decided.ts';
import { digestOf } from '../../src/learning/digest.ts';
import { sqlBook } from '../../src/learning/sql-book.ts';
import { people, radio, settings } from '../core/example-flow.ts';
import { day0 } from './communities.ts';
import { learningDesk, settle } from './learnt-desk.ts';

/** A desk that is opened goes by what was accepted before, from its own database. */

test('a desk loads the accepted numbers of its database when it starts', async () => {
  const dir = await mkdtemp(join(tmpdir(), 'learning-'));
  const read = await readSettings({ JOURNAL_URL: `sqlite:${join(dir, 'desk.db')}` }, dir);
  if ('problems' in read) throw new Error(read.problems.join('\n'));
  const { journal: place, keys } = read.settings;
  if (place.kind === 'memory' || keys === null) throw new Error('a desk in memory');
  const report = (problem: string): void => {
    throw new Error(problem);
  };
  const before = await openJournal({ journal: place, keys, report });
  for (let i = 0; i < 60; i++) await settle(before, { thread: `t:${i}`, fault: 'joint' });
  const book = sqlBook(before.db);
  await learningDesk(before, book).learnt('accept', radio.flow, '--by', 'Maren');
  const learnt = decided(await book.read(0)).learnt.get(radio.flow);
  await before.close();

  const adapter: Adapter = {
    name: 'test',
    abilities: { buttons: 5, length: 2000, pictures: false, forms: false },
    start: async () => undefined,
    stop: async () => undefined,
    deliver: async ({ id }) => id,
  };
  const desk = await openDesk({
    settings: read.settings,
    core: settings,
    flows: [radio],
    adapters: [adapter],
    now: () => day0,
    moved: () => false,
    log: (notice) => {
      if (notice.kind === 'problem' || notice.kind === 'turn-failed') throw notice.cause;
    },
  });
  try {
    const opened = { kind: 'opened', words: 'it is silent', place: '', id: 'm', thread: 'test:a' } as const;
    await desk.runtime.receive({ ...opened, at: day0, by: people.asker });
    const { numbers } = await desk.runtime.caseOf('test:a');
    expect(learnt && digestOf(learnt)).toBe(numbers);
  } finally {
    for (const { run } of desk.stopping) await run(new AbortController().signal);
    await rm(dir, { recursive: true });
  }
});
