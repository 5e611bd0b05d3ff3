import { z } from 'zod';
import { Level, Tier } from './flow.ts';
import { HandoverReason } from './outbound.ts';
import { Aftermath, Barrier, RepairOutcome, Safety } from './outcome.ts';
import { Role } from './person.ts';
import { RedFlag } from './red-flag.ts';

/**
 * One person's one repair. The events are the truth; a case is their fold (`src/core/reduce.ts`). Both are plain,
 * serialisable data: the same events give the same case, byte for byte.
 */

const id = z.string();

export const CaseState = z.enum(['asking', 'resting', 'with people', 'settled']);
export type CaseState = z.infer<typeof CaseState>;

/** What can be open between us and the person: one at a time. `step` is an id of the flow, or the kind itself. */
export const QuestionKind = z.enum([
  'appliance',
  'complaint',
  'detail',
  'level',
  'meter',
  'unplug',
  'wait',
  'open',
  'prove',
  'shut',
  'live',
  'check',
  'part',
  'arrival',
  'do',
  'test',
  'closing',
  'flag',
  'replace',
  'follow-up',
]);
export type QuestionKind = z.infer<typeof QuestionKind>;
export const Question = z.strictObject({
  key: id,
  kind: QuestionKind,
  step: id,
  /** Ids offered, where they depend on the case (the complaints proposed). */
  offered: z.array(id).optional(),
  /**
   * Whether answering it powers the appliance: not at all, in the course of it, or (`look`) after it was prepared inside
   * and shut again. Said when it is put, so that a corrected flow does not change the past.
   */
  power: z.enum(['none', 'on', 'look']),
  /** Answering it takes hands behind a cover. */
  inside: z.boolean(),
  /** The step, or `test`, that it prepares; absent where it is asked for itself. */
  toward: id.optional(),
});
export type Question = z.infer<typeof Question>;

const stamp = {
  seq: z.number().int().positive(),
  at: z.number().int(),
  /** Id of the person; `desk` for what the bot itself decided. */
  by: id,
  demonstration: z.literal(true).optional(),
} as const;

/** Which numbers of a flow: the file's, or accepted ones by their digest (`src/learning/digest.ts`). */
export const Numbers = z.string().regex(/^(?:file|[0-9a-f]{12})$/);

/** What is looked at and measured before an opened mains appliance goes home; `tester`: whether anybody can. */
export const SafetyTest = z.enum(['tester', 'class', 'lead', 'visual', 'earth', 'insulation', 'function']);
export type SafetyTest = z.infer<typeof SafetyTest>;

/** What was answered and can be taken back. `level` is the level of whoever answered, at that time. */
const answer = { ...stamp, level: Level } as const;

export const Answer = z.discriminatedUnion('kind', [
  z.strictObject({ ...answer, kind: z.literal('complaint-stated'), complaint: id }),
  z.strictObject({ ...answer, kind: z.literal('detail-stated'), detail: id, choice: id }),
  z.strictObject({ ...answer, kind: z.literal('level-stated'), person: id, stated: Level }),
  z.strictObject({ ...answer, kind: z.literal('meter-stated'), person: id, has: z.boolean() }),
  z.strictObject({ ...answer, kind: z.literal('answered'), step: id, outcome: id }),
  z.strictObject({ ...answer, kind: z.literal('read'), step: id, value: z.number(), typed: z.string() }),
  z.strictObject({
    ...answer,
    kind: z.literal('set-aside'),
    step: id,
    why: z.enum(['unsure', 'cannot', 'too-dear', 'not-found', 'wrong-part']),
  }),
  z.strictObject({ ...answer, kind: z.literal('part-ordered'), step: id, days: z.number() }),
  z.strictObject({ ...answer, kind: z.literal('part-arrived'), step: id }),
  z.strictObject({ ...answer, kind: z.literal('remedy-done'), step: id }),
  z.strictObject({
    ...answer,
    kind: z.literal('tested'),
    result: z.enum(['works', 'no', 'different']),
    remedies: z.array(id),
  }),
  /** `value`: ohm for the earth, Mohm for the insulation; `over`: more than the tester can show. */
  z.strictObject({
    ...answer,
    kind: z.literal('safety-tested'),
    test: SafetyTest,
    result: id,
    value: z.number().nullable(),
  }),
]);
export type Answer = z.infer<typeof Answer>;

