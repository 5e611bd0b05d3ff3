import type { Answer } from '../../shared/adapter.ts';
import type { Api } from './api.ts';
import type { Body } from './blocks.ts';
import { body, view } from './outbound.ts';

/**
 * The answer to something that somebody did: Slack waits three seconds for a sign of life, and as long for a form. What the
 * desk says privately is shown to that person alone.
 */
export interface Answering {
  say(what: Body): void;
  whisper(words: string): void;
  give(answer: Answer, thread: string): void;
  /** Everything was decided: tells Slack, once, and shows what there is. */
  end(): Promise<void>;
}

export interface Occasion {
  readonly user: string;
  readonly channel: string | null;
  readonly thread: string | null;
  /** Good for three seconds; absent where no form can be opened. */
  readonly trigger?: string;
  acknowledge(): Promise<void>;
}

export function answering(occasion: Occasion, api: Api): Answering {
  const waiting: (() => Promise<unknown>)[] = [];
  const say = (what: Body): void => {
    const { user, channel, thread } = occasion;
    if (channel !== null) waiting.push(() => api.privately(channel, user, thread, what));
  };
  const whisper = (words: string): void => {
    const made = body({ kind: 'whisper', to: occasion.user, words }, '', null);
    if (made) say(made);
  };
  return {
    say,
    whisper,
    give(answer, thread) {
      if (answer.kind === 'whisper') return whisper(answer.words);
      const { trigger } = occasion;
      if (trigger === undefined) return whisper('Please tap it once more: the form could not be opened.');
      waiting.push(() =>
        api.open(trigger, view(answer, thread)).catch(() => {
          whisper('That took too long for a form. Please tap it once more, or write it here.');
        }),
      );
    },
    async end() {
      await occasion.acknowledge();
      // What a form that failed leaves to say comes behind it.
      for (let one = waiting.shift(); one; one = waiting.shift()) await one();
    },
  };
}
