import { join } from 'node:path';
import { sql } from 'kysely';
import type { Flow } from '../../shared/flow.ts';
import type { Outbound } from '../../shared/outbound.ts';
import { withoutPersonal } from '../core/personal.ts';
import type { Settings } from '../core/settings.ts';
import { memoryJournal } from '../journal/memory.ts';
import { type OpenOptions, openJournal } from '../journal/open-journal.ts';
import { openScene, platform, recording } from './scene.ts';

/** Journals with very many cases, made in bulk: each a conversation up to the wait of a drain, without words. */

export const placesIn = (dir: string): Pick<OpenOptions, 'journal' | 'keys'> => ({
  journal: { kind: 'sqlite', file: join(dir, 'desk.db') },
  keys: { kind: 'sqlite', file: join(dir, 'keys.db') },
});

export const idle = (i: number): string => `${platform}:idle${i}`;

const twoDays = 2 * 24 * 60 * 60_000;

/** Resolves to the number of events. Every case has a timer, due at `due`; in `later` more cases, two days after it. */
export async function fill(
  dir: string,
  cases: number,
  due: number,
  flow: Flow,
  settings: Settings,
  later = 0,
): Promise<number> {
  const recorder = recording(memoryJournal());
  const scene = openScene(recorder.journal, flow, settings);
  // The kind that does the first thing asked and then waits.
  const turns = await restingTurns(scene, recorder.turns);
  await scene.runtime.stop();
  const events = turns.flatMap((turn) => turn.events);
  const key = turns.flatMap(({ outbound }) => outbound.flatMap((one) => (isWait(one) ? [one.key] : [])))[0];
  const journal = await openJournal({ ...placesIn(dir), report: (what) => console.error(what) });
  // Cases are numbered from 1 in an empty journal.
  const at = sql`case when id <= ${cases} then ${due} else ${due + twoDays} end`;
  await journal.db.transaction().execute(async (trx) => {
    const numbers = sql`with recursive n(i) as (select 1 union all select i + 1 from n where i < ${cases + later})`;
    await sql`insert into cases (thread, platform, seq, sent, state, last_at) ${numbers} select ${idle(0).slice(0, -1)} || i, ${platform}, ${events.length}, 0, 'resting', ${due} from n`.execute(
      trx,
    );
    for (const event of events) {
      const kept = JSON.stringify(withoutPersonal(event));
      const body = event.kind === 'rested' ? sql`json_set(${kept}, '$.due', ${at})` : sql`${kept}`;
      await sql`insert into events (case_id, seq, id, body) select id, ${event.seq}, lower(hex(randomblob(16))), ${body} from cases`.execute(
        trx,
      );
    }
    await sql`insert into timers (case_id, key, due, platform) select id, ${key}, ${at}, ${platform} from cases`.execute(
      trx,
    );
  });
  await journal.close();
  return (cases + later) * events.length;
}

/** A timer that a case rests for. */
const isWait = (one: Outbound): one is Extract<Outbound, { kind: 'remind' }> =>
  one.kind === 'remind' && one.later !== true;

async function restingTurns(
  scene: ReturnType<typeof openScene>,
  turns: ReturnType<typeof recording>['turns'],
): Promise<NonNullable<ReturnType<typeof turns.get>>> {
  for (let kind = 0; kind < 8; kind++) {
    const thread = `${platform}:kind${kind}`;
    await scene.converse(thread, kind);
    const recorded = turns.get(thread) ?? [];
    const until = recorded.findIndex(({ outbound }) => outbound.some(isWait));
    if (until >= 0) return recorded.slice(0, until + 1);
  }
  throw new Error('No conversation came to a wait.');
}
