import type { SignalWord } from '../../shared/flow.ts';

/** Messages as Discord's API takes them, as far as we use it, and its limits (https://discord.com/developers/docs). */

export interface Button {
  readonly type: 2;
  readonly style: 1 | 2 | 3 | 4;
  readonly label: string;
  readonly custom_id: string;
}
export interface Select {
  readonly type: 3;
  readonly custom_id: string;
  readonly placeholder?: string;
  readonly min_values?: number;
  readonly max_values?: number;
  readonly required?: boolean;
  readonly options: readonly { readonly label: string; readonly value: string }[];
}
export interface Row {
  readonly type: 1;
  readonly components: readonly (Button | Select)[];
}
export interface Embed {
  readonly title?: string;
  readonly description?: string;
  readonly color?: number;
  readonly footer?: { readonly text: string };
  readonly image?: { readonly url: string };
}
export interface Body {
  readonly content?: string;
  readonly embeds?: readonly Embed[];
  readonly components?: readonly Row[];
  readonly attachments?: readonly {
    readonly id: string;
    readonly filename: string;
    readonly description: string;
  }[];
  /** Nobody is ever pinged by us. */
  readonly allowed_mentions: { readonly parse: readonly never[]; readonly replied_user: false };
  readonly flags?: number;
}

export const silent = { allowed_mentions: { parse: [], replied_user: false } } as const satisfies Body;

/** Only the person who acted sees it. */
export const ephemeral = 64;

export const row = (components: Row['components']): Row => ({ type: 1, components });

export const limits = {
  content: 2000,
  title: 256,
  footer: 300,
  label: 80,
  option: 100,
  placeholder: 150,
  /** Of the 6000 characters that all embeds of a message share. */
  hazards: 1700,
  step: 3400,
  card: 4000,
  modalTitle: 45,
  modalLabel: 45,
  example: 100,
  threadName: 100,
} as const;

/** After ANSI Z535.4: red, orange, yellow, blue. */
export const colours: Readonly<Record<SignalWord, number>> = {
  DANGER: 0xc8102e,
  WARNING: 0xff8200,
  CAUTION: 0xffd100,
  NOTICE: 0x0072ce,
};
