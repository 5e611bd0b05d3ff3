import { uncell } from '../journal/names.ts';
import { idLength, type KeyStore } from './key-store.ts';
import { placeOfMessage, sealMessage } from './sealed-message.ts';
import type { Row, Snapshot } from './snapshot.ts';

/**
 * Messages that wait, or were set aside, stand in the journal in clear. For a backup they are sealed under the keys of
 * everybody whose words their case holds; what was written before words of its case were erased is left out.
 */

export interface Message {
  readonly caseId: number;
  readonly n: number;
  readonly body: string | null;
  readonly since: number;
}

/** In the order of `messages`; null: nothing to seal. */
export async function sealMessages(
  messages: readonly Message[],
  snapshot: Snapshot,
  store: KeyStore,
): Promise<(string | 'erased' | null)[]> {
  const ids = [...new Set(messages.flatMap(({ body, caseId }) => (body === null ? [] : [caseId])))];
  if (ids.length === 0) return messages.map(() => null);
  const cases = await casesOf(ids, snapshot);
  const held = await store.held([...new Set([...cases.values()].flatMap(({ people }) => people))]);

  const sealed: (string | 'erased' | null)[] = [];
  for (const { caseId, n, body, since } of messages) {
    const kase = cases.get(caseId);
    if (body === null || !kase) {
      sealed.push(null);
      continue;
    }
    const keys = kase.people.flatMap((person) => held.get(person) ?? []);
    // A key that sealed nothing here belongs to somebody who was erased meanwhile and came back.
    const whole = keys.length === kase.people.length && keys.every(({ id }) => kase.keyIds.has(id));
    if (since < kase.erased || !whole) {
      sealed.push('erased');
      continue;
    }
    const place = placeOfMessage(kase.thread, n);
    if (keys.length > 0) sealed.push(sealMessage(body, place, keys));
    else if (kase.asker === null) sealed.push(null);
    else {
      // Nobody's words are kept here; the message is for the asker all the same.
      const own = await (await store.keys()).current([kase.asker]);
      sealed.push(sealMessage(body, place, [...own.values()]));
    }
  }
  return sealed;
}

interface CaseOfMessages {
  /** As it stands in the table. */
  readonly thread: string;
  asker: string | null;
  readonly people: string[];
  /** Of the keys that its events are sealed with. */
  readonly keyIds: Set<string>;
  /** When words of it were erased last, by the machine's clock, as `since` is. */
  erased: number;
}

async function casesOf(ids: readonly number[], snapshot: Snapshot): Promise<Map<number, CaseOfMessages>> {
  const list = ids.map((id) => String(Number(id))).join();
  const cases = new Map<number, CaseOfMessages>();
  for (const [id, thread] of await snapshot.all(`select id, thread from cases where id in (${list})`))
    cases.set(Number(id), { thread: String(thread), asker: null, people: [], keyIds: new Set(), erased: 0 });
  for (const [id, person] of await snapshot.all(
    `select case_id, person from people where case_id in (${list})`,
  ))
    cases.get(Number(id))?.people.push(uncell(String(person)));
  for (const [id, key] of await snapshot.all(
    `select distinct case_id, substr(sealed, 1, ${idLength}) from events where case_id in (${list}) and sealed is not null`,
  ))
    cases.get(Number(id))?.keyIds.add(String(key));
  const kinds = ['opened', 'forgotten', 'erased'].map((kind) => `body like '%"kind":"${kind}"%'`);
  for (const row of await snapshot.all(
    `select case_id, id, body from events where case_id in (${list}) and (${kinds.join(' or ')})`,
  ))
    noticed(cases, row);
  return cases;
}

function noticed(cases: ReadonlyMap<number, CaseOfMessages>, [caseId, id, body]: Row): void {
  const kase = cases.get(Number(caseId));
  const event = JSON.parse(String(body)) as { kind: string; by: string };
  if (!kase) return;
  if (event.kind === 'opened') kase.asker = event.by;
  if (event.kind === 'forgotten' || event.kind === 'erased')
    kase.erased = Math.max(kase.erased, timeOf(String(id)));
}

/** An event's id begins with its time (RFC 9562, version 7). */
const timeOf = (id: string): number => Number.parseInt(id.replaceAll('-', '').slice(0, 12), 16);
