import type { Answer, Case, Unnumbered } from '../../shared/case.ts';
import type { Who } from './turn.ts';

/** What the answers of a case amount to. Read from the answers alone, so that taking one back needs no repair work. */

type Seen = Extract<Answer, { kind: 'answered' | 'read' }>;
type SetAside = Extract<Answer, { kind: 'set-aside' }>;

interface Told {
  readonly complaint: string | null;
  readonly pending: readonly string[];
  /** By detail, the choice. */
  readonly details: ReadonlyMap<string, string>;
  /** By check. */
  readonly seen: ReadonlyMap<string, Seen>;
  /** By what was put aside. */
  readonly aside: ReadonlyMap<string, SetAside>;
  /** By remedy, how often. */
  readonly done: ReadonlyMap<string, number>;
  readonly parts: ReadonlyMap<string, 'ordered' | 'here'>;
}

/** Worked out once for each list of answers, which never changes; a cache of a pure function. */
const known = new WeakMap<readonly Answer[], Told>();

export function toldIn({ answers }: Pick<Case, 'answers'>): Told {
  const before = known.get(answers);
  if (before) return before;
  const told = read(answers);
  known.set(answers, told);
  return told;
}

/** In order, so that of several answers to the same the latest counts. */
function read(answers: readonly Answer[]): Told {
  let complaint: string | null = null;
  let pending: string[] = [];
  const details = new Map<string, string>();
  const seen = new Map<string, Seen>();
  const aside = new Map<string, SetAside>();
  const done = new Map<string, number>();
  const parts = new Map<string, 'ordered' | 'here'>();
  const wrong = new Set<string>();
  for (const answer of answers) {
    switch (answer.kind) {
      case 'complaint-stated':
        complaint = answer.complaint;
        break;
      case 'detail-stated':
        details.set(answer.detail, answer.choice);
        break;
      case 'level-stated':
      case 'meter-stated':
      case 'safety-tested':
        // What a person is and has is the gate's to read; what is tested at the end, the closing's.
        break;
      case 'answered':
      case 'read':
        seen.set(answer.step, answer);
        break;
      case 'set-aside':
        // The right one may still be had; who gets the wrong one twice is not asked a third time.
        if (answer.why === 'wrong-part' && parts.has(answer.step) && !wrong.has(answer.step)) {
          wrong.add(answer.step);
          parts.delete(answer.step);
        } else aside.set(answer.step, answer);
        break;
      case 'part-ordered':
        parts.set(answer.step, 'ordered');
        break;
      case 'part-arrived':
        parts.set(answer.step, 'here');
        break;
      case 'remedy-done':
        done.set(answer.step, (done.get(answer.step) ?? 0) + 1);
        pending.push(answer.step);
        break;
      case 'tested':
        if (answer.result === 'different') complaint = null;
        pending = [];
        break;
      default:
        answer satisfies never;
    }
  }
  return { complaint, pending, details, seen, aside, done, parts };
}

/** The complaint as it stands; null before one was stated, or after a remedy changed what the appliance does. */
export const complaintOf = (kase: Case): string | null => toldIn(kase).complaint;

/** Remedies done since the last test, in order. */
export const pendingOf = (kase: Case): string[] => [...toldIn(kase).pending];

export const timesDone = (kase: Case, remedy: string): number => toldIn(kase).done.get(remedy) ?? 0;

/** The latest answer to a check; null where there is none. */
export const answerTo = (kase: Case, check: string): Seen | null => toldIn(kase).seen.get(check) ?? null;

/** Why a step was put aside last; null where it was not. */
export const setAside = (kase: Case, step: string): SetAside['why'] | null =>
  toldIn(kase).aside.get(step)?.why ?? null;

/** The last answer about the repair; the tests before it goes home come after it. */
export const lastOf = ({ answers }: Pick<Case, 'answers'>): Answer | undefined =>
  answers.findLast(({ kind }) => kind !== 'safety-tested');

/** A settled case is taken up again: that it worked holds no longer, and is asked once more. */
export function reopened(kase: Case, who: Who): Unnumbered[] {
  const last = lastOf(kase);
  return kase.state === 'settled' && last?.kind === 'tested' && last.result === 'works'
    ? [{ ...who, kind: 'undone', undone: last.seq, again: false }]
    : [];
}

export const partState = (kase: Case, remedy: string): 'none' | 'ordered' | 'here' =>
  toldIn(kase).parts.get(remedy) ?? 'none';
