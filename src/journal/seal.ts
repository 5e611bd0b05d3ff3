import { createCipheriv, createDecipheriv, randomBytes } from 'node:crypto';
import type { Event } from '../../shared/case.ts';
import { personal, withoutPersonal } from '../core/personal.ts';
import type { Key } from './keys.ts';

/**
 * An event in two parts: what is kept as it is, and the personal text in it, sealed with AES-256-GCM (NIST SP 800-38D)
 * under its person's key and bound to its place in its case.
 */

const ivBytes = 12;
const tagBytes = 16;

export interface Parts {
  /** JSON text, personal text left empty. */
  readonly body: string;
  /** `key id.base64`; null when there is nothing personal, or nothing left of it. */
  readonly sealed: string | null;
}

/** Whose key `split` will need. */
export const ownerOf = (event: Event): string | null => personal(event)?.person ?? null;

/** `place` binds the sealed part to where it stands. */
export function split(event: Event, place: string, key: Key | undefined): Parts {
  const found = personal(event);
  if (!found || !key) return { body: JSON.stringify(withoutPersonal(event)), sealed: null };
  const iv = randomBytes(ivBytes);
  const cipher = createCipheriv('aes-256-gcm', key.secret, iv);
  cipher.setAAD(Buffer.from(place));
  const text = Buffer.concat([cipher.update(JSON.stringify(found.text), 'utf8'), cipher.final()]);
  const sealed = Buffer.concat([iv, cipher.getAuthTag(), text]).toString('base64');
  return { body: JSON.stringify(withoutPersonal(event)), sealed: `${key.id}.${sealed}` };
}

/** Id of the key that opens a sealed part. */
export const keyIdOf = (sealed: string): string => sealed.slice(0, sealed.indexOf('.'));

/** The event whole again; without the personal text where its key is lost. Throws when the sealed part was tampered with. */
export function whole({ body, sealed }: Parts, place: string, key: Key | undefined): Event {
  const event = JSON.parse(body) as Event;
  if (sealed === null || !key) return event;
  const bytes = Buffer.from(sealed.slice(sealed.indexOf('.') + 1), 'base64');
  const decipher = createDecipheriv('aes-256-gcm', key.secret, bytes.subarray(0, ivBytes));
  decipher.setAAD(Buffer.from(place));
  decipher.setAuthTag(bytes.subarray(ivBytes, ivBytes + tagBytes));
  const text = Buffer.concat([decipher.update(bytes.subarray(ivBytes + tagBytes)), decipher.final()]);
  // The keys are there already, emptied; so their order is the event's own.
  return Object.assign(event, JSON.parse(text.toString('utf8')));
}
