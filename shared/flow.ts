import { z } from 'zod';

/**
 * The shape of a flow: one kind of appliance as a fault model that repairers read and correct. Written as YAML in
 * `flows/`, parsed once by `src/flows.ts`, which also checks what a schema cannot (names that must exist, sums).
 */

const id = z
  .string()
  .regex(
    /^[a-z][a-z0-9]*(-[a-z0-9]+)*$/,
    'an id is small letters, digits and single hyphens, such as "torch-test"',
  )
  .max(40);
const text = z.string().trim().min(1).max(600);
const label = z.string().trim().min(1).max(70);
const lines = z.array(text).min(1).max(12);
const probability = z.number().min(0).max(1);
const minutes = z.number().min(0).max(100_000);

/** Where a number comes from, in words: a published source, the open repair data, common practice, or an estimate. */
export const Source = z.string().trim().min(3).max(300);

/**
 * Probabilities by fault, given sparsely: a fault's id or a group's name, and `otherwise` for all that are not named.
 * A fault's own line wins over its group's.
 */
export const Sparse = z.record(z.string(), probability);
export type Sparse = z.infer<typeof Sparse>;

/** Signal words as ANSI Z535 defines them. NOTICE is not about injury. */
export const SignalWord = z.enum(['DANGER', 'WARNING', 'CAUTION', 'NOTICE']);
export type SignalWord = z.infer<typeof SignalWord>;
export const Hazard = z.strictObject({ word: SignalWord, text });
export type Hazard = z.infer<typeof Hazard>;

export const Level = z.enum(['new', 'handy', 'trained']);
export type Level = z.infer<typeof Level>;
export const Tier = z.enum(['outside', 'cold', 'live']);
export type Tier = z.infer<typeof Tier>;

/** A price range in a currency, with the day it was looked at. */
export const Price = z.strictObject({
  low: z.number().min(0),
  high: z.number().min(0),
  currency: z.string().regex(/^[A-Z]{3}$/, 'a currency is three capitals, such as USD'),
  dated: z.string().regex(/^\d{4}-\d{2}(-\d{2})?$/, 'a date is YYYY-MM or YYYY-MM-DD'),
  source: Source,
});
export type Price = z.infer<typeof Price>;

/** Applies only while each named question (`complaint` or a detail) was answered with one of the listed ids. */
export const When = z.record(z.string(), z.array(id).min(1));
export type When = z.infer<typeof When>;

/** What an answer forbids, for good: nothing behind a stage, or nothing live, or no opening at all (`outside`). */
export const Limit = z.strictObject({
  deepest: z.string().optional(),
  live: z.literal('never').optional(),
  why: text,
});
export type Limit = z.infer<typeof Limit>;

export const Complaint = z.strictObject({
  id,
  label,
  /** Patterns over `ideas`; see flows/README.md. */
  words: z.array(z.string().trim().min(1).max(200)).default([]),
  /** Patterns that rule it out. */
  never: z.array(z.string().trim().min(1).max(200)).default([]),
  likely: Sparse,
  source: Source,
});

/** Something worth knowing about the appliance before work begins. */
export const Detail = z.strictObject({
  id,
  ask: text,
  how: lines.optional(),
  why: text,
  /** `first`: right after the complaint. `inside`: before the first step inside. `part`: before a part is bought. */
  before: z.enum(['first', 'inside', 'part']),
  /** The choices are makes or models: earlier cases that agree in them count for more. */
  names: z.enum(['make', 'model']).optional(),
  choices: z
    .array(
      z.strictObject({
        id,
        label,
        say: text.optional(),
        likely: Sparse.optional(),
        limit: Limit.optional(),
        /** This answer ends the desk's part at once: what to do instead. */
        stop: text.optional(),
        /** What "not sure" and "can't do this" are taken for. */
        not_known: z.literal(true).optional(),
        source: Source.optional(),
      }),
    )
    .min(2)
    .max(12),
});
export type Detail = z.infer<typeof Detail>;

/** How a part is told from its look-alikes, and what it costs. */
export const Part = z.strictObject({ name: label, match: lines, price: Price });
export type Part = z.infer<typeof Part>;

export const Fault = z.strictObject({
  id,
  name: label,
  /** One sentence for somebody who has never opened one. */
  plain: text,
  weight: z.number().positive(),
  source: Source,
  mends: text,
  /** Who answers this fault when no remedy does: people, or a replacement. */
  ends: z.enum(['people', 'replace']),
  /** Parts of the map under suspicion. */
  marks: z.array(id).default([]),
});
export type Fault = z.infer<typeof Fault>;

