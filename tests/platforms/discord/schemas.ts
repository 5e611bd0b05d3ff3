import {
  ApplicationCommandUpdateRequestSchema,
  CreateTextThreadWithMessageRequestSchema,
  CreateTextThreadWithoutMessageRequestSchema,
  IncomingWebhookInteractionRequestSchema,
  MessageCreateRequestSchema,
  MessageEditRequestPartialSchema,
  ModalInteractionCallbackRequestDataSchema,
  // @ts-expect-error: its types are written for another checker; only `safeParse` is used.
} from 'discord-api-spec/zod';

interface Schema {
  safeParse(
    data: unknown,
  ):
    | { success: true }
    | { success: false; error: { issues: readonly { path: readonly PropertyKey[]; message: string }[] } };
}

/** The request bodies of Discord's own OpenAPI description (https://github.com/discord/discord-api-spec). */
const schemas: Readonly<{ [name: string]: Schema }> = {
  message: MessageCreateRequestSchema,
  edit: MessageEditRequestPartialSchema,
  answer: IncomingWebhookInteractionRequestSchema,
  modal: ModalInteractionCallbackRequestDataSchema,
  command: ApplicationCommandUpdateRequestSchema,
  threadOnMessage: CreateTextThreadWithMessageRequestSchema,
  thread: CreateTextThreadWithoutMessageRequestSchema,
};

export function schemaProblems(
  name: 'message' | 'edit' | 'answer' | 'modal' | 'command' | 'threadOnMessage' | 'thread',
  body: unknown,
): string[] {
  const read = schemas[name]?.safeParse(body);
  if (!read) throw new Error(`no schema for ${name}`);
  return read.success ? [] : read.error.issues.map(({ path, message }) => `${path.join('.')}: ${message}`);
}
