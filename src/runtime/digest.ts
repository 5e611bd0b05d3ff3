import type { Desk } from '../../shared/adapter.ts';
import type { Community } from '../../shared/community.ts';
import { localTime } from '../core/civil-hour.ts';
import type { Journal } from '../journal/journal.ts';
import type { Notify } from '../notice.ts';

/**
 * Each morning the list of what waits, into the menders' channel. It goes through the journal under the day's name, so that
 * it comes once, whoever of several desks thinks of it first, and late where the desk was down.
 */
export interface DigestOptions {
  readonly journal: Journal;
  readonly desk: Desk;
  readonly platforms: readonly string[];
  readonly community: Pick<Community, 'time_zone' | 'digest_hour'>;
  readonly now: () => number;
  readonly notify: Notify;
  /** Told of a thread in which a message waits. */
  readonly wake: (thread: string) => void;
}

const every = 60_000;

/** Where a platform's menders read what belongs to no one case. */
export const benchThread = (platform: string): string => `${platform}:bench`;

export function keepDigest(options: DigestOptions): { look(): Promise<void>; stop(): void } {
  const { journal, desk, platforms, community, now, notify } = options;
  let done = '';

  async function look(): Promise<void> {
    const { day, hour } = localTime(now(), community.time_zone);
    if (hour < community.digest_hour || done === day) return;
    for (const platform of platforms) await send(platform, day);
    done = day;
  }

  async function send(platform: string, day: string): Promise<void> {
    const by = { id: 'desk', name: 'desk', roles: ['moderator' as const] };
    const { words, cases } = await desk.request({ what: 'list', by, platform, at: now() });
    if (cases.length === 0) return;
    const thread = benchThread(platform);
    const { kind } = await journal.append({
      thread,
      inbound: `digest:${day}`,
      after: 0,
      events: [],
      outbound: [
        {
          kind: 'say',
          words,
          list: cases.map((one) => (one.danger ? `DANGER. ${one.words}` : one.words)),
          numbered: true,
        },
      ],
      state: 'asking',
    });
    if (kind === 'done') options.wake(thread);
  }

  const timer = setInterval(() => {
    look().catch((cause) => notify({ kind: 'problem', what: 'The morning list could not be made', cause }));
  }, every);
  timer.unref();
  return { look, stop: () => clearInterval(timer) };
}
