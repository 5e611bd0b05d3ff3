import type { Answer, Case, Unnumbered } from '../../shared/case.ts';
import type { Who } from './turn.ts';

/** What the answers of a case amount to. Read from the answers each time, so that taking one back needs no repair work. */

/** The complaint as it stands; null before one was stated, or after a remedy changed what the appliance does. */
export function complaintOf(kase: Case): string | null {
  const last = kase.answers.findLast(
    (a) => a.kind === 'complaint-stated' || (a.kind === 'tested' && a.result === 'different'),
  );
  return last?.kind === 'complaint-stated' ? last.complaint : null;
}

/** Remedies done since the last test, in order. */
export function pendingOf(kase: Case): string[] {
  const since = kase.answers.findLastIndex((a) => a.kind === 'tested') + 1;
  return kase.answers.slice(since).flatMap((a) => (a.kind === 'remedy-done' ? [a.step] : []));
}

export const timesDone = (kase: Case, remedy: string): number =>
  kase.answers.filter((a) => a.kind === 'remedy-done' && a.step === remedy).length;

/** The latest answer to a check; null where there is none. */
export function answerTo(kase: Case, check: string): Extract<Answer, { kind: 'answered' | 'read' }> | null {
  const found = kase.answers.findLast(
    (a) => (a.kind === 'answered' || a.kind === 'read') && a.step === check,
  );
  return found?.kind === 'answered' || found?.kind === 'read' ? found : null;
}

type SetAside = Extract<Answer, { kind: 'set-aside' }>;

/** Why a step was put aside last; null where it was not. */
export function setAside(kase: Case, step: string): SetAside['why'] | null {
  const found = kase.answers.findLast((a) => a.kind === 'set-aside' && a.step === step);
  return found?.kind === 'set-aside' ? found.why : null;
}

/** A settled case is taken up again: that it worked holds no longer, and is asked once more. */
export function reopened(kase: Case, who: Who): Unnumbered[] {
  const last = kase.answers.at(-1);
  return kase.state === 'settled' && last?.kind === 'tested' && last.result === 'works'
    ? [{ ...who, kind: 'undone', undone: last.seq, again: false }]
    : [];
}

export const partState = (kase: Case, remedy: string): 'none' | 'ordered' | 'here' => {
  const last = kase.answers.findLast(
    (a) => (a.kind === 'part-ordered' || a.kind === 'part-arrived') && a.step === remedy,
  );
  return last === undefined ? 'none' : last.kind === 'part-ordered' ? 'ordered' : 'here';
};
