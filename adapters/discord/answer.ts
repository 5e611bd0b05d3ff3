import type { Answer } from '../../shared/adapter.ts';
import type { Api } from './api.ts';
import { type Body, ephemeral, type Row, silent } from './body.ts';
import { modal } from './outbound.ts';
import type { Interaction } from './payload.ts';
import { parts, plain } from './text.ts';

/**
 * The answer to something that was tapped or commanded: Discord waits three seconds for it. Whatever the desk says privately
 * is the answer; where it takes its time, the platform is told to wait, and the answer follows.
 */
export interface Answering {
  whisper(words: string, components?: readonly Row[]): void;
  give(answer: Answer, thread: string): void;
  /** Replaces the message that was tapped. */
  replace(body: Body): void;
  /** Everything was said; resolves when Discord knows. */
  end(): Promise<void>;
}

/** After so long without an answer the platform is told to wait, milliseconds. */
const patience = 2200;
const formInstead = 'That took too long for a form. Please tap it once more, or write it here in the thread.';

export function answering(interaction: Interaction, application: string, api: Api): Answering {
  const { id, token, type } = interaction;
  const tapped = type === 3 || (type === 5 && interaction.message !== undefined);
  const waiting: { readonly type: number; readonly data?: object }[] = [];
  let deferred: Promise<void> | null = null;
  const timer = setTimeout(() => {
    deferred = tapped ? api.respond(id, token, 6) : api.respond(id, token, 5, { flags: ephemeral });
    deferred.catch(() => undefined);
  }, patience);

  const privately = (words: string, components: readonly Row[] = []): Body[] => {
    const texts = parts(plain(words), 1900);
    return texts.map((content, i) => ({
      ...silent,
      content,
      flags: ephemeral,
      components: i === texts.length - 1 ? components : [],
    }));
  };
  const whisper = (words: string, components?: readonly Row[]): void => {
    for (const data of privately(words, components)) waiting.push({ type: 4, data });
  };

  return {
    whisper,
    give(answer, thread) {
      if (answer.kind === 'whisper') return whisper(answer.words);
      // A form cannot follow a form.
      if (type === 5) return whisper(formInstead);
      waiting.push({ type: 9, data: modal(answer, thread) });
    },
    replace(body) {
      waiting.push({ type: 7, data: body });
    },
    async end() {
      clearTimeout(timer);
      const [first, ...others] = waiting;
      if (deferred === null) {
        if (first) await api.respond(id, token, first.type, first.data);
        else if (tapped) await api.respond(id, token, 6);
        else await api.respond(id, token, 4, { ...silent, content: 'Done.', flags: ephemeral });
      } else await deferred;
      for (const one of deferred === null ? others : waiting) {
        const [body] = one.type === 9 ? privately(formInstead) : [one.data as Body];
        await api.followUp(application, token, { ...body, flags: ephemeral } as Body);
      }
      // A command that was told to wait shows so until something follows.
      if (deferred !== null && waiting.length === 0 && !tapped) {
        await api.followUp(application, token, { ...silent, content: 'Done.', flags: ephemeral });
      }
    },
  };
}
