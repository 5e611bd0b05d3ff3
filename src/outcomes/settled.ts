import { z } from 'zod';
import type { Case } from '../../shared/case.ts';
import { type Flow, Level } from '../../shared/flow.ts';
import { Aftermath, Barrier, RepairOutcome, Safety } from '../../shared/outcome.ts';
import { confirmedBy, saidBy, workOf } from '../core/spent.ts';

/**
 * What a settled case leaves behind for learning, scores and records: ids and numbers, nobody's words. Derived from the case
 * and its flow alone, so it can be made anew at any time.
 */
export const SettledCase = z.strictObject({
  /** The case's own id; nothing that leaves the community carries it. */
  id: z.string(),
  flow: z.string(),
  version: z.number().int(),
  opened: z.number().int(),
  settled: z.number().int(),
  complaint: z.string().nullable(),
  details: z.record(z.string(), z.string()),
  /** What was seen or measured, the latest of each check; a reading also has its value. */
  seen: z.array(
    z.strictObject({
      check: z.string(),
      outcome: z.string().nullable(),
      value: z.number().nullable(),
      level: Level,
    }),
  ),
  /** Remedies in order, and whether it worked after the test that followed. */
  tried: z.array(z.strictObject({ remedy: z.string(), worked: z.boolean() })),
  outcome: RepairOutcome,
  barrier: Barrier.nullable(),
  safety: Safety.nullable(),
  fault: z.string().nullable(),
  /** How the fault is known: a person who settled the case said so, or it works after what cures it. Null: it is a guess. */
  confirmed: z.enum(['person', 'cure']).nullable(),
  /** Who says how it ended, by role; `desk`: the desk itself, since it works again or nobody went on. */
  said_by: z.enum(['asker', 'mender', 'moderator', 'desk']),
  /** Hands-on minutes and minutes waited, by the flow's own figures for what was done. */
  minutes: z.number(),
  waited: z.number(),
  /** Parts bought: remedies by id. */
  parts: z.array(z.string()),
  /** Parts that came and were the wrong ones: remedies by id, once for each. */
  wrong_parts: z.array(z.string()).default([]),
  /** The latest answer to how it went on after the end; `back` where the case was taken up again for it, and ended anew. */
  follow_up: z.strictObject({ result: Aftermath, at: z.number().int() }).nullable().default(null),
  demonstration: z.boolean(),
});
export type SettledCase = z.infer<typeof SettledCase>;

/** Null while it is not settled, or where nothing was ever said about it. */
export function settledCase(kase: Case, flow: Flow): SettledCase | null {
  const { outcome } = kase;
  if (kase.state !== 'settled' || outcome === null || kase.flow === null) return null;
  const seen = new Map<string, SettledCase['seen'][number]>();
  const tried: SettledCase['tried'] = [];
  const details: Record<string, string> = {};
  const wrongParts: string[] = [];
  let complaint: string | null = null;
  for (const answer of kase.answers) {
    if (answer.kind === 'complaint-stated') complaint ??= answer.complaint;
    else if (answer.kind === 'detail-stated') details[answer.detail] = answer.choice;
    else if (answer.kind === 'answered')
      seen.set(answer.step, {
        check: answer.step,
        outcome: answer.outcome,
        value: null,
        level: answer.level,
      });
    else if (answer.kind === 'read')
      seen.set(answer.step, { check: answer.step, outcome: null, value: answer.value, level: answer.level });
    else if (answer.kind === 'set-aside' && answer.why === 'wrong-part') wrongParts.push(answer.step);
    else if (answer.kind === 'tested')
      tried.push(...answer.remedies.map((remedy) => ({ remedy, worked: answer.result === 'works' })));
  }
  const work = workOf(kase, flow);
  return {
    id: kase.id,
    flow: kase.flow,
    version: kase.follows ?? kase.version ?? 0,
    opened: kase.opened,
    settled: outcome.at,
    complaint,
    details,
    seen: [...seen.values()],
    tried,
    outcome: outcome.outcome,
    barrier: outcome.barrier,
    safety: outcome.safety ?? null,
    fault: outcome.fault,
    confirmed: confirmedBy(kase, flow),
    said_by: saidBy(kase) ?? 'desk',
    minutes: work.minutes,
    waited: work.waited,
    parts: [...work.parts],
    wrong_parts: wrongParts,
    follow_up: kase.followed && { result: kase.followed.result, at: kase.followed.at },
    demonstration: kase.demonstration,
  };
}
