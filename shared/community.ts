import { z } from 'zod';

/** Everything about one community: what its file may say. Secrets are never here; they come from the environment. */

const share = z.number().min(0).max(1);
const amount = z.number().min(0).max(1_000_000);
const text = z.string().trim().min(1).max(500);
const currency = z.string().regex(/^[A-Z]{3}$/, 'a currency is three capitals, such as EUR');

export const Country = z.strictObject({
  /** ISO 3166-1, three letters, as the Open Repair Data Standard wants it. */
  code: z.string().regex(/^[A-Z]{3}$/, 'a country is three capitals, such as GBR'),
  mains_volts: z.number().min(100).max(240),
  emergency: text,
  plug: text,
  fuses: text,
});

/** People to point to: a café with its dates, a local repairer, a licensed electrician. */
export const Helper = z.strictObject({
  name: text,
  what: text,
  when: text.optional(),
  where: text.optional(),
});

export const Reliability = z
  .strictObject({
    new: share.default(0.9),
    handy: share.default(0.95),
    trained: share.default(0.98),
  })
  .prefault({});

export const Community = z.strictObject({
  name: text,
  country: Country,
  currency,
  /** One unit of another currency in the community's own, for prices that flows state. */
  rates: z.record(currency, z.number().positive()).default({}),
  /** Value of an hour of hands-on work. */
  hour: amount,
  /** A minute of waiting counts as this share of a minute of work. */
  waiting: share.default(0.05),
  /** Price of handing a case to people: a café visit with the way there, or a professional's look. */
  referral: amount,
  people: z.array(Helper).min(1),
  follow_up_days: z.number().int().min(1).max(365).default(14),
  languages: z.array(z.string()).default(['en']),
  /** A settled case keeps people's words so long. */
  retention_days: z.number().int().min(1).max(36_500).default(730),
  /** How long backups of people's keys are kept: so long can an erased person's words still be brought back. */
  key_backup_days: z.number().int().min(1).max(365).default(7),
  /** How much an answer is trusted, by the level of who gives it. */
  reliability: Reliability,
  /** Probability floor of every likelihood. */
  floor: z.number().gt(0).max(0.05).default(0.002),
  /** A case is handed over when so many steps could not be done or answered in a row. */
  stuck_after: z.number().int().min(1).max(20).default(4),
  /** Nats of conflict between the answers above which one of them is asked again. */
  conflict: z.number().min(0).max(20).default(1.5),
  /** Belief in "something else" above which people are called. */
  fits_nothing: share.default(0.6),
  /** The platforms' own keys; their adapters read them. */
  discord: z.record(z.string(), z.unknown()).optional(),
  slack: z.record(z.string(), z.unknown()).optional(),
});
export type Community = z.infer<typeof Community>;
