import type { Wish } from '../../shared/adapter.ts';
import { Act, type FormName, type Inbound } from '../../shared/inbound.ts';
import { controls, messageCommand } from './commands.ts';
import { readId } from './ids.ts';
import type { CommandOption, Interaction, Message } from './payload.ts';

/** What somebody did on Discord, as what it means here. Who may do it is not decided here. */

type Unaddressed<I = Inbound> = I extends Inbound
  ? Omit<I, 'id' | 'thread' | 'at' | 'by' | 'demonstration'>
  : never;

export type Meant =
  /** Something said to a case; without `thread`, to the one at the place where it was done. */
  | { readonly kind: 'give'; readonly content: Unaddressed; readonly thread?: string }
  | { readonly kind: 'start'; readonly words: string; readonly on?: string }
  | { readonly kind: 'request'; readonly wish: Wish }
  | { readonly kind: 'offer'; readonly yes: boolean; readonly to: string; readonly message: string }
  | { readonly kind: 'nothing'; readonly words: string };

const longest = 20_000;
const give = (content: Unaddressed, thread?: string): Meant => ({
  kind: 'give',
  content,
  ...(thread === undefined ? {} : { thread }),
});
const unknown: Meant = {
  kind: 'nothing',
  words: 'That button is from an older version of me. Please use the latest message.',
};

export function meantBy(interaction: Interaction): Meant {
  switch (interaction.type) {
    case 2:
      return command(interaction);
    case 3:
      return tap(interaction);
    case 5:
      return filled(interaction);
    default:
      return unknown;
  }
}

function command({ data }: Interaction): Meant {
  if (data?.type === 3 || data?.name === messageCommand) {
    const target = data?.target_id ?? '';
    const words = data?.resolved?.messages?.[target]?.content ?? '';
    return { kind: 'start', words: words.slice(0, longest), ...(target === '' ? {} : { on: target }) };
  }
  const chosen = data?.options?.[0];
  const name = chosen?.name ?? '';
  if (data?.name === 'bench') return bench(name, chosen);
  if (data?.name !== 'mend') return unknown;
  const control = controls.find((one) => one === name);
  if (control) return give({ kind: 'asked', what: control });
  switch (name) {
    case 'start':
      return { kind: 'start', words: text(chosen, 'about') };
    case 'mine':
      return { kind: 'request', wish: { what: 'mine' } };
    case 'forget':
      return { kind: 'request', wish: { what: 'forget', sure: false } };
    default:
      return unknown;
  }
}

const value = (option: CommandOption | undefined, name: string) =>
  option?.options?.find((one) => one.name === name)?.value;
const text = (option: CommandOption | undefined, name: string): string => {
  const found = value(option, name);
  return typeof found === 'string' ? found.slice(0, longest) : '';
};

const numbers = (flow: string, sure: boolean): Meant => ({
  kind: 'request',
  wish: { what: 'numbers', flow: flow.trim() === '' ? null : flow.trim().slice(0, 60), sure },
});

function bench(name: string, chosen: CommandOption | undefined): Meant {
  switch (name) {
    case 'list':
      return { kind: 'request', wish: { what: 'list' } };
    case 'numbers':
      return numbers(text(chosen, 'flow'), false);
    case 'card':
      return give({ kind: 'asked', what: 'card' });
    case 'take':
      return give({ kind: 'acted', act: { what: 'take', hands: value(chosen, 'here') === true } });
    case 'back':
    case 'print':
    case 'similar':
      return give({ kind: 'acted', act: { what: name } });
    case 'advise':
    case 'result':
    case 'correct':
    case 'clear':
    case 'unflag':
    case 'safety':
    case 'settle':
      return give({ kind: 'wanted', form: name satisfies FormName });
    default:
      return unknown;
  }
}

function tap({ data }: Interaction): Meant {
  const tapped = readId(data?.custom_id ?? '');
  if (!tapped) return unknown;
  switch (tapped.kind) {
    case 'answer':
      return give({ kind: 'chose', answer: tapped.answer, ...of(tapped.key) });
    case 'place':
      return give({ kind: 'said', words: String(tapped.place) });
    case 'menu': {
      const chosen = data?.values?.[0] ?? '';
      const place = /^#(\d{1,3})$/.exec(chosen)?.[1];
      return place === undefined
        ? give({ kind: 'chose', answer: chosen.slice(0, 200), ...of(tapped.key) })
        : give({ kind: 'said', words: place });
    }
    case 'control':
      return give({ kind: 'asked', what: tapped.control });
    case 'reading':
      return give({ kind: 'wanted', form: 'reading', ...of(tapped.key) });
    case 'bench':
      switch (tapped.act) {
        case 'card':
          return give({ kind: 'asked', what: 'card' }, tapped.thread);
        case 'take':
        case 'take-here':
          return give(
            { kind: 'acted', act: { what: 'take', hands: tapped.act === 'take-here' } },
            tapped.thread,
          );
        case 'back':
        case 'print':
        case 'similar':
          return give({ kind: 'acted', act: { what: tapped.act } }, tapped.thread);
        default:
          return give({ kind: 'wanted', form: tapped.act }, tapped.thread);
      }
    case 'offer':
      return tapped;
    case 'forget':
      return { kind: 'request', wish: { what: 'forget', sure: true } };
    case 'numbers':
      return numbers(tapped.flow, true);
    case 'form':
      return unknown;
    default:
      return tapped satisfies never;
  }
}

const of = (key: string): { of?: string } => (key === '' ? {} : { of: key.slice(0, 200) });

function filled({ data }: Interaction): Meant {
  const form = readId(data?.custom_id ?? '');
  if (form?.kind !== 'form') return unknown;
  const fields = Object.fromEntries(
    (data?.components ?? [])
      .flatMap(({ component, components }) => [...(component ? [component] : []), ...(components ?? [])])
      .map((field) => [field.custom_id, (field.value ?? field.values?.[0] ?? '').trim()] as const)
      .filter(([, written]) => written !== ''),
  );
  if (form.form === 'reading')
    return give(
      { kind: 'measured', reading: (fields.reading ?? '').slice(0, 2000), ...of(form.key) },
      form.thread,
    );
  const act = Act.safeParse({ what: form.form, ...fields });
  return act.success
    ? give({ kind: 'acted', act: act.data }, form.thread)
    : {
        kind: 'nothing',
        words: 'Something in that form is missing or not known here. Please fill it in again.',
      };
}

/** A message as what was said, and the photos in it. */
export function saidIn(
  message: Message,
  me: string,
): {
  readonly words: string;
  readonly aside: boolean;
  readonly photos: readonly string[];
  readonly others: number;
} {
  const words = message.content
    .replaceAll(new RegExp(`<@!?${me}>`, 'g'), ' ')
    .trim()
    .slice(0, longest);
  const toMe = message.mentions.some(({ id }) => id === me) || message.referenced_message?.author?.id === me;
  const toOthers =
    message.mentions.some(({ id }) => id !== me) ||
    (message.referenced_message?.author !== undefined && message.referenced_message?.author?.id !== me);
  const photos = message.attachments.filter(isPhoto).slice(0, photosAtMost);
  return {
    words,
    aside: toOthers && !toMe,
    photos: photos.map(({ id }) => `discord:${message.channel_id}/${message.id}/${id}`),
    others: message.attachments.length - photos.length,
  };
}

const photosAtMost = 10;
const bytesAtMost = 10 * 1024 * 1024;
const isPhoto = ({ content_type, size }: Message['attachments'][number]): boolean =>
  /^image\/(?:png|jpe?g|webp|gif|heic|heif)\b/.test(content_type ?? '') && size <= bytesAtMost;
