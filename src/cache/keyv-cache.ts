import { hash } from 'node:crypto';
import { Keyv } from 'keyv';
import type { Notify } from '../notice.ts';
import { breakerRest, createBreaker } from './breaker.ts';
import type { Cache, CacheKind } from './cache.ts';
import { type Envelope, unwrap, wrap } from './envelope.ts';
import { type Answer, keyvCalls } from './keyv-calls.ts';
import { within } from './within.ts';

/** The cache over any store that Keyv can use, however that store behaves. */
export interface KeyvCacheOptions {
  /** A storage adapter of Keyv, or what is like a Map. Nobody else uses it; `close` disconnects it. */
  readonly store: unknown;
  /** Changes whenever values put before would mean something else now; two desks that share a store differ in it. */
  readonly version: string;
  readonly notify: Notify;
  /** For the breaker alone: what expires does so by the machine's clock. */
  readonly now: () => number;
  /** Milliseconds that a `get` may take. */
  readonly timeout?: number;
}

const day = 24 * 60 * 60 * 1000;
const timeToLive: Readonly<Record<CacheKind, number>> = {
  case: 7 * day,
  plan: 30 * day,
  picture: 30 * day,
};
/** Milliseconds for what nobody waits for, and for a removal, which has to be sure. */
const patience = 2000;
/** Keys that are being put at the same time; beyond, a put is lost. */
const most = 100;

export function keyvCache({ store, version, notify, now, timeout = 50 }: KeyvCacheOptions): Cache {
  const keyv = new Keyv({ store, serialization: tolerantJson });
  const calls = keyvCalls(keyv);
  let lastFailure: unknown;
  const breaker = createBreaker({
    now,
    changed(open) {
      notify({ kind: 'cache-breaker', open });
      if (!open) return;
      const seconds = breakerRest / 1000;
      const what = `The cache fails and is left alone for ${seconds} seconds at a time; the desk works things out instead.`;
      notify({ kind: 'problem', what, cause: calls.outside ?? lastFailure });
    },
  });

  /** Tells the breaker of a failure, and what does not come in time has failed. */
  async function judged<T>(limit: number, answer: Promise<Answer<T>>): Promise<Answer<T>> {
    const got = await within(limit, answer, () => ({ failed: new Error(`no answer within ${limit} ms`) }));
    if ('failed' in got) {
      lastFailure = got.failed;
      breaker.failed();
    }
    return got;
  }

  function answered(): void {
    calls.outside = undefined;
    breaker.succeeded();
  }

  /** The end of what is under way about a key, in order: what is removed must not come back by a put before it. */
  const lanes = new Map<string, Promise<unknown>>();
  function queue<T>(place: string, work: Promise<T>): Promise<T> {
    const lane = work.finally(() => {
      if (lanes.get(place) === lane) lanes.delete(place);
    });
    lanes.set(place, lane);
    return lane;
  }

  /** Puts whose turn has not come, by key. */
  const waiting = new Map<string, Put>();
  async function putNext(place: string, put: Put, before: Promise<unknown> | undefined): Promise<void> {
    await before;
    if (waiting.get(place) === put) waiting.delete(place);
    const { of, envelope } = put;
    if (envelope === null) return;
    const answer = calls.call(() => keyv.set(place, envelope, timeToLive[of]));
    // That a write is accepted proves nothing (it may be held back), so it never closes the breaker.
    void judged(patience, answer);
    await answer;
  }
  function takeBack(place: string): void {
    const put = waiting.get(place);
    if (put) put.envelope = null;
    waiting.delete(place);
  }

  async function removeNext(place: string, before: Promise<unknown> | undefined): Promise<'gone' | 'unsure'> {
    const limit = before ? patience / 2 : patience;
    const alone = await within(limit, Promise.resolve(before).then(yes), no);
    const left = await judged(
      limit,
      calls.call(async () => {
        await keyv.delete(place);
        return keyv.getRaw(place);
      }),
    );
    if ('failed' in left) return 'unsure';
    answered();
    return alone && left.value === undefined ? 'gone' : 'unsure';
  }

  let closing: Promise<void> | null = null;
  async function closeAll(): Promise<void> {
    await within<unknown>(patience / 2, Promise.all(lanes.values()), no);
    for (const place of waiting.keys()) takeBack(place);
    const end = calls.call(() => keyv.disconnect());
    await within<unknown>(patience / 2, end, no);
  }

  return {
    async get(of, key) {
      if (closing) return undefined;
      if (!breaker.ask()) {
        notify({ kind: 'cache', of, result: 'shut' });
        return undefined;
      }
      const found = await judged(
        timeout,
        calls.call(() => keyv.getRaw(placeOf(of, key))),
      );
      if ('failed' in found) {
        notify({ kind: 'cache', of, result: 'failed' });
        return undefined;
      }
      answered();
      if (found.value === undefined) {
        notify({ kind: 'cache', of, result: 'miss' });
        return undefined;
      }
      const unwrapped = unwrap({ of, key, version }, content(found.value));
      notify({ kind: 'cache', of, result: unwrapped.result });
      return unwrapped.result === 'hit' ? unwrapped.value : undefined;
    },

    put(of, key, value) {
      if (closing || breaker.open) return;
      const place = placeOf(of, key);
      const before = lanes.get(place);
      if (!before && lanes.size >= most) return;
      const text = textOf(value);
      if (typeof text !== 'string') {
        notify({ kind: 'problem', what: `A ${of} for the cache is no JSON data.`, cause: text.cause });
        return;
      }
      const envelope = wrap({ of, key, version }, text);
      const sooner = waiting.get(place);
      if (sooner) {
        sooner.envelope = envelope;
        return;
      }
      const put: Put = { of, envelope };
      waiting.set(place, put);
      void queue(place, putNext(place, put, before));
    },

    async remove(of, key) {
      if (closing) return 'unsure';
      const place = placeOf(of, key);
      takeBack(place);
      return queue(place, removeNext(place, lanes.get(place)));
    },

    close() {
      closing ??= closeAll();
      return closing;
    },
  };
}

interface Put {
  readonly of: CacheKind;
  /** A newer put of the same key takes this place; null: taken back. */
  envelope: Envelope | null;
}

const yes = (): boolean => true;
const no = (): boolean => false;

/** Never throws: text that cannot be read goes on as it is, for the envelope's check to find. */
const tolerantJson = {
  stringify: (value: unknown): string => JSON.stringify(value),
  parse<T>(text: string): T {
    let value: unknown;
    try {
      value = JSON.parse(text);
    } catch {
      value = null;
    }
    return (typeof value === 'object' && value !== null ? value : { value: text }) as T;
  },
};

/** What Keyv keeps is `{ value, expires }`; a store may have made anything of it. */
const content = (kept: unknown): unknown =>
  typeof kept === 'object' && kept !== null ? (kept as { value?: unknown }).value : undefined;

/** Not every store takes every text for a key: what is long or odd goes by its hash, and the envelope tells them apart. */
const placeOf = (of: CacheKind, key: string): string =>
  /^[\w:.@/+=-]{1,200}$/.test(key)
    ? `${of}:${key}`
    : `${of}:#${hash('sha256', JSON.stringify(key), 'base64url')}`;

function textOf(value: unknown): string | { readonly cause: unknown } {
  try {
    const text: string | undefined = JSON.stringify(value);
    return text ?? { cause: new TypeError(`it is ${typeof value}`) };
  } catch (cause) {
    return { cause };
  }
}
