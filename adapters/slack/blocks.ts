import { cut } from '../words.ts';
import { bare } from './text.ts';

/** Parts of messages as Slack's API takes them, as far as we use them, and its limits (https://docs.slack.dev/reference/block-kit). */

export const limits = {
  section: 3000,
  header: 150,
  label: 75,
  value: 2000,
  option: 75,
  optionValue: 150,
  options: 100,
  buttons: 25,
  blocks: 50,
  placeholder: 150,
  viewTitle: 24,
  fallback: 3000,
} as const;

/** Nothing in it is looked for links, names or channels. */
const marked = (text: string) => ({ type: 'mrkdwn', text, verbatim: true }) as const;
const words = (text: string, most: number) =>
  ({ type: 'plain_text', text: cut(bare(text), most) || '…', emoji: false }) as const;

/** Already escaped; at most 3000 units. */
export const section = (text: string) => ({ type: 'section', text: marked(text) }) as const;
export const context = (text: string) => ({ type: 'context', elements: [marked(text)] }) as const;
/** Plain words. */
export const header = (text: string) => ({ type: 'header', text: words(text, limits.header) }) as const;
export const divider = { type: 'divider' } as const;

export const button = (id: string, label: string, value: string, style?: 'primary' | 'danger') =>
  ({
    type: 'button',
    action_id: id,
    text: words(label, limits.label),
    value,
    ...(style ? { style } : {}),
  }) as const;
export type Button = ReturnType<typeof button>;

export const menu = (id: string, options: readonly { readonly label: string; readonly value: string }[]) =>
  ({
    type: 'static_select',
    action_id: id,
    placeholder: words('Choose an answer', limits.placeholder),
    options: options
      .filter(({ value }) => value.length <= limits.optionValue)
      .slice(0, limits.options)
      .map(({ label, value }) => ({ text: words(label, limits.option), value })),
  }) as const;

export const actions = (id: string, elements: readonly (Button | ReturnType<typeof menu>)[]) =>
  ({ type: 'actions', block_id: id, elements }) as const;

export const plainText = words;

export type Block =
  | ReturnType<typeof section>
  | ReturnType<typeof context>
  | ReturnType<typeof header>
  | ReturnType<typeof actions>
  | typeof divider;

/** `text` is what notifications show, and screen readers read. */
export interface Body {
  readonly text: string;
  readonly blocks: readonly Block[];
}
