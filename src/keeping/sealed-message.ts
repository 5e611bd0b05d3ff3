import { createCipheriv, createDecipheriv, hkdfSync, randomBytes } from 'node:crypto';
import type { Key } from '../journal/keys.ts';

/**
 * A message on its way out has words of everybody in its case in it, in clear, because it is about to be posted. In a
 * backup it is sealed under the keys of all of them together: when one is lost, it is unreadable. AES-256-GCM (NIST SP
 * 800-38D) under a key derived by HKDF (RFC 5869).
 */

const ivBytes = 12;
const tagBytes = 16;

/** `ids of keys.base64`; `place` binds it to where it stands. `keys` has one at least. */
export function sealMessage(body: string, place: string, keys: readonly Key[]): string {
  const sorted = keys.toSorted((a, b) => (a.id < b.id ? -1 : 1));
  const iv = randomBytes(ivBytes);
  const cipher = createCipheriv('aes-256-gcm', together(sorted), iv);
  cipher.setAAD(Buffer.from(place));
  const text = Buffer.concat([cipher.update(body, 'utf8'), cipher.final()]);
  const bytes = Buffer.concat([iv, cipher.getAuthTag(), text]);
  return `${sorted.map(({ id }) => id).join('+')}.${bytes.toString('base64')}`;
}

export const keyIdsOfMessage = (sealed: string): string[] => sealed.slice(0, sealed.indexOf('.')).split('+');

/** Null when a key is lost. Throws when it was tampered with. */
export function openMessage(sealed: string, place: string, keys: ReadonlyMap<string, Key>): string | null {
  const found = keyIdsOfMessage(sealed).map((id) => keys.get(id));
  if (!found.every((key) => key !== undefined)) return null;
  const bytes = Buffer.from(sealed.slice(sealed.indexOf('.') + 1), 'base64');
  const decipher = createDecipheriv('aes-256-gcm', together(found), bytes.subarray(0, ivBytes));
  decipher.setAAD(Buffer.from(place));
  decipher.setAuthTag(bytes.subarray(ivBytes, ivBytes + tagBytes));
  return Buffer.concat([decipher.update(bytes.subarray(ivBytes + tagBytes)), decipher.final()]).toString(
    'utf8',
  );
}

/** Where a message stands, the same in every database. `thread` as it stands in the table. */
export const placeOfMessage = (thread: string, n: number): string => `${thread}>${n}`;

const together = (keys: readonly Key[]): Buffer =>
  Buffer.from(
    hkdfSync('sha256', Buffer.concat(keys.map(({ secret }) => secret)), '', 'message in a backup', 32),
  );