/**
 * What the desk asks after by itself: a remedy or a test that was put and not answered, a part that was ordered, and how
 * it went on after the end.
 */
export const Chased = z.enum(['step', 'part', 'outcome']);
export type Chased = z.infer<typeof Chased>;

/** `of` names the one thing asked after: the open question, the order, or the end. */
const chased = { about: Chased, of: id } as const;

/** What happened to the appliance, between people, or in time: never taken back. */
export const Happening = z.discriminatedUnion('kind', [
  z.strictObject({ ...stamp, kind: z.literal('opened'), words: z.string(), place: z.string() }),
  /** Flows that the words may be about, best first; `flow/complaint` where they state a complaint, too. */
  z.strictObject({ ...stamp, kind: z.literal('suggested'), appliances: z.array(id) }),
  z.strictObject({ ...stamp, kind: z.literal('flow-taken'), flow: id, version: z.number().int() }),
  /** It turned out to be another appliance: what was answered about this one is gone. */
  z.strictObject({ ...stamp, kind: z.literal('flow-left') }),
  /** The flow's file was corrected under the case: from here on its answers are read against this version. */
  z.strictObject({
    ...stamp,
    kind: z.literal('flow-changed'),
    flow: id,
    version: z.number().int(),
    /** Answers about what the flow no longer has, by number. */
    dropped: z.array(z.number().int()),
    /** Remedies that were tried and that it no longer has. */
    gone: z.array(id),
    /** Stages that are open, or may be, and that it still has. */
    open: z.array(id),
    /** Whether the wait was for a step that it no longer has. */
    ended: z.boolean(),
  }),
  /** From here on the case goes by these numbers: the digest of what was accepted for its flow, or `file`. None said: the file's. */
  z.strictObject({ ...stamp, kind: z.literal('numbers-taken'), numbers: Numbers }),
  z.strictObject({
    ...stamp,
    kind: z.literal('joined'),
    person: id,
    name: z.string(),
    level: Level.nullable(),
    roles: z.array(Role),
  }),
  z.strictObject({ ...stamp, kind: z.literal('noted'), words: z.string() }),
  z.strictObject({ ...stamp, kind: z.literal('photographed'), references: z.array(z.string()) }),
  z.strictObject({ ...stamp, kind: z.literal('put'), question: Question, told: z.array(id) }),
  z.strictObject({ ...stamp, kind: z.literal('proposed'), complaints: z.array(id) }),
  /** `again`: this very question is asked once more before the plan goes on. */
  z.strictObject({ ...stamp, kind: z.literal('undone'), undone: z.number().int(), again: z.boolean() }),
  /** The desk asks an observation once more: it is taken back, and nothing in the room has changed. */
  z.strictObject({ ...stamp, kind: z.literal('doubted'), step: id, undone: z.number().int() }),
  /** Free words were read as this answer, and it is asked whether that is right. */
  z.strictObject({ ...stamp, kind: z.literal('guessed'), answer: id }),
  z.strictObject({ ...stamp, kind: z.literal('unplugged') }),
  z.strictObject({ ...stamp, kind: z.literal('stage-opened'), stage: id }),
  z.strictObject({ ...stamp, kind: z.literal('shut') }),
  z.strictObject({ ...stamp, kind: z.literal('proof-read'), point: id, value: z.number() }),
  z.strictObject({ ...stamp, kind: z.literal('proof-dropped'), why: z.string() }),
  z.strictObject({ ...stamp, kind: z.literal('proven') }),
  z.strictObject({ ...stamp, kind: z.literal('live-agreed'), step: id }),
  z.strictObject({
    ...stamp,
    kind: z.literal('flagged'),
    flag: RedFlag,
    sure: z.boolean(),
    words: z.string(),
  }),
  /** The danger button: what happened is not known yet. */
  z.strictObject({ ...stamp, kind: z.literal('alarmed') }),
  z.strictObject({ ...stamp, kind: z.literal('all-clear') }),
  z.strictObject({ ...stamp, kind: z.literal('unflagged'), flag: RedFlag, reason: z.string() }),
  z.strictObject({ ...stamp, kind: z.literal('cleared'), tier: Tier, person: id, reason: z.string() }),
  z.strictObject({ ...stamp, kind: z.literal('rested'), key: id, due: z.number().int(), reason: z.string() }),
  z.strictObject({ ...stamp, kind: z.literal('woken'), key: id }),
  z.strictObject({
    ...stamp,
    kind: z.literal('handed-over'),
    reason: HandoverReason,
    danger: z.boolean(),
    next: id.nullable(),
  }),
  z.strictObject({ ...stamp, kind: z.literal('taken'), hands: z.boolean() }),
  z.strictObject({ ...stamp, kind: z.literal('advised'), words: z.string() }),
  z.strictObject({ ...stamp, kind: z.literal('handed-back') }),
  z.strictObject({ ...stamp, kind: z.literal('stopped') }),
  z.strictObject({ ...stamp, kind: z.literal('taken-up-again') }),
  z.strictObject({
    ...stamp,
    kind: z.literal('settled'),
    outcome: RepairOutcome,
    fault: id.nullable(),
    barrier: Barrier.nullable(),
    safety: Safety.optional(),
  }),
  /** The desk is to ask again then; or the wait for a part is moved to then. */
  z.strictObject({ ...stamp, kind: z.literal('follow-up-set'), ...chased, key: id, due: z.number().int() }),
  /** It was time, and it asks. */
  z.strictObject({ ...stamp, kind: z.literal('follow-up-due'), ...chased }),
  z.strictObject({ ...stamp, kind: z.literal('followed-up'), of: id, result: Aftermath }),
  /** That answer is taken back, and asked for once more. */
  z.strictObject({ ...stamp, kind: z.literal('follow-up-reopened') }),
  /** Nobody wants to be asked again in this case. */
  z.strictObject({ ...stamp, kind: z.literal('follow-ups-refused') }),
  /** A person wants to be asked at this hour, 0 to 23, of the community's clock. */
  z.strictObject({
    ...stamp,
    kind: z.literal('hour-stated'),
    person: id,
    hour: z.number().int().min(0).max(23),
  }),
  /** The case is given up, with every word and name in it. */
  z.strictObject({ ...stamp, kind: z.literal('forgotten') }),
  /** The words of this person were taken out of the journal, here and everywhere: they come back empty. */
  z.strictObject({ ...stamp, kind: z.literal('erased'), person: id }),
]);
export type Happening = z.infer<typeof Happening>;