/** A cover or stage that has to be opened, in order from the outside. */
export const Access = z.strictObject({
  id,
  name: label,
  /** The stage it lies behind; absent: the outside. */
  behind: id.optional(),
  open: z.strictObject({ minutes, how: lines }),
  close: z.strictObject({ minutes, how: lines }),
  tools: z.array(label).default([]),
  people: z.number().int().min(1).max(4).default(1),
  hazards: z.array(Hazard).min(1),
  source: Source,
});
export type Access = z.infer<typeof Access>;

const action = {
  id,
  name: label,
  how: lines,
  /** `outside` or the id of an access stage. */
  access: z.string(),
  minutes,
  wait_minutes: minutes.default(0),
  tools: z.array(label).default([]),
  people: z.number().int().min(1).max(4).default(1),
  /** Needs more skill than the tier says, such as soldering. */
  least: Level.optional(),
  hazards: z.array(Hazard).default([]),
  /** For live work: what can bite, and where. */
  bites: text.optional(),
  when: When.optional(),
  /** Any one of these findings makes the step possible. */
  needs: z.array(z.strictObject({ check: id, outcome: id })).optional(),
  /** Parts and leads of the map that the step concerns. */
  marks: z.array(id).default([]),
  source: Source,
} as const;

/** One expected value with its tolerance (half-width, taken as two standard deviations), or an even range. */
export const Expectation = z.union([
  z.strictObject({
    at: z.union([z.number(), z.literal('mains-peak'), z.literal('mains')]),
    within: z.number().positive(),
    share: probability.default(1),
  }),
  z.strictObject({ from: z.number(), to: z.number(), share: probability.default(1) }),
]);
export type Expectation = z.infer<typeof Expectation>;

/** Found this, nobody switches it on any more, until one of these remedies was done. */
const Unsafe = z.strictObject({ why: text, until: z.array(id).default([]) });
export type Unsafe = z.infer<typeof Unsafe>;

/** A check answered with a number: what each fault would make the meter show, and bands for planning and tapping. */
export const ReadingModel = z.strictObject({
  unit: z.enum(['V', 'A', 'ohm', 'F', 'W', 'Hz', 'C', 's']),
  current: z.enum(['dc', 'ac']).optional(),
  /** The meter can show this much; also the range of the outlier share. */
  min: z.number(),
  max: z.number(),
  /** The meter's own tolerance, as a share of the reading (two standard deviations). */
  meter: z.number().min(0).max(0.2).default(0.01),
  /** Share of readings that mean nothing: a slipped probe, the wrong range. */
  outliers: probability.default(0.03),
  expect: z.record(z.string(), z.union([Expectation, z.array(Expectation).min(1)])),
  /** Bands from low to high; each ends below `below`, the last has none. */
  bands: z
    .array(
      z.strictObject({
        id,
        label,
        below: z.union([z.number(), z.literal('mains-peak')]).optional(),
        unsafe: Unsafe.optional(),
      }),
    )
    .min(2)
    .max(5),
});
export type ReadingModel = z.infer<typeof ReadingModel>;

export const Outcome = z.strictObject({
  id,
  label,
  /** P(this outcome | fault). The one outcome with `rest: true` takes what the others leave. */
  likely: Sparse.optional(),
  rest: z.literal(true).optional(),
  unsafe: Unsafe.optional(),
});

export type Outcome = z.infer<typeof Outcome>;

/** The sums of `reckon`: see `src/core/reckon/`. */
export const ReckonName = z.enum([
  'discharge',
  'energy',
  'led-resistor',
  'string',
  'element',
  'divider',
  'fuse',
  'bands',
  'code',
  'pwm',
  'battery',
]);
export type ReckonName = z.infer<typeof ReckonName>;

/** A look, a test or a reading. `look`: prepared inside without power, then closed, powered and seen from the front. */
export const Check = z.strictObject({
  ...action,
  ask: text,
  why: text,
  power: z.enum(['off', 'on', 'look']),
  outcomes: z.array(Outcome).min(2).max(8).optional(),
  reading: ReadingModel.optional(),
  photo: text.optional(),
  /** For `look`: how to put it back the next time the appliance is open. */
  restore: text.optional(),
  /** A sum that helps here. */
  reckon: ReckonName.optional(),
});
export type Check = z.infer<typeof Check>;

