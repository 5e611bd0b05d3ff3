import { z } from 'zod';
import type { Case } from '../../shared/case.ts';
import { type Flow, Level } from '../../shared/flow.ts';
import { Aftermath, Barrier, RepairOutcome, Safety } from '../../shared/outcome.ts';

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
  const parts: string[] = [];
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
    else if (answer.kind === 'part-arrived') parts.push(answer.step);
    else if (answer.kind === 'set-aside' && answer.why === 'wrong-part') wrongParts.push(answer.step);
    else if (answer.kind === 'tested')
      tried.push(...answer.remedies.map((remedy) => ({ remedy, worked: answer.result === 'works' })));
  }
  const done = new Set([...seen.keys(), ...tried.map(({ remedy }) => remedy)]);
  const steps = [...flow.checks, ...flow.remedies].filter(({ id }) => done.has(id));
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
    minutes: steps.reduce((sum, { minutes }) => sum + minutes, 0),
    waited: steps.reduce((sum, { wait_minutes: wait }) => sum + wait, 0),
    parts,
    wrong_parts: wrongParts,
    follow_up: kase.followed && { result: kase.followed.result, at: kase.followed.at },
    demonstration: kase.demonstration,
  };
}

/** A cure confirms only what the remedies tried last surely mend; a remedy that mends three things points to none. */
function confirmedBy(kase: Case, flow: Flow): SettledCase['confirmed'] {
  const { outcome } = kase;
  if (!outcome || outcome.fault === null || outcome.fault === 'something-else') return null;
  if (outcome.by !== 'desk') return 'person';
  const last = kase.answers.findLast(({ kind }) => kind === 'tested');
  if (outcome.outcome !== 'Fixed' || last?.kind !== 'tested' || last.result !== 'works') return null;
  const cured = flow.faults
    .map(({ id }) => id)
    .filter((fault) =>
      flow.remedies.some(({ id, cures }) => last.remedies.includes(id) && mends(flow, cures, fault)),
    );
  return cured.length === 1 && cured[0] === outcome.fault ? 'cure' : null;
}

/** Above a chance that a wrong part is changed and it works by luck. */
const surely = 0.3;

const mends = (flow: Flow, cures: Flow['remedies'][number]['cures'], fault: string): boolean => {
  const group = Object.entries(flow.groups).find(
    ([name, members]) => members.includes(fault) && cures[name] !== undefined,
  )?.[0];
  return (cures[fault] ?? (group === undefined ? cures.otherwise : cures[group]) ?? 0) >= surely;
};
