import type { Answer, Case, SafetyTest } from '../../shared/case.ts';
import type { Community } from '../../shared/community.ts';
import type { Flow, Protection } from '../../shared/flow.ts';
import type { Safety } from '../../shared/outcome.ts';
import {
  earthLimit,
  insulationLimit,
  type Practice,
  type ProtectionClass,
  practiceIn,
} from './closing-limits.ts';

/**
 * Before it goes home: a mains appliance that was opened is looked at, measured and run by somebody with an appliance
 * tester. Where nobody has one it is fixed and not tested, and that is said. What fails a test is not fixed.
 */
export interface Closing {
  readonly state: 'none' | 'open' | 'passed' | 'not done' | 'failed';
  /** What is asked next, while it is open. */
  readonly next: SafetyTest | null;
}

type Told = Extract<Answer, { kind: 'safety-tested' }>;

const none: Closing = { state: 'none', next: null };

export function closingOf(kase: Case, flow: Flow, community: Community): Closing {
  const { protection } = flow;
  if (!flow.mains || !protection || !wasOpen(kase, flow)) return none;
  const told = testsOf(kase);
  if (told.get('tester')?.result === 'none') return { state: 'not done', next: null };
  const order = orderOf(protection, told);
  const failed = order.some((test) => judged(test, told, protection, community) === 'failed');
  if (failed) return { state: 'failed', next: null };
  const next = order.find((test) => !told.has(test));
  return next === undefined ? { state: 'passed', next: null } : { state: 'open', next };
}

/** What a settled case says of it; nothing where no test was called for. */
export function safetyOf(closing: Closing): Safety | null {
  if (closing.state === 'none' || closing.state === 'failed') return null;
  return closing.state === 'passed' ? 'passed' : 'not done';
}

/** Opened in this case, as far as anybody told; whoever has tested it will have known why. */
export const wasOpen = (kase: Case, flow: Flow): boolean =>
  kase.entered ||
  kase.answers.some(
    (answer) =>
      answer.kind === 'safety-tested' ||
      ('step' in answer &&
        answer.kind !== 'set-aside' &&
        [...flow.checks, ...flow.remedies].some(
          ({ id, access }) => id === answer.step && access !== 'outside',
        )),
  );

/** By test, the latest. */
export const testsOf = ({ answers }: Case): ReadonlyMap<SafetyTest, Told> =>
  new Map(answers.flatMap((answer) => (answer.kind === 'safety-tested' ? [[answer.test, answer]] : [])));

/** The class it was said to have, or the only one there is. */
export function classOf(protection: Protection, told: ReadonlyMap<SafetyTest, Told>): ProtectionClass | null {
  const [only, ...others] = protection.classes;
  if (only !== undefined && others.length === 0) return only;
  return protection.classes.find((one) => String(one) === told.get('class')?.result) ?? null;
}

export const leadOf = (told: ReadonlyMap<SafetyTest, Told>): number =>
  Number(told.get('lead')?.result ?? '2') || 2;

function orderOf(protection: Protection, told: ReadonlyMap<SafetyTest, Told>): SafetyTest[] {
  const known = classOf(protection, told);
  const earthed: SafetyTest[] = known === 1 ? ['lead', 'earth'] : [];
  return [
    'tester',
    ...(protection.classes.length > 1 ? (['class'] as const) : []),
    'visual',
    ...earthed,
    'insulation',
    'function',
  ];
}

/** What the limits of the place are, for this appliance. */
export function limitsFor(
  protection: Protection,
  told: ReadonlyMap<SafetyTest, Told>,
  community: Community,
): { readonly practice: Practice; readonly earth: number; readonly insulation: number } {
  const practice = practiceIn(community.country.code);
  // As long as the class is not known, the stricter limit.
  const of = classOf(protection, told) ?? 2;
  return {
    practice,
    earth: earthLimit(practice, leadOf(told)),
    insulation: insulationLimit(practice, of, protection.heater_kw),
  };
}

export function judged(
  test: SafetyTest,
  told: ReadonlyMap<SafetyTest, Told>,
  protection: Protection,
  community: Community,
): 'passed' | 'failed' | null {
  const answer = told.get(test);
  if (!answer) return null;
  const { earth, insulation } = limitsFor(protection, told, community);
  switch (test) {
    case 'tester':
    case 'class':
    case 'lead':
      return null;
    case 'visual':
    case 'function':
      return answer.result === 'passed' ? 'passed' : 'failed';
    case 'earth':
      if (answer.result !== 'measured') return answer.result === 'passed' ? 'passed' : 'failed';
      return answer.value !== null && answer.value <= earth ? 'passed' : 'failed';
    case 'insulation':
      if (answer.result === 'over') return 'passed';
      if (answer.result !== 'measured') return answer.result === 'passed' ? 'passed' : 'failed';
      return answer.value !== null && answer.value >= insulation ? 'passed' : 'failed';
    default:
      return test satisfies never;
  }
}