export const Remedy = z.strictObject({
  ...action,
  why: text,
  /** P(it works afterwards | fault), by fault or group; not named: it cures nothing there. */
  cures: Sparse,
  part: Part.optional(),
  /** Its effect has to be seen before anything else is done. */
  alone: z.boolean().default(false),
  times: z.number().int().min(1).max(5).default(1),
  /** What to do afterwards so that it lasts. */
  afterwards: text.optional(),
});
export type Remedy = z.infer<typeof Remedy>;

/** Where parts and leads lie, for pictures; units are the map's own. */
export const ApplianceMap = z.strictObject({
  width: z.number().positive(),
  height: z.number().positive(),
  parts: z.array(
    z.strictObject({
      id,
      label,
      stage: z.string(),
      x: z.number(),
      y: z.number(),
      width: z.number().positive(),
      height: z.number().positive(),
    }),
  ),
  leads: z.array(z.strictObject({ id, label, from: id, to: id })).default([]),
});

export const StoredEnergy = z.discriminatedUnion('stores', [
  z.strictObject({ stores: z.literal('none') }),
  z.strictObject({
    stores: z.literal('capacitors'),
    wait_minutes: z.number().min(1),
    /** Hands-on minutes of the whole proof. */
    minutes,
    /** Where the meter goes, each with its words. */
    points: z.array(z.strictObject({ id, name: label, how: text, marks: z.array(id).default([]) })).min(1),
    source: Source,
  }),
  z.strictObject({
    stores: z.enum(['battery', 'spring', 'heat', 'pressure']),
    wait_minutes: minutes,
    minutes,
    /** What proves it safe: done, looked at, and said so. */
    proof: z.array(z.strictObject({ id, name: label, how: text })).min(1),
    source: Source,
  }),
]);
export type StoredEnergy = z.infer<typeof StoredEnergy>;

/** What protects people from its mains side: decides what is measured before an opened appliance goes home. */
export const Protection = z.strictObject({
  /**
   * The classes met on this kind of appliance (IEC 61140): 1 has an earth, 2 is double insulated and has the double square
   * on its plate, 3 gets extra-low voltage from outside. Several: whoever tests it is asked which.
   */
  classes: z
    .array(z.union([z.literal(1), z.literal(2), z.literal(3)]))
    .min(1)
    .max(3),
  /** Has heating elements: less insulation is allowed, a little more leaks. Kilowatts of the largest met. */
  heater_kw: z.number().positive().max(20).optional(),
  /** What is run, and what is seen, when its function is tested. */
  function: text,
  source: Source,
});
export type Protection = z.infer<typeof Protection>;

export const Flow = z.strictObject({
  flow: id,
  version: z.number().int().min(1),
  title: label,
  /** "your ___": the appliance in a sentence. */
  noun: label,
  /** Words people use for it. */
  names: z.array(z.string().trim().min(2)).min(1),
  /** Category of the Open Repair Data Standard. */
  category: label,
  mains: z.boolean(),
  /** For appliances that no flow knows: dead on the mains, or on its battery. Proposed only when nothing else fits. */
  general: z.enum(['mains', 'battery']).optional(),
  /** Never opened on this desk's advice, whoever asks: why, and who may. Everything in the flow is done from outside. */
  never_open: z.strictObject({ why: text, who: text }).optional(),
  energy: StoredEnergy,
  /** What each unit inside does, in a sentence, told when it is first named. */
  glossary: z.record(z.string(), text).default({}),
  groups: z.record(id, z.array(id).min(1)).default({}),
  ideas: z.record(id, z.array(z.string().trim().min(1)).min(1)).default({}),
  complaints: z.array(Complaint).min(1),
  details: z.array(Detail).default([]),
  faults: z.array(Fault).min(2).max(200),
  access: z.array(Access).max(30).default([]),
  checks: z.array(Check).min(1),
  remedies: z.array(Remedy).min(1),
  /** The fixed order in which a printed flow sheet would go: step ids, with jumps after some outcomes. */
  sheet: z
    .array(
      z.union([
        id,
        z.strictObject({ step: id, jumps: z.array(z.strictObject({ outcome: id, to: id })).min(1) }),
      ]),
    )
    .min(1),
  map: ApplianceMap,
  replace: z.strictObject({ price: Price, say: text }),
  /** Before it goes back into use, when it was opened. */
  closing: z.array(text).default([]),
  protection: Protection.optional(),
  references: z.array(text).default([]),
});
export type Flow = z.infer<typeof Flow>;
