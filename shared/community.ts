import { z } from 'zod';

/** Everything about one community: what its file may say. Secrets are never here; they come from the environment. */

function isTimeZone(name: string): boolean {
  try {
    new Intl.DateTimeFormat('en', { timeZone: name });
    return true;
  } catch {
    return false;
  }
}

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

/**
 * How the desk learns from its settled cases: as how many cases a flow's file counts, and how soon cases are old (appliances of a kind
 * are sold for some years). If a fault's weight is off by the factor exp(b N(0, 1)), its share p varies by p² b² (1 - p)² or so, and a
 * Dirichlet that varies so has strength (1 / b²) / (p (1 - p)): for p = .15, 87 cases at b = .3 and 196 at b = .2. The larger one
 * forgoes little where the file is far off; where it is right or nearly so, it keeps the chance of fifty cases from making the desk
 * worse, which 20 does not (`tests/learning/recovery.test.ts`).
 */
const cases = z.number().positive().max(1_000_000);
export const Learning = z
  .strictObject({
    /** Days after which a case counts half; null: cases do not age. */
    half_life_days: z.number().min(1).max(36_500).nullable().default(1461),
    strengths: z
      .strictObject({
        faults: cases.default(200),
        complaints: cases.default(200),
        cures: cases.default(100),
        outcomes: cases.default(100),
        /** Of one make or model: as how many cases the community's figure counts. */
        pooling: cases.default(20),
      })
      .prefault({}),
    /** A detail of flows whose choices (makes, models) get faults of their own; null: none. */
    by: z.string().max(60).nullable().default(null),
  })
  .prefault({});
export type Learning = z.infer<typeof Learning>;

/** A name or an id, as the platform has it. */
const named = z.string().trim().min(1).max(100);
const many = z.array(named).max(50).default([]);

export const DiscordPlace = z.strictObject({
  /** Id of the server. */
  guild: z
    .string()
    .regex(/^\d{15,21}$/, 'the id of a Discord server is a long number; copy it from the server itself'),
  /** Forums and channels in which the bot offers help under a new post. */
  help_channels: many,
  review_channel: named.optional(),
  /** Roles whose people count as menders: trained, and heard in every case. */
  mender_roles: many,
  moderator_roles: many,
});
export type DiscordPlace = z.infer<typeof DiscordPlace>;

export const SlackPlace = z.strictObject({
  help_channels: many,
  review_channel: named.optional(),
  /** A user group by handle or id, or a list of users. */
  mender_group: z.union([named, many]).default([]),
  moderator_group: z.union([named, many]).default([]),
});
export type SlackPlace = z.infer<typeof SlackPlace>;

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
  /** Between which local hours the desk asks by itself how it went on: from the one, and no more from the other on. */
  follow_up_hours: z
    .strictObject({ from: z.number().int().min(0).max(23), to: z.number().int().min(1).max(24) })
    .refine(({ from, to }) => from < to, 'the first hour is before the last')
    .default({ from: 10, to: 19 }),
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
  /** Where the community's days begin and end, by the names of the IANA time zone database. */
  time_zone: z
    .string()
    .default('UTC')
    .refine(isTimeZone, 'that is no time zone; write one such as Europe/London'),
  /** At what hour menders get the list of what waits. */
  digest_hour: z.number().int().min(0).max(23).default(8),
  learning: Learning,
  discord: DiscordPlace.optional(),
  slack: SlackPlace.optional(),
});
export type Community = z.infer<typeof Community>;
