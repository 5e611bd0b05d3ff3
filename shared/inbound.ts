import { z } from 'zod';
import { Tier } from './flow.ts';
import { RepairOutcome } from './outcome.ts';
import { Person } from './person.ts';
import { RedFlag } from './red-flag.ts';

/** Everything that can reach a case. A closed union, told apart by `kind`. */

const envelope = {
  /** The platform's own id of the event: the same id twice is the same event. */
  id: z.string().min(1).max(200),
  /** The thread, and so the case, it belongs to. */
  thread: z.string().min(1).max(200),
  /** Milliseconds since 1970-01-01 UTC. The core has no other clock. */
  at: z.number().int(),
  by: Person,
  /** Sent under a clock that was moved for a demonstration. */
  demonstration: z.literal(true).optional(),
} as const;

const words = z.string().max(20_000);

export const Control = z.enum([
  'unsure',
  'cannot',
  'why',
  'where',
  'undo',
  'person',
  'stop',
  'card',
  'mine',
  'again',
  'forget',
]);
export type Control = z.infer<typeof Control>;

/** What a person can be given a form for: a reading of the open question, or an act of menders that takes words. */
export const FormName = z.enum([
  'reading',
  'advise',
  'result',
  'correct',
  'clear',
  'unflag',
  'safety',
  'settle',
]);
export type FormName = z.infer<typeof FormName>;

/** What a mender or moderator does to a case. */
export const Act = z.discriminatedUnion('what', [
  /** Takes the case on; `hands`: the appliance is now in front of this person. */
  z.strictObject({ what: z.literal('take'), hands: z.boolean().default(false) }),
  z.strictObject({ what: z.literal('advise'), words }),
  z.strictObject({ what: z.literal('result'), step: z.string(), answer: z.string() }),
  z.strictObject({ what: z.literal('correct'), step: z.string(), answer: z.string() }),
  z.strictObject({ what: z.literal('clear'), tier: Tier, reason: words }),
  /** Says that a red flag was looked into and it is safe to go on. */
  z.strictObject({ what: z.literal('unflag'), flag: RedFlag, reason: words }),
  /** The electrical test before it goes home, as a tester showed it. */
  z.strictObject({
    what: z.literal('safety'),
    class: z.string(),
    visual: z.string(),
    earth: z.string().default(''),
    insulation: z.string(),
    function: z.string(),
  }),
  z.strictObject({ what: z.literal('back') }),
  /** Wants the job card to print. */
  z.strictObject({ what: z.literal('print') }),
  /** Wants to see earlier cases like this one. */
  z.strictObject({ what: z.literal('similar') }),
  z.strictObject({
    what: z.literal('settle'),
    outcome: RepairOutcome,
    fault: z.string().optional(),
    barrier: z.string().optional(),
  }),
]);
export type Act = z.infer<typeof Act>;

export const Inbound = z.discriminatedUnion('kind', [
  z.strictObject({ ...envelope, kind: z.literal('opened'), words, place: z.string().max(200).default('') }),
  /** An offered answer. `of` is the question's key where the platform can say which message was tapped. */
  z.strictObject({
    ...envelope,
    kind: z.literal('chose'),
    answer: z.string().max(200),
    of: z.string().max(200).optional(),
  }),
  /** `aside`: the platform shows that it was said to somebody else; only signs of danger are heard in it. */
  z.strictObject({ ...envelope, kind: z.literal('said'), words, aside: z.literal(true).optional() }),
  z.strictObject({
    ...envelope,
    kind: z.literal('measured'),
    reading: z.string().max(2000),
    of: z.string().max(200).optional(),
  }),
  z.strictObject({
    ...envelope,
    kind: z.literal('photo'),
    references: z.array(z.string().max(2000)).max(20),
  }),
  z.strictObject({ ...envelope, kind: z.literal('asked'), what: Control }),
  z.strictObject({ ...envelope, kind: z.literal('acted'), act: Act }),
  /** A tap on what opens a form; `of` as above. Nothing of it is kept. */
  z.strictObject({
    ...envelope,
    kind: z.literal('wanted'),
    form: FormName,
    of: z.string().max(200).optional(),
  }),
  z.strictObject({ ...envelope, kind: z.literal('rang'), key: z.string().max(200) }),
  /** `undelivered`: a message of ours was set aside after many tries. Only the desk itself says so, as `desk`. */
  z.strictObject({
    ...envelope,
    kind: z.literal('changed'),
    what: z.enum(['edited', 'deleted', 'gone', 'undelivered']),
    reference: z.string().max(200).optional(),
    words: words.optional(),
  }),
]);
export type Inbound = z.infer<typeof Inbound>;
