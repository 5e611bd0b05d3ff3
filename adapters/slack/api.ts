import { webApi } from '@slack/bolt';
import { DeliveryFailure } from '../../shared/adapter.ts';
import type { Body } from './blocks.ts';

const { WebClient, ErrorCode } = webApi;

/** The calls of Slack's Web API that we make. Each rejects with what the client says; `failure` reads it. */
export function createApi({ botToken, apiUrl }: { readonly botToken: string; readonly apiUrl?: string }) {
  const client = new WebClient(botToken, {
    ...(apiUrl === undefined ? {} : { slackApiUrl: apiUrl }),
    // Our outbox tries again by itself, and waits where it is told to.
    retryConfig: { retries: 0 },
    rejectRateLimitedCalls: true,
    timeout: 7000,
    logger: silentLogger,
  });
  const quiet = { unfurl_links: false, unfurl_media: false, link_names: false, parse: 'none' } as const;
  // The library's types know more kinds of blocks than we send.
  const blocksOf = (body: Body): never[] => [...body.blocks] as never[];

  return {
    client,
    async post(channel: string, thread: string | null, body: Body, id: string): Promise<string> {
      const posted = await client.chat.postMessage({
        channel,
        ...(thread === null ? {} : { thread_ts: thread }),
        text: body.text,
        blocks: blocksOf(body),
        metadata: { event_type: 'mendthread', event_payload: { id } },
        ...quiet,
      });
      return posted.ts ?? '';
    },
    update: (channel: string, ts: string, body: Body) =>
      client.chat.update({
        channel,
        ts,
        text: body.text,
        blocks: blocksOf(body),
        link_names: false,
        parse: 'none',
      }),
    privately: (channel: string, user: string, thread: string | null, body: Body) =>
      client.chat.postEphemeral({
        channel,
        user,
        ...(thread === null ? {} : { thread_ts: thread }),
        text: body.text,
        blocks: blocksOf(body),
        link_names: false,
        parse: 'none',
      }),
    open: (trigger: string, view: object) =>
      client.views.open({
        trigger_id: trigger,
        view: view as Parameters<typeof client.views.open>[0]['view'],
      }),
    publish: (user: string, view: object) =>
      client.views.publish({
        user_id: user,
        view: view as Parameters<typeof client.views.publish>[0]['view'],
      }),
    async link(channel: string, ts: string): Promise<string | null> {
      const found = await client.chat.getPermalink({ channel, message_ts: ts }).catch(() => null);
      return found?.permalink ?? null;
    },
    /** The message that was posted under this id, where it was; null: it was not. */
    async find(channel: string, thread: string | null, id: string): Promise<string | null> {
      const found =
        thread === null
          ? await client.conversations.history({ channel, limit: 100, include_all_metadata: true })
          : await client.conversations.replies({
              channel,
              ts: thread,
              limit: 200,
              include_all_metadata: true,
            });
      const same = (found.messages ?? []).find(
        ({ metadata }) =>
          metadata?.event_type === 'mendthread' &&
          (metadata.event_payload as { id?: unknown } | undefined)?.id === id,
      );
      return same?.ts ?? null;
    },
    async words(channel: string, ts: string): Promise<string> {
      const found = await client.conversations.replies({ channel, ts, limit: 1 }).catch(() => null);
      return found?.messages?.[0]?.text ?? '';
    },
    async upload(channel: string, thread: string, png: Uint8Array, alt: string): Promise<void> {
      await client.filesUploadV2({
        channel_id: channel,
        thread_ts: thread,
        file: Buffer.from(png),
        filename: 'where-we-are.png',
        alt_text: alt,
      });
    },
    async uploadPdf(
      channel: string,
      thread: string,
      pdf: Uint8Array,
      name: string,
      words: string,
    ): Promise<void> {
      await client.filesUploadV2({
        channel_id: channel,
        thread_ts: thread,
        file: Buffer.from(pdf),
        filename: name,
        initial_comment: words,
      });
    },
  };
}
export type Api = ReturnType<typeof createApi>;

/** What the library would log may hold what people wrote. */
export const silentLogger = {
  debug: () => undefined,
  info: () => undefined,
  warn: () => undefined,
  error: () => undefined,
  setLevel: () => undefined,
  getLevel: () => webApi.LogLevel.ERROR,
  setName: () => undefined,
};

const codeOf = (cause: unknown): string => String((cause as { code?: unknown } | null)?.code ?? '');

/** What Slack answered, such as `channel_not_found`; empty where it did not. */
export const errorOf = (cause: unknown): string =>
  codeOf(cause) === ErrorCode.PlatformError
    ? String((cause as { data?: { error?: unknown } }).data?.error ?? '')
    : '';

export const isGone = (cause: unknown): boolean =>
  [
    'message_not_found',
    'channel_not_found',
    'cant_update_message',
    'is_archived',
    'thread_not_found',
  ].includes(errorOf(cause));

/** Whether what was asked for may have been done all the same. */
export const uncertain = (cause: unknown): boolean => {
  const code = codeOf(cause);
  return code === ErrorCode.HTTPError || code === ErrorCode.RequestError || errorOf(cause) === 'fatal_error';
};

const passing = new Set([
  'internal_error',
  'fatal_error',
  'service_unavailable',
  'request_timeout',
  'team_added_to_org',
  'ratelimited',
  'invalid_auth',
  'token_revoked',
  'account_inactive',
]);

/** What went wrong, in the words of the desk. Never what was sent. */
export function failure(cause: unknown): DeliveryFailure {
  if (cause instanceof DeliveryFailure) return cause;
  const code = codeOf(cause);
  if (code === ErrorCode.RateLimitedError) {
    const after = Number((cause as { retryAfter?: unknown }).retryAfter ?? 1) * 1000;
    return new DeliveryFailure('slow-down', 'Slack asks to wait.', { after: Math.max(after, 100) });
  }
  const error = errorOf(cause);
  if (error !== '' && !passing.has(error))
    return new DeliveryFailure('refused', `Slack refuses it (${error}).`);
  return new DeliveryFailure('away', `Slack cannot be reached${error === '' ? '' : ` (${error})`}.`);
}
