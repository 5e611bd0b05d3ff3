import { hash } from 'node:crypto';
import type { CacheKind } from './cache.ts';

/**
 * What is kept for a value, so that a store that mixes up, damages or invents is found out. This finds accidents, not
 * intent: whoever may write to the store can make a checksum, too, and is trusted like the database's users.
 */
export interface Envelope {
  /** Of the program that put it. */
  readonly version: string;
  readonly checksum: string;
  /** The value as JSON text. */
  readonly text: string;
}

export interface Label {
  readonly of: CacheKind;
  readonly key: string;
  readonly version: string;
}

export function wrap(label: Label, text: string): Envelope {
  return { version: label.version, checksum: checksum(label, text), text };
}

/** `miss`: rightly put there by another version of the program; `bad`: never put there like this. */
export type Unwrapped =
  | { readonly result: 'hit'; readonly value: unknown }
  | { readonly result: 'miss' | 'bad' };

export function unwrap(label: Label, found: unknown): Unwrapped {
  if (!isEnvelope(found)) return { result: 'bad' };
  if (found.checksum !== checksum({ ...label, version: found.version }, found.text)) return { result: 'bad' };
  if (found.version !== label.version) return { result: 'miss' };
  try {
    return { result: 'hit', value: JSON.parse(found.text) };
  } catch {
    return { result: 'bad' };
  }
}

/** JSON holds no line break, so that no two labels and texts read alike. */
const checksum = ({ of, key, version }: Label, text: string): string =>
  hash('sha256', `${JSON.stringify([of, key, version])}\n${text}`, 'base64url');

function isEnvelope(found: unknown): found is Envelope {
  if (typeof found !== 'object' || found === null) return false;
  const { version, checksum: sum, text } = found as Record<string, unknown>;
  return typeof version === 'string' && typeof sum === 'string' && typeof text === 'string';
}