export const Event = z.union([Answer, Happening]);
export type Event = z.infer<typeof Event>;
/** An event before the journal numbers it. */
export type Unnumbered<E = Event> = E extends Event ? Omit<E, 'seq'> : never;

export const Participant = z.strictObject({
  id,
  name: z.string(),
  /** Vouched for by the platform; null where it says nothing. */
  level: Level.nullable(),
  roles: z.array(Role),
});
export type Participant = z.infer<typeof Participant>;

/** The appliance as it stands in the room. */
export const World = z.strictObject({
  /** Stages open, from the outside in. */
  open: z.array(id),
  /** Stages that were open when the flow lost them: covers that may be off, and that nothing names any more. */
  lost: z.array(id),
  /** Powered since it was last proven discharged. */
  charged: z.boolean(),
  /** A `look` left something changed: the check's id. */
  altered: id.nullable(),
  unplugged: z.strictObject({ at: z.number(), by: id, demonstration: z.boolean() }).nullable(),
  /** Proof readings so far, in order of the proof's points. */
  readings: z.array(z.strictObject({ point: id, value: z.number(), at: z.number() })),
  proof: z.strictObject({ by: id, at: z.number(), demonstration: z.boolean() }).nullable(),
  live: z.strictObject({ step: id, by: id, at: z.number() }).nullable(),
});
export type World = z.infer<typeof World>;

