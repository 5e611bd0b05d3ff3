import type { Delivery } from '../../shared/adapter.ts';
import type { Random } from '../../src/rehearsal/random.ts';
import type { Post } from './evidence.ts';
import type { ToDesk } from './protocol.ts';

/**
 * A chat platform that lives as long as the run. It writes down what reaches it, and drops nothing: whether a message came
 * twice is for the check to see. Mostly it answers soon; now and then late, with a refusal, or never.
 */
export interface Platform {
  readonly posts: readonly Post[];
  /** How often people were told that there is too much to do. */
  readonly turnedAway: number;
  deliver(delivery: Delivery, call: number, desk: number, answer: (message: ToDesk) => void): void;
}

type Writable<T> = { -readonly [K in keyof T]: T[K] };

export function chatPlatform(options: {
  readonly draw: Random;
  readonly now: () => number;
  /** A message was posted that had not been posted before. */
  readonly shown: (post: Post) => void;
}): Platform {
  const { draw, now, shown } = options;
  const posts: Writable<Post>[] = [];
  const known = new Set<string>();
  let turnedAway = 0;

  return {
    posts,
    get turnedAway() {
      return turnedAway;
    },
    deliver({ id, thread, outbound, amends }, call, desk, answer) {
      // That there is too much to do is said beside the outbox, and never for sure.
      if (id.startsWith('busy:')) {
        turnedAway += 1;
        answer({ kind: 'posted', call, reference: `m-${id}` });
        return;
      }
      const fate = draw.next();
      const later = (wait: number, reference: string | null, message: ToDesk): void => {
        setTimeout(() => {
          post.answer = { reference, real: Date.now() };
          answer(message);
        }, wait);
      };
      const post: Writable<Post> = {
        id,
        thread,
        outbound,
        ...(amends === undefined ? {} : { amends }),
        at: now(),
        real: Date.now(),
        desk,
        answer: null,
      };
      // Not posted, and the desk knows.
      if (fate < 0.005) {
        later(0, null, {
          kind: 'not-posted',
          call,
          code: 'slow-down',
          after: 200 + 300 * draw.next(),
        });
        return;
      }
      if (fate < 0.01) {
        later(20 * draw.next(), null, { kind: 'not-posted', call, code: 'away', after: 0 });
        return;
      }
      posts.push(post);
      if (!known.has(id)) {
        known.add(id);
        shown(post);
      }
      // Posted, and the desk is told that it was not, or nothing.
      if (fate < 0.015) {
        later(20 * draw.next(), null, { kind: 'not-posted', call, code: 'away', after: 0 });
        return;
      }
      if (fate < 0.017) return;
      const wait = fate < 0.05 ? 150 * draw.next() : 8 * draw.next();
      later(wait, `m-${id}`, { kind: 'posted', call, reference: `m-${id}` });
    },
  };
}
