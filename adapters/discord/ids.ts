import { Control, FormName } from '../../shared/inbound.ts';
import type { BenchAct } from '../../shared/outbound.ts';
import { BenchAct as BenchActs } from '../../shared/outbound.ts';

/**
 * What a tap means, written into the component's `custom_id`: it comes back from anybody's client, so it is read with the
 * same care as everything else that arrives. At most 100 characters.
 */
export type Tapped =
  /** An answer to the question with this key; `place` instead, from 1, where its id is too long. */
  | { readonly kind: 'answer'; readonly key: string; readonly answer: string }
  | { readonly kind: 'place'; readonly key: string; readonly place: number }
  /** A menu: what was chosen comes beside it. */
  | { readonly kind: 'menu'; readonly key: string }
  | { readonly kind: 'control'; readonly control: Control }
  | { readonly kind: 'reading'; readonly key: string }
  | { readonly kind: 'bench'; readonly act: BenchAct; readonly thread: string }
  | { readonly kind: 'form'; readonly form: FormName; readonly key: string; readonly thread: string }
  | { readonly kind: 'offer'; readonly yes: boolean; readonly to: string; readonly message: string }
  | { readonly kind: 'forget' }
  /** Use what was learnt of this flow. */
  | { readonly kind: 'numbers'; readonly flow: string };

const most = 100;
const write = (...parts: readonly string[]): string =>
  parts.map((part) => encodeURIComponent(part.toWellFormed())).join('|');

export const answerId = (key: string, answer: string, place: number): string => {
  const id = write('a', key, answer);
  return id.length <= most ? id : write('p', shortKey(key), String(place));
};
export const menuId = (key: string): string => write('m', shortKey(key));
export const controlId = (control: Control): string => write('c', control);
export const readingId = (key: string): string => write('r', shortKey(key));
export const benchId = (act: BenchAct, thread: string): string => write('b', act, thread);
export const formId = (form: FormName, key: string, thread: string): string =>
  write('f', form, shortKey(key), thread);
export const offerId = (yes: boolean, to: string, message: string): string =>
  write('o', yes ? 'y' : 'n', to, message);
export const forgetId = write('x');
export const numbersId = (flow: string): string => write('n', flow.slice(0, 60));
/** Counts whatever is open. */
export const dangerId = write('d');

/** A key too long for an id is left out: the tap then counts for the question that is open. */
const shortKey = (key: string): string => (write(key).length <= 40 ? key : '');

export function readId(id: string): Tapped | null {
  let parts: string[];
  try {
    parts = id.split('|').map(decodeURIComponent);
  } catch {
    return null;
  }
  const [kind, one = '', two = '', three = ''] = parts;
  switch (kind) {
    case 'a':
      return { kind: 'answer', key: one, answer: two };
    case 'p':
      return /^\d{1,3}$/.test(two) ? { kind: 'place', key: one, place: Number(two) } : null;
    case 'm':
      return { kind: 'menu', key: one };
    case 'c': {
      const control = Control.safeParse(one);
      return control.success ? { kind: 'control', control: control.data } : null;
    }
    case 'r':
      return { kind: 'reading', key: one };
    case 'b': {
      const act = BenchActs.safeParse(one);
      return act.success && isThread(two) ? { kind: 'bench', act: act.data, thread: two } : null;
    }
    case 'f': {
      const form = FormName.safeParse(one);
      return form.success && isThread(three)
        ? { kind: 'form', form: form.data, key: two, thread: three }
        : null;
    }
    case 'o':
      return isId(two) && isId(three) ? { kind: 'offer', yes: one === 'y', to: two, message: three } : null;
    case 'd':
      return { kind: 'answer', key: '', answer: 'danger' };
    case 'x':
      return { kind: 'forget' };
    case 'n':
      return { kind: 'numbers', flow: one };
    default:
      return null;
  }
}

const isId = (text: string): boolean => /^\d{1,25}$/.test(text);
const isThread = (text: string): boolean => /^discord:\d{1,25}(?:\/\d{1,25})?$/.test(text);
