import { z } from 'zod';
import { Hazard, SignalWord } from './flow.ts';
import { Control, FormName } from './inbound.ts';
import { Barrier, RepairOutcome } from './outcome.ts';
import { RedFlag } from './red-flag.ts';

/** Everything the core can ask for. A closed union, told apart by `kind`; adapters render it, the runtime does it. */

/** On every message sent under a clock that was moved for a demonstration. */
const mark = { mark: z.literal('demonstration').optional() } as const;

const words = z.string().min(1);

export const OfferedChoice = z.strictObject({ id: z.string(), label: z.string() });
export type OfferedChoice = z.infer<typeof OfferedChoice>;

/** What the plan still expects from here: community currency, hands-on minutes, and the chance that it works again. */
export const PlanFigures = z.strictObject({
  /** Minutes, waiting, money and whoever takes over, as one sum of money. */
  cost: z.number(),
  minutes: z.number(),
  wait: z.number(),
  money: z.number(),
  chance: z.number(),
  currency: z.string(),
});
export type PlanFigures = z.infer<typeof PlanFigures>;

export const Ask = z.strictObject({
  ...mark,
  kind: z.literal('ask'),
  /** Names this question in this case: a later tap on it can be told from a tap on the open one. */
  key: z.string(),
  /** The flow's id of the check, remedy, stage, proof point or detail; or the core's own (`complaint`, `level`, …). */
  step: z.string(),
  /** What the question is about. `do` asks for an action, `test` whether it works now, `follow-up` how it went on. */
  phase: z.enum([
    'intake',
    'safety',
    'open',
    'part',
    'check',
    'do',
    'test',
    'again',
    'flag',
    'choice',
    'follow-up',
  ]),
  /** How many steps were asked so far in this case, this one included. */
  number: z.number().int(),
  title: words,
  hazards: z.array(Hazard),
  how: z.array(words),
  /** What a unit does, the first time it is named; what else is worth doing while it is open. */
  notes: z.array(words),
  question: words,
  tools: z.array(words),
  /** Hands-on minutes of this step with what has to be opened for it, and minutes of waiting. */
  minutes: z.number(),
  wait: z.number(),
  choices: z.array(OfferedChoice),
  controls: z.array(Control),
  /** Present when a number is wanted: typed freely or through a form. */
  reading: z
    .strictObject({ unit: z.string(), current: z.enum(['dc', 'ac']).optional(), example: z.string() })
    .optional(),
  photo: words.optional(),
  plan: PlanFigures.optional(),
});
export type Ask = z.infer<typeof Ask>;

export const Say = z.strictObject({
  ...mark,
  kind: z.literal('say'),
  words,
  list: z.array(words).optional(),
  /** The list is numbered from 1, so that its lines can be named. */
  numbered: z.literal(true).optional(),
});
export const Warn = z.strictObject({
  ...mark,
  kind: z.literal('warn'),
  word: SignalWord,
  flag: RedFlag.optional(),
  /** The one instruction that matters, first. */
  instruction: words,
  words: z.string(),
});

/** What a picture shows; drawn by `src/pictures/`, told in words by `alt`. */
export const Picture = z.strictObject({
  flow: z.string(),
  suspects: z.array(z.strictObject({ fault: z.string(), name: z.string(), share: z.number() })),
  marks: z.array(z.string()),
});
export type Picture = z.infer<typeof Picture>;
export const Show = z.strictObject({
  ...mark,
  kind: z.literal('show'),
  picture: Picture,
  alt: words,
});
/** The job card to print: a file where a platform takes files, the card in words where not. */
export const Paper = z.strictObject({
  ...mark,
  kind: z.literal('paper'),
  words,
  /** Markdown. */
  card: words,
  picture: Picture.optional(),
});
export type Paper = z.infer<typeof Paper>;
export const FormField = z.strictObject({
  /** Name of what is filled in: `reading`, or a field of the act (`shared/inbound.ts`). */
  id: z.string(),
  label: words,
  /** One line, several lines, or one of `options`. */
  kind: z.enum(['line', 'words', 'choice']),
  example: z.string(),
  optional: z.literal(true).optional(),
  options: z.array(OfferedChoice).optional(),
});
export type FormField = z.infer<typeof FormField>;

