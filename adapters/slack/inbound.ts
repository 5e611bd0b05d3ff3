import type { Wish } from '../../shared/adapter.ts';
import { Act, type Control, type FormName, type Inbound } from '../../shared/inbound.ts';
import { readForm, readTap } from './ids.ts';
import type { Actions, Command, MessageEvent, Submission } from './payload.ts';
import { written } from './text.ts';

/** What somebody did on Slack, as what it means here. Who may do it is not decided here. */

type Unaddressed<I = Inbound> = I extends Inbound
  ? Omit<I, 'id' | 'thread' | 'at' | 'by' | 'demonstration'>
  : never;

export type Meant =
  /** Something said to a case: of this thread, of that number in the list, or of where it was done. */
  | {
      readonly kind: 'give';
      readonly content: Unaddressed;
      readonly thread?: string;
      readonly number?: number;
    }
  | { readonly kind: 'start'; readonly words: string }
  | { readonly kind: 'request'; readonly wish: Wish }
  | { readonly kind: 'offer'; readonly yes: boolean; readonly to: string; readonly ts: string }
  | { readonly kind: 'nothing'; readonly words: string };

const give = (
  content: Unaddressed,
  more: { readonly thread?: string; readonly number?: number } = {},
): Meant => ({
  kind: 'give',
  content,
  ...more,
});

const old: Meant = {
  kind: 'nothing',
  words: 'That button is from an older version of me. Please use the latest message.',
};
const mendHelp =
  'Write */mend start* and what is wrong, such as “/mend start kettle stays cold”. In a case: where, why, undo, person, card, stop, again. Anywhere: mine (your cases), forget (erase what is yours).';
const benchHelp =
  'Write */bench list* for what waits. With its number: card, print, take (or “take here 2” when it is in front of you), advise, result, correct, clear, unflag, safety, similar, back, settle. For moderators: numbers (what settled cases say of the numbers; “/bench numbers kettle” for one appliance).';

const controls: ReadonlySet<string> = new Set<Control>([
  'where',
  'why',
  'undo',
  'person',
  'card',
  'stop',
  'again',
]);
const forms: ReadonlySet<string> = new Set<FormName>([
  'advise',
  'result',
  'correct',
  'clear',
  'unflag',
  'safety',
  'settle',
]);

/** The words after a command. */
export function commanded({ command, text }: Pick<Command, 'command' | 'text'>, me: string): Meant {
  const words = written(text, me);
  const [first = '', ...others] = words.split(/\s+/);
  const name = first.toLowerCase();
  const rest = words.slice(first.length).trim();
  if (command === '/mend') {
    if (name === 'start') return { kind: 'start', words: rest };
    if (name === 'mine') return { kind: 'request', wish: { what: 'mine' } };
    if (name === 'forget') return { kind: 'request', wish: { what: 'forget', sure: false } };
    if (controls.has(name) && others.length === 0) return give({ kind: 'asked', what: name as Control });
    return name === '' || name === 'help' ? { kind: 'nothing', words: mendHelp } : { kind: 'start', words };
  }
  const typed = others.find((word) => /^\d{1,3}$/.test(word));
  const number = typed === undefined ? {} : { number: Number(typed) };
  if (name === 'list') return { kind: 'request', wish: { what: 'list' } };
  if (name === 'numbers') return numbers(rest, false);
  if (name === 'card') return give({ kind: 'asked', what: 'card' }, number);
  if (name === 'take')
    return give({ kind: 'acted', act: { what: 'take', hands: others.includes('here') } }, number);
  if (name === 'back' || name === 'print' || name === 'similar')
    return give({ kind: 'acted', act: { what: name } }, number);
  if (forms.has(name)) return give({ kind: 'wanted', form: name as FormName }, number);
  return { kind: 'nothing', words: benchHelp };
}

const numbers = (flow: string, sure: boolean): Meant => ({
  kind: 'request',
  wish: { what: 'numbers', flow: flow === '' ? null : flow.slice(0, 60), sure },
});

export function tapped({ actions }: Actions): Meant {
  const [action] = actions;
  const tap = readTap(action?.selected_option?.value ?? action?.value ?? '');
  if (!tap) return old;
  switch (tap.t) {
    case 'answer':
      return give({ kind: 'chose', answer: tap.answer, of: tap.key });
    case 'control':
      return give({ kind: 'asked', what: tap.control });
    case 'reading':
      return give({ kind: 'wanted', form: 'reading', of: tap.key });
    case 'bench': {
      const at = { thread: tap.thread };
      switch (tap.act) {
        case 'card':
          return give({ kind: 'asked', what: 'card' }, at);
        case 'take':
        case 'take-here':
          return give({ kind: 'acted', act: { what: 'take', hands: tap.act === 'take-here' } }, at);
        case 'back':
        case 'print':
        case 'similar':
          return give({ kind: 'acted', act: { what: tap.act } }, at);
        default:
          return give({ kind: 'wanted', form: tap.act }, at);
      }
    }
    case 'offer':
      return { kind: 'offer', yes: tap.yes, to: tap.to, ts: tap.ts };
    case 'numbers':
      return numbers(tap.flow, true);
    case 'forget':
      return { kind: 'request', wish: { what: 'forget', sure: true } };
    default:
      return tap satisfies never;
  }
}

export function filled({ view }: Submission): Meant {
  const form = readForm(view.private_metadata);
  if (!form) return old;
  const fields = Object.fromEntries(
    Object.entries(view.state.values)
      .map(([id, inputs]) => {
        const [input] = Object.values(inputs);
        return [id, (input?.value ?? input?.selected_option?.value ?? '').trim()] as const;
      })
      .filter(([, value]) => value !== ''),
  );
  const at = { thread: form.thread };
  if (form.form === 'reading')
    return give({ kind: 'measured', reading: (fields.reading ?? '').slice(0, 2000), of: form.key }, at);
  const act = Act.safeParse({ what: form.form, ...fields });
  return act.success
    ? give({ kind: 'acted', act: act.data }, at)
    : {
        kind: 'nothing',
        words: 'Something in that form is missing or not known here. Please fill it in again.',
      };
}

/** A message as what was said, and the photos in it. */
export function saidIn(
  message: MessageEvent,
  me: string,
): {
  readonly words: string;
  readonly named: boolean;
  readonly aside: boolean;
  readonly photos: readonly string[];
  readonly others: number;
} {
  const named = message.type === 'app_mention' || new RegExp(`<@${me}[>|]`).test(message.text);
  const files = message.files ?? [];
  const photos = files.filter(isPhoto).slice(0, photosAtMost);
  return {
    words: written(message.text, me),
    named,
    aside: !named && /<@[UW]/.test(message.text),
    photos: photos.map(({ id }) => `slack:file/${id}`),
    others: files.length - photos.length,
  };
}

const photosAtMost = 10;
const bytesAtMost = 10 * 1024 * 1024;
const isPhoto = ({ mimetype, size }: NonNullable<MessageEvent['files']>[number]): boolean =>
  /^image\/(?:png|jpe?g|webp|gif|heic|heif)$/.test(mimetype) && size <= bytesAtMost;
