import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { z } from 'zod';
import type { Case } from '../../shared/case.ts';
import { Community } from '../../shared/community.ts';
import { Learnt } from '../learning/learnt.ts';

/**
 * A report is lines of JSON: a header, a case's events one a line, and the SHA-256 of the folded case's JSON text. With the
 * same program, flow and community the same case has to come out, byte for byte.
 */
export const reportName = 'mendthread report';

/** What decisions rest on; no names of people, no secrets. */
export const ReportCommunity = Community.pick({
  country: true,
  currency: true,
  rates: true,
  hour: true,
  waiting: true,
  referral: true,
  follow_up_days: true,
  follow_up_hours: true,
  time_zone: true,
  reliability: true,
  floor: true,
  stuck_after: true,
  conflict: true,
  fits_nothing: true,
});
export type ReportCommunity = z.infer<typeof ReportCommunity>;

/** A version's name, or an id: short, and on one line. */
const short = z.string().max(200);

export const ReportHeader = z.strictObject({
  format: z.literal(reportName),
  version: z.literal(1),
  program: short,
  /** Milliseconds. */
  made: z.number().int(),
  thread: z.string().max(200),
  /** Whether words, names, pictures and ids of people are in it. */
  words: z.boolean(),
  flow: z
    .strictObject({ flow: short, version: z.number().int().nullable(), follows: z.number().int().nullable() })
    .nullable(),
  community: ReportCommunity,
  /** The accepted numbers that the case goes by, without who accepted them; absent: the file's, or they are not known any more. */
  learnt: Learnt.optional(),
  /** How much the plan may think in one turn. */
  budget: z.number().int().min(1).max(20_000_000),
});
export type ReportHeader = z.infer<typeof ReportHeader>;

export const ReportEnd = z.strictObject({ case: z.string().regex(/^[0-9a-f]{64}$/) });

export const sumOf = (kase: Case): string => createHash('sha256').update(JSON.stringify(kase)).digest('hex');

export const programVersion = (): string =>
  (
    JSON.parse(readFileSync(join(import.meta.dirname, '..', '..', 'package.json'), 'utf8')) as {
      version: string;
    }
  ).version;
