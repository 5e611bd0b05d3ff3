import type { Flow } from '../../shared/flow.ts';
import type { Settings } from '../core/settings.ts';
import type { Notify } from '../notice.ts';
import { taught } from './apply.ts';
import { type Decided, decided, undecided } from './decided.ts';
import { digestOf } from './digest.ts';
import type { Learnt } from './learnt.ts';
import type { LearningBook } from './store.ts';

/** Flows with the numbers that were accepted for them, and settings that name those numbers; both always together. */
export interface Taught {
  readonly flows: readonly Flow[];
  readonly settings: Settings;
}

/** Accepted numbers into the flows' places. The same numbers give the same flow, so that what was worked out of it stays. */
export function teacher({ flows, settings }: Taught): (learnt: ReadonlyMap<string, Learnt>) => Taught {
  const { floor, country } = settings.community;
  const known = new Map<string, Flow>();
  return (learnt) => {
    const numbers = new Map<string, string>();
    const now = flows.map((flow) => {
      const own = learnt.get(flow.flow);
      if (!own) return flow;
      const digest = digestOf(own);
      const one = known.get(digest) ?? taught(flow, own, { floor, mainsVolts: country.mains_volts });
      known.set(digest, one);
      // Accepted beside another version: the file's numbers until somebody accepts again.
      if (one !== flow) numbers.set(flow.flow, digest);
      return one;
    });
    return {
      flows: now,
      settings: {
        ...settings,
        numbers,
        ...(settings.library ? { library: { ...settings.library, flows: now } } : {}),
      },
    };
  };
}

/** How often the book is looked at for what another program wrote into it, milliseconds. */
const every = 30_000;

export interface Following {
  /** What holds when the desk opens. */
  readonly taught: Taught;
  /** `use` is given what holds from then on, each time it changes. */
  follow(use: (taught: Taught) => void): void;
  /** Looks now. */
  look(): Promise<void>;
  stop(): void;
}

/** Reads the book, and again every half a minute; away from every turn. */
export async function followBook(book: LearningBook, files: Taught, notify: Notify): Promise<Following> {
  const teach = teacher(files);
  let now: Decided = decided(await book.read(0), undecided);
  let use: ((taught: Taught) => void) | null = null;
  let looking: Promise<void> | null = null;

  async function read(): Promise<void> {
    const fresh = await book.read(now.last);
    if (fresh.length === 0) return;
    const before = now.learnt;
    now = decided(fresh, now);
    if (now.learnt !== before) use?.(teach(now.learnt));
  }
  const look = (): Promise<void> => {
    looking ??= read().finally(() => {
      looking = null;
    });
    return looking;
  };
  const timer = setInterval(() => {
    look().catch((cause) => notify({ kind: 'problem', what: 'Learnt numbers could not be read', cause }));
  }, every);
  timer.unref();
  return {
    taught: teach(now.learnt),
    follow(with_) {
      use = with_;
    },
    look,
    stop: () => clearInterval(timer),
  };
}