export const Case = z.strictObject({
  id,
  seq: z.number().int(),
  state: CaseState,
  flow: id.nullable(),
  /** The version of the flow that the case began with, and the one its answers are read against now. */
  version: z.number().int().nullable(),
  follows: z.number().int().nullable(),
  /** The numbers it goes by: `file`, or the digest of accepted ones. */
  numbers: Numbers,
  asker: id,
  /** Who has the appliance in front of them. */
  hands: id,
  people: z.record(id, Participant),
  /** The asker's words about the appliance, as they came. */
  words: z.array(z.string()),
  photos: z.array(z.string()),
  /** Appliances suggested and not yet chosen. */
  suggested: z.array(id),
  /** Complaints proposed and not yet chosen. */
  proposed: z.array(id),
  answers: z.array(Answer),
  world: World,
  /** It was opened at some time, as far as we know. */
  entered: z.boolean(),
  question: Question.nullable(),
  /** The step, or `test`, that is being prepared, as long as nothing new was learnt. */
  toward: id.nullable(),
  /** Words of the glossary explained so far. */
  told: z.array(id),
  /** Steps asked so far. */
  asked: z.number().int(),
  /** A question to be asked once more before the plan goes on: a step's id. */
  again: id.nullable(),
  /** Steps whose answers were doubted once already. */
  doubted: z.array(id),
  guess: id.nullable(),
  flags: z.array(z.strictObject({ flag: RedFlag, sure: z.boolean(), words: z.string(), at: z.number() })),
  /** The danger button was tapped and nobody has said yet what happened. */
  alarm: z.boolean(),
  clearance: z
    .strictObject({ tier: Tier, person: id, by: id, reason: z.string(), at: z.number() })
    .nullable(),
  rest: z.strictObject({ key: id, due: z.number(), reason: z.string() }).nullable(),
  /** Set-asides in a row. */
  stuck: z.number().int(),
  handover: z
    .strictObject({
      reason: HandoverReason,
      danger: z.boolean(),
      at: z.number(),
      next: id.nullable(),
      taken: id.nullable(),
      /** The owner has written since, and was told that people read it. */
      heard: z.boolean(),
    })
    .nullable(),
  /** Who wrote free words last that were no answer, and when. */
  spoke: z.strictObject({ by: id, at: z.number() }).nullable(),
  advice: z.array(z.strictObject({ by: id, words: z.string(), at: z.number() })),
  outcome: z
    .strictObject({
      outcome: RepairOutcome,
      fault: id.nullable(),
      barrier: Barrier.nullable(),
      safety: Safety.optional(),
      by: id,
      at: z.number(),
    })
    .nullable(),
  /** What the desk asks after now, and when; `due` is null once it asked as often as it may. */
  followUp: z
    .strictObject({
      ...chased,
      key: id,
      due: z.number().nullable(),
      /** It is time, and the question is to be put. */
      asks: z.boolean(),
    })
    .nullable(),
  /** How often the desk has asked after each thing. */
  chased: z.record(id, z.number().int()),
  /** The latest answer about how it went on after the end; `was`: what the end was called before it. */
  followed: z
    .strictObject({
      of: id,
      result: Aftermath,
      by: id,
      at: z.number(),
      was: z.strictObject({ outcome: RepairOutcome, barrier: Barrier.nullable() }),
    })
    .nullable(),
  /** Nobody wants to be asked again in this case, or nobody is there to be asked. */
  quiet: z.boolean(),
  /** At which hour the owner wants to be asked; null: whenever the community does. */
  hour: z.number().int().nullable(),
  opened: z.number(),
  demonstration: z.boolean(),
  stopped: z.boolean(),
});
export type Case = z.infer<typeof Case>;