/** Shown to one person at once, never through the outbox. Filled in it comes back as `measured` or `acted`. */
export const Form = z.strictObject({
  ...mark,
  kind: z.literal('form'),
  /** Of the open question, for a reading; else the act's name. */
  key: z.string(),
  to: z.string(),
  form: FormName,
  title: words,
  fields: z.array(FormField).min(1).max(5),
});
export type Form = z.infer<typeof Form>;

/** Private, to one person; answered at once where the platform waits for an answer. */
export const Whisper = z.strictObject({ ...mark, kind: z.literal('whisper'), to: z.string(), words });
export type Whisper = z.infer<typeof Whisper>;

export const Amend = z.strictObject({
  ...mark,
  kind: z.literal('amend'),
  /** The question whose message changes: it loses its answers and shows what was said, and by whom. */
  key: z.string(),
  /** Of that question. */
  number: z.number().int(),
  title: words,
  words,
  /** Name of who answered; absent where nobody did. */
  by: z.string().optional(),
});

/** Acts that menders can tap; `take-here`: the appliance is in front of them. */
export const BenchAct = z.enum([
  'card',
  'print',
  'similar',
  'take',
  'take-here',
  'advise',
  'result',
  'correct',
  'clear',
  'unflag',
  'safety',
  'back',
  'settle',
]);
export type BenchAct = z.infer<typeof BenchAct>;

/**
 * A case on the list of menders: one message in their channel, which a later one with the same key replaces. `alert`
 * stands beside it, for a sign of danger, and is never replaced.
 */
export const Bench = z.strictObject({
  ...mark,
  kind: z.literal('bench'),
  key: z.string(),
  state: z.enum(['waiting', 'taken', 'left', 'alert']),
  danger: z.boolean(),
  /** What it is and why it is here, on one line each. */
  title: words,
  words,
  /** When it was handed over, milliseconds. */
  since: z.number().int(),
  /** Markdown; empty for `alert` and `left`. */
  card: z.string(),
  acts: z.array(BenchAct),
});
export type Bench = z.infer<typeof Bench>;
export const Remind = z.strictObject({
  ...mark,
  kind: z.literal('remind'),
  key: z.string(),
  due: z.number().int(),
  reason: words,
  /** To ask again if nobody has answered by then: nobody waits for it. */
  later: z.literal(true).optional(),
});
export const Unremind = z.strictObject({ ...mark, kind: z.literal('unremind'), key: z.string() });

export const HandoverReason = z.enum([
  'asked',
  'red-flag',
  'refused',
  'stopped-paying',
  'fits-nothing',
  'stuck',
  /** It works, and is not safe. */
  'failed-test',
  /** The flow of this appliance is no longer here. */
  'no-guide',
  /** A message could not be delivered, so nobody knows what the person has read. */
  'undelivered',
]);
export type HandoverReason = z.infer<typeof HandoverReason>;

export const Handover = z.strictObject({
  ...mark,
  kind: z.literal('handover'),
  reason: HandoverReason,
  danger: z.boolean(),
  words,
  /** What the bot would do next, when something stands in the way; the flow's id. */
  next: z.string().optional(),
  fault: z.string().optional(),
  belief: z.number().optional(),
  card: words,
});
export const Settle = z.strictObject({
  ...mark,
  kind: z.literal('settle'),
  outcome: RepairOutcome,
  /** The flow's id of the fault most believed; null when nothing is. */
  fault: z.string().nullable(),
  belief: z.number().nullable(),
  barrier: Barrier.optional(),
  words,
  card: words,
});

export const Outbound = z.discriminatedUnion('kind', [
  Say,
  Ask,
  Warn,
  Show,
  Paper,
  Form,
  Whisper,
  Amend,
  Remind,
  Unremind,
  Handover,
  Settle,
  Bench,
]);
export type Outbound = z.infer<typeof Outbound>;

/** The name under which a message can be changed later; null for what stands as it was said. */
export const keyOf = (outbound: Outbound): string | null =>
  outbound.kind === 'ask' || outbound.kind === 'bench' ? outbound.key : null;

/** The name of the message that this one changes, where it was posted; null for what is new. */
export const changes = (outbound: Outbound): string | null =>
  outbound.kind === 'amend' || outbound.kind === 'bench' ? outbound.key : null;
