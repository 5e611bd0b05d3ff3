import { z } from 'zod';

/** Numbers that a moderator has accepted for a flow, in place of the file's. No ids of cases, nobody's words. */

const name = z.string().max(60);
const share = z.number().min(0).max(1);

/** See `Figure` in `posterior.ts`. */
const FigureOf = z.strictObject({
  file: share,
  mean: share,
  low: share,
  high: share,
  count: z.number().min(0),
});
const ByName = z.record(name, FigureOf);

/** One distribution, accepted as a whole: parts of it would not add up. */
export const Distribution = z.discriminatedUnion('kind', [
  /** P(fault | complaint stated); `(none)`: none was. */
  z.strictObject({ kind: z.literal('faults'), complaint: name, shares: ByName }),
  /** P(complaint stated). */
  z.strictObject({ kind: z.literal('complaints'), shares: ByName }),
  /** P(fault | complaint stated, choice of a detail), such as one make. */
  z.strictObject({ kind: z.literal('choice'), detail: name, choice: name, complaint: name, shares: ByName }),
  /** P(it works afterwards | fault), under the name `worked`. */
  z.strictObject({ kind: z.literal('cure'), remedy: name, fault: name, shares: ByName }),
  /** P(outcome | fault); of a reading, its bands. */
  z.strictObject({ kind: z.literal('outcomes'), check: name, fault: name, shares: ByName }),
]);
export type Distribution = z.infer<typeof Distribution>;

export const Learnt = z.strictObject({
  learnt: z.literal(1),
  flow: name,
  /** Version of the flow that the numbers were learnt and accepted beside. */
  version: z.number().int().min(1),
  /** When it was accepted, milliseconds, and by whom: an id. */
  at: z.number().int(),
  by: z.string().max(200),
  /** Trust in who states the complaint, which the numbers were learnt with. */
  trust: z.number().gt(0).max(1),
  distributions: z.array(Distribution).max(20_000),
});
export type Learnt = z.infer<typeof Learnt>;
