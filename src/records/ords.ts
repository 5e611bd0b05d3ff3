import { createHash, createHmac } from 'node:crypto';
import { z } from 'zod';
import type { Community } from '../../shared/community.ts';
import type { Flow } from '../../shared/flow.ts';
import { Barrier, RepairOutcome } from '../../shared/outcome.ts';
import type { SettledCase } from '../outcomes/settled.ts';
import { dayIn } from './day.ts';
import { leadsToPerson } from './leads-to-person.ts';

/**
 * Records of the Open Repair Data Standard, version 0.3 (Open Repair Alliance, CC BY-SA 4.0): its columns in the order in which
 * the alliance publishes them, its code lists, its formats.
 */
export const columns = [
  'id',
  'data_provider',
  'country',
  'partner_product_category',
  'product_category',
  'product_category_id',
  'brand',
  'year_of_manufacture',
  'product_age',
  'repair_status',
  'repair_barrier_if_end_of_life',
  'group_identifier',
  'event_date',
  'problem',
] as const;

/** Product categories by their numbers, 1 to 40. */
export const categories = [
  'Aircon/dehumidifier',
  'Battery/charger/adapter',
  'Decorative or safety lights',
  'Desktop computer',
  'Digital compact camera',
  'DSLR/video camera',
  'Fan',
  'Flat screen',
  'Hair & beauty item',
  'Handheld entertainment device',
  'Headphones',
  'Hi-Fi integrated',
  'Hi-Fi separates',
  'Kettle',
  'Lamp',
  'Laptop',
  'Large home electrical',
  'Misc',
  'Mobile',
  'Musical instrument',
  'Paper shredder',
  'PC accessory',
  'Portable radio',
  'Power tool',
  'Printer/scanner',
  'Projector',
  'Sewing machine',
  'Small home electrical',
  'Small kitchen item',
  'Tablet',
  'Toaster',
  'Toy',
  'TV and gaming-related accessories',
  'Vacuum',
  'Watch/clock',
  'Coffee maker',
  'Food processor',
  'Games console',
  'Hair dryer',
  'Iron',
] as const;
export type Category = (typeof categories)[number];

const text = z
  .string()
  .min(1)
  .max(500)
  // A formula behind a space is one to some table programs.
  .refine((words) => words === words.trim(), 'it begins or ends with a space')
  .refine((words) => !leadsToPerson(words), 'it may lead to a person');

/** One record, as it is written. Empty is "not known". */
export const Record = z
  .strictObject({
    /** The published table schema has a hyphen here; the published rows, all that were looked at, have this. */
    id: z.string().regex(/^[a-z]+_[0-9]+$/),
    data_provider: text,
    country: z.string().regex(/^[A-Z]{3}$/),
    partner_product_category: text,
    product_category: z.enum(categories),
    product_category_id: z.number().int().min(1).max(categories.length),
    brand: z.literal(''),
    year_of_manufacture: z.union([z.literal(''), z.string().regex(/^\d{4}$/)]),
    product_age: z.union([z.literal(''), z.number().min(0).max(200)]),
    repair_status: RepairOutcome,
    repair_barrier_if_end_of_life: z.union([z.literal(''), Barrier]),
    group_identifier: text,
    event_date: z.iso.date(),
    problem: text,
  })
  .refine((one) => one.repair_barrier_if_end_of_life === '' || one.repair_status === 'End of life', {
    message: 'a barrier goes with End of life only',
  })
  .refine((one) => categories[one.product_category_id - 1] === one.product_category, {
    message: 'the number is another category’s',
  });
export type Record = z.infer<typeof Record>;

/** What a record says of the community it comes from: `name` is both provider and group. */
export type Publisher = Pick<Community, 'name' | 'country' | 'time_zone'>;

/** The standard's category of a flow; what it does not know is miscellaneous. */
export const categoryOf = (flow: Flow): Category => categories.find((one) => one === flow.category) ?? 'Misc';

/**
 * A settled case as a record. Throws ZodError where it would not keep to the standard. With a `secret` of the community nobody
 * else can tell a case from its record's id; without one, whoever knows a case's own id can work out its record's.
 */
export function recordOf(settled: SettledCase, flow: Flow, community: Publisher, secret?: string): Record {
  const category = categoryOf(flow);
  return Record.parse({
    id: `${provider(community)}_${numberOf(settled.id, secret)}`,
    data_provider: community.name,
    country: community.country.code,
    partner_product_category: flow.title,
    product_category: category,
    product_category_id: categories.indexOf(category) + 1,
    brand: '',
    year_of_manufacture: '',
    product_age: '',
    repair_status: settled.outcome,
    repair_barrier_if_end_of_life: settled.barrier ?? '',
    group_identifier: community.name,
    event_date: dayIn(settled.settled, community.time_zone),
    problem: problemOf(settled, flow),
  });
}

const provider = ({ name }: Publisher): string =>
  name
    .toLowerCase()
    .replace(/[^a-z]/g, '')
    .slice(0, 20) || 'desk';

/** The same case always has the same number: 48 bits, so that a million records hardly ever share one. */
const numberOf = (id: string, secret?: string): string => {
  const hash = secret === undefined ? createHash('sha256') : createHmac('sha256', secret);
  return String(BigInt(`0x${hash.update(`record:${id}`).digest('hex').slice(0, 12)}`));
};

/** Composed from the flow's words; nothing of what anybody wrote. */
function problemOf(settled: SettledCase, flow: Flow): string {
  const named = (list: readonly { readonly id: string; readonly name: string }[], id: string): string =>
    list.find((one) => one.id === id)?.name ?? id;
  const complaint = flow.complaints.find(({ id }) => id === settled.complaint)?.label ?? 'Another complaint';
  const fault = settled.fault === null ? null : named(flow.faults, settled.fault);
  const tried = [...new Set(settled.tried.map(({ remedy }) => named(flow.remedies, remedy)))];
  const found = fault === null ? '' : ` ${settled.confirmed === null ? 'Most likely' : 'Found'}: ${fault}.`;
  const safety =
    settled.safety === null ? '' : ` Electrical test ${settled.safety === 'passed' ? 'passed' : 'not done'}.`;
  const words = `${complaint}.${found}${tried.length > 0 ? ` Tried: ${tried.join('; ')}.` : ''}${safety}`;
  return words.length <= 500 ? words : `${words.slice(0, 499)}…`;
}
