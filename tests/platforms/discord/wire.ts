/** What goes over the wire of Discord's API version 10, as far as the loopback server speaks it. */

export interface User {
  readonly id: string;
  readonly username: string;
  readonly global_name: string | null;
  readonly discriminator: string;
  readonly avatar: null;
  readonly bot?: true;
}
export interface Role {
  readonly id: string;
  readonly name: string;
  readonly permissions: string;
  readonly [more: string]: unknown;
}
export interface Member {
  readonly user: User;
  readonly nick: string | null;
  readonly roles: readonly string[];
}
export interface Channel {
  readonly id: string;
  readonly type: number;
  readonly name?: string;
  readonly guild_id?: string;
  readonly parent_id?: string | null;
  readonly owner_id?: string;
  readonly applied_tags?: readonly string[];
  readonly available_tags?: readonly { readonly id: string; readonly name: string }[];
  readonly recipients?: readonly User[];
  readonly [more: string]: unknown;
}
export interface Option {
  readonly label: string;
  readonly value: string;
}
export interface Component {
  readonly type: number;
  readonly style?: number;
  readonly label?: string;
  readonly custom_id?: string;
  readonly disabled?: boolean;
  readonly options?: readonly Option[];
  readonly required?: boolean;
  readonly min_values?: number;
  readonly max_values?: number;
  readonly min_length?: number;
  readonly max_length?: number;
  readonly placeholder?: string;
  readonly value?: string;
  readonly url?: string;
  readonly components?: readonly Component[];
  readonly component?: Component;
}
export interface Embed {
  readonly title?: string;
  readonly description?: string;
  readonly color?: number;
  readonly footer?: { readonly text: string };
  readonly author?: { readonly name: string };
  readonly image?: { readonly url: string };
  readonly fields?: readonly { readonly name: string; readonly value: string }[];
}
export interface Mentions {
  readonly parse?: readonly string[];
  readonly users?: readonly string[];
  readonly roles?: readonly string[];
  readonly replied_user?: boolean;
}
export interface Attachment {
  readonly id: string;
  readonly filename: string;
  readonly content_type: string;
  readonly size: number;
  readonly url: string;
  readonly proxy_url: string;
  readonly description?: string;
}
/** What a bot sends to have a message posted, changed or answered with. */
export interface MessageBody {
  readonly content?: string | null;
  readonly embeds?: readonly Embed[] | null;
  readonly components?: readonly Component[] | null;
  readonly allowed_mentions?: Mentions | null;
  readonly attachments?: readonly {
    readonly id: number | string;
    readonly filename?: string;
    readonly description?: string;
  }[];
  readonly flags?: number;
  readonly nonce?: string | number;
  readonly enforce_nonce?: boolean;
  readonly message_reference?: { readonly message_id: string; readonly fail_if_not_exists?: boolean };
}
export interface Message {
  readonly id: string;
  readonly channel_id: string;
  readonly guild_id?: string;
  readonly author: User;
  readonly member?: Omit<Member, 'user'>;
  readonly type: number;
  readonly content: string;
  readonly embeds: readonly Embed[];
  readonly components: readonly Component[];
  readonly attachments: readonly Attachment[];
  readonly mentions: readonly User[];
  readonly mention_roles: readonly string[];
  readonly mention_everyone: boolean;
  readonly pinned: false;
  readonly tts: false;
  readonly flags: number;
  readonly timestamp: string;
  readonly edited_timestamp: string | null;
  readonly nonce?: string | number;
  readonly message_reference?: { readonly message_id: string; readonly channel_id: string };
  readonly referenced_message?: Message | null;
}
export interface File {
  readonly field: string;
  readonly name: string;
  readonly data: Buffer;
}

export const ephemeral = 64;

/** Answers of the API that are not what was asked for. */
export interface Refusal {
  readonly status: number;
  readonly code: number;
  readonly message: string;
}
export class Refused extends Error {
  readonly refusal: Refusal;
  constructor(status: number, code: number, message: string) {
    super(message);
    this.refusal = { status, code, message };
  }
}
