import type { Question } from '../../shared/case.ts';
import type { Check, Flow, Remedy } from '../../shared/flow.ts';
import type { Topic } from './demand.ts';

/** Whether answering a question takes hands behind a cover, to look, measure or mend. */
export function isInside(flow: Flow, question: Topic): boolean {
  if (question.kind !== 'check' && question.kind !== 'do') return false;
  const behind = (step: Check | Remedy): boolean => step.id === question.step && step.access !== 'outside';
  return flow.checks.some(behind) || flow.remedies.some(behind);
}

/**
 * Whether the appliance is powered in answering a question: not at all, in the course of it, or after it was prepared
 * inside and shut again.
 */
export function powers(flow: Flow, question: Topic): Question['power'] {
  if (question.kind === 'test') return 'on';
  if (question.kind === 'closing') return question.step === 'function' ? 'on' : 'none';
  if (question.kind === 'check') {
    const check = flow.checks.find((step) => step.id === question.step);
    return check?.power === 'on' ? 'on' : check?.power === 'look' ? 'look' : 'none';
  }
  // A remedy outside is tried at once.
  if (question.kind === 'do') {
    return flow.remedies.some((step) => step.id === question.step && step.access === 'outside')
      ? 'on'
      : 'none';
  }
  return 'none';
}
