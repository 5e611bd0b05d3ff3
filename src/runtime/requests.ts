import type { Desk, Reply, Request } from '../../shared/adapter.ts';
import type { Case } from '../../shared/case.ts';
import type { Flow } from '../../shared/flow.ts';
import { dangerous, standingWords, titleOf } from '../core/bench.ts';
import { openNow } from '../core/explain.ts';
import { look, type View } from '../core/next.ts';
import type { Settings } from '../core/settings.ts';
import { tablesOf } from '../core/step.ts';
import { minutesWords } from '../core/wording.ts';
import type { Journal } from '../journal/journal.ts';
import type { Moderating } from '../learning/moderating.ts';

/** What somebody wants that belongs to no one case: their cases, what waits for menders, being forgotten. */
export interface RequestOptions {
  readonly journal: Journal;
  readonly settings: Settings;
  caseOf(thread: string): Promise<Case>;
  flowOf(kase: Case): Flow;
  /** Makes all words of a person unreadable; resolves with the number of cases they were in. */
  erase(person: string): Promise<number>;
  readonly learning: Moderating;
}

/** Lines in one answer; who has more is told so. */
const shownAtMost = 20;
/** Cases looked through for them. */
const readAtMost = 500;

export function createRequests(options: RequestOptions): Desk {
  const { journal, settings } = options;

  const viewOf = (kase: Case, at: number): View =>
    look(kase, tablesOf(options.flowOf(kase), settings), settings, at, false);

  async function mine({ by, at, platform }: Request): Promise<Reply> {
    const threads = await journal.threadsOf(by.id);
    const cases = await Promise.all(threads.map(options.caseOf));
    const own = cases
      .filter((kase) => kase.asker === by.id && kase.id.startsWith(`${platform}:`))
      .sort((a, b) => Number(a.state === 'settled') - Number(b.state === 'settled') || b.opened - a.opened);
    return {
      words: own.length === 0 ? 'You have no case here.' : some('Your cases', own.length),
      cases: own.slice(0, shownAtMost).map((kase) => {
        const view = viewOf(kase, at);
        return { thread: kase.id, words: `${titleOf(view)}. ${openNow(view)}`, danger: dangerous(kase) };
      }),
    };
  }

  async function list({ by, at, platform }: Request): Promise<Reply> {
    if (by.roles.length === 0) return { words: 'Only menders and moderators see this list.', cases: [] };
    const waiting = await waitingFor(platform);
    return {
      words:
        waiting.length === 0
          ? 'Nothing waits for people just now.'
          : some('What waits for people, most dangerous and longest waiting first', waiting.length),
      cases: waiting.slice(0, shownAtMost).map((kase) => ({
        thread: kase.id,
        words: `${titleOf(viewOf(kase, at))}. ${standingWords(kase)} Waits for ${minutesWords((at - (kase.handover?.at ?? at)) / 60_000)}.`,
        danger: dangerous(kase),
      })),
    };
  }

  /** Danger first, then what nobody has taken on, then by how long it waits. */
  async function waitingFor(platform: string): Promise<Case[]> {
    const threads = await journal.withPeople(platform, readAtMost);
    const cases = await Promise.all(threads.map(options.caseOf));
    const rank = (kase: Case): number => (dangerous(kase) ? 0 : 2) + (kase.handover?.taken == null ? 0 : 1);
    return cases
      .filter((kase) => kase.handover !== null)
      .sort((a, b) => rank(a) - rank(b) || (a.handover?.at ?? 0) - (b.handover?.at ?? 0));
  }

  async function forget({ by }: Request, sure: boolean): Promise<Reply> {
    if (!sure) {
      return {
        words:
          'This takes your words, your name and your pictures out of every case, for good. A case of yours that is still open is closed. What you wrote yourself in a thread stays there until you delete it.',
        cases: [],
        confirm: { label: 'Erase what is mine' },
      };
    }
    const cases = await options.erase(by.id);
    return {
      words:
        cases === 0
          ? 'There is nothing of yours here.'
          : `It is done: your words, your name and your pictures are out of ${cases === 1 ? 'one case' : `${cases} cases`}.`,
      cases: [],
    };
  }

  async function numbers({ by }: Request, flow: string | null, sure: boolean): Promise<Reply> {
    if (!by.roles.includes('moderator'))
      return { words: 'Only moderators see what was learnt and decide what is used.', cases: [] };
    return sure && flow !== null ? options.learning.accept(flow, by.id) : options.learning.show(flow, by.id);
  }

  return {
    async latest(place) {
      const found = await journal.latest(place);
      if (!found?.settled) return found;
      const { question } = await options.caseOf(found.thread);
      return question === null ? found : { ...found, asks: true };
    },
    async request(request) {
      switch (request.what) {
        case 'mine':
          return mine(request);
        case 'list':
          return list(request);
        case 'forget':
          return forget(request, request.sure);
        case 'numbers':
          return numbers(request, request.flow, request.sure);
      }
    },
  };
}

const some = (title: string, count: number): string =>
  count > shownAtMost ? `${title} (${shownAtMost} of ${count}):` : `${title}:`;
