import type { Answer } from '../../shared/adapter.ts';
import { type Api, isExpired, nonceOf } from './api.ts';
import { type Body, ephemeral, type Row, silent } from './body.ts';
import { modal } from './outbound.ts';
import type { Interaction } from './payload.ts';
import { parts, plain } from './text.ts';

/**
 * The answer to something that was tapped or commanded: Discord waits three seconds for it, from when it was sent. Whatever
 * the desk says privately is the answer; where it takes its time, the platform is told to wait, and the answer follows.
 */
export interface Answering {
  whisper(words: string, components?: readonly Row[]): void;
  give(answer: Answer, thread: string): void;
  /** Replaces the message that was tapped; where none was, it is said privately. */
  replace(body: Body): void;
  /** Everything was said; resolves when Discord knows. */
  end(): Promise<void>;
}

/** After so long without an answer the platform is told to wait, milliseconds. */
const patience = 2000;
const formInstead = 'That took too long for a form. Please tap it once more, or write it here in the thread.';
const done: Body = { ...silent, content: 'Done.', flags: ephemeral };
/** Kinds of answer: a message, "wait" for a command and for a tap, a changed message, a form. */
const say = 4;
const waitCommand = 5;
const waitTap = 6;
const change = 7;
const form = 9;

const tooLate = 'My answer came too late to be shown to you alone. Please tap it or write it once more.';

export function answering(interaction: Interaction, application: string, api: Api): Answering {
  const { id, token, type } = interaction;
  const tapped = interaction.message !== undefined;
  const privately: Body[] = [];
  let replacement: Body | null = null;
  let shown: object | null = null;
  let deferred: Promise<void> | null = null;
  const timer = setTimeout(() => {
    deferred = tapped
      ? api.respond(id, token, waitTap)
      : api.respond(id, token, waitCommand, { flags: ephemeral });
    deferred.catch(() => undefined);
  }, patience);

  const whisper = (words: string, components: readonly Row[] = []): void => {
    const texts = parts(plain(words), 1900);
    for (const [i, content] of texts.entries()) {
      const last = i === texts.length - 1;
      privately.push({ ...silent, content, flags: ephemeral, components: last ? components : [] });
    }
  };

  /** The first answer, where the platform was not told to wait; what it says is not said again. */
  async function first(): Promise<void> {
    if (shown) return api.respond(id, token, form, shown);
    if (replacement) return api.respond(id, token, change, replacement);
    const words = privately.shift();
    if (words) return api.respond(id, token, say, words);
    return tapped ? api.respond(id, token, waitTap) : api.respond(id, token, say, done);
  }

  async function afterWaiting(waiting: Promise<void>): Promise<void> {
    await waiting;
    if (shown) whisper(formInstead);
    if (replacement) await api.changeAnswered(application, token, replacement);
    // A command that was told to wait shows so until something follows.
    if (!tapped && privately.length === 0) privately.push(done);
  }

  return {
    whisper,
    give(answer, thread) {
      if (answer.kind === 'whisper') return whisper(answer.words);
      // A form cannot follow a form.
      if (type === 5) return whisper(formInstead);
      shown = modal(answer, thread);
    },
    replace(body) {
      if (tapped) replacement = body;
      else privately.unshift({ ...body, flags: ephemeral });
    },
    async end() {
      clearTimeout(timer);
      try {
        if (deferred === null) await first();
        else await afterWaiting(deferred);
        for (const body of privately) await api.followUp(application, token, body);
      } catch (cause) {
        if (!isExpired(cause) || interaction.channel_id === undefined) throw cause;
        // What was for one person alone is not said aloud.
        const body = { ...silent, content: tooLate };
        await api.post(interaction.channel_id, body, nonceOf(`late:${id}`, 0));
      }
    },
  };
}
