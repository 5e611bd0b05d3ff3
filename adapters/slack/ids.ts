import { z } from 'zod';
import { Control, FormName } from '../../shared/inbound.ts';
import { BenchAct } from '../../shared/outbound.ts';

/**
 * What a tap means, as JSON in the `value` of a button or an option (at most 2000 and 150 characters), and what a form was
 * opened for, in its `private_metadata` (3000). Both come back from anybody's client, so they are read with care.
 */
const thread = z.string().regex(/^slack:[A-Z0-9]{1,30}\/\d{1,15}\.\d{1,10}$/);

export const Tapped = z.discriminatedUnion('t', [
  z.strictObject({ t: z.literal('answer'), key: z.string().max(200), answer: z.string().max(200) }),
  z.strictObject({ t: z.literal('control'), control: Control }),
  z.strictObject({ t: z.literal('reading'), key: z.string().max(200) }),
  z.strictObject({ t: z.literal('bench'), act: BenchAct, thread }),
  z.strictObject({ t: z.literal('offer'), yes: z.boolean(), to: z.string().max(40), ts: z.string().max(40) }),
  z.strictObject({ t: z.literal('forget') }),
  z.strictObject({ t: z.literal('numbers'), flow: z.string().max(60) }),
]);
export type Tapped = z.infer<typeof Tapped>;

export const FormFor = z.strictObject({ thread, form: FormName, key: z.string().max(200) });
export type FormFor = z.infer<typeof FormFor>;

export const write = (what: Tapped | FormFor): string => JSON.stringify(what);

export const readTap = (value: string): Tapped | null => read(Tapped, value);
export const readForm = (value: string): FormFor | null => read(FormFor, value);

function read<T>(schema: z.ZodType<T>, value: string): T | null {
  try {
    return schema.safeParse(JSON.parse(value)).data ?? null;
  } catch {
    return null;
  }
}
