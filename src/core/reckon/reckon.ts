import type { ReckonName } from '../../../shared/flow.ts';
import { discharge, energy } from './charge.ts';
import { ledResistor, pwm, string } from './light.ts';
import { element, fuse } from './mains.ts';
import { bands, battery, code, divider } from './parts.ts';
import type { Place, Sum, Unclear, Worked } from './sum.ts';

/** The sums of the work, each with its formula and its caution. Pure. */
export const sums: Readonly<Record<ReckonName, Sum>> = {
  discharge,
  energy,
  'led-resistor': ledResistor,
  string,
  element,
  divider,
  fuse,
  bands,
  code,
  pwm,
  battery,
};

/** `typed`: the sum's name and its numbers, such as `element 2200 W 230 V`. */
export function reckon(typed: string, place: Place): Worked | Unclear {
  const [first = ''] = typed.trim().split(/\s+/);
  const name = first.toLowerCase();
  if (!Object.hasOwn(sums, name)) return { why: `I know these: ${Object.keys(sums).join(', ')}.` };
  const sum = sums[name as ReckonName];
  const worked = sum.work(typed.trim().slice(first.length).trim(), place);
  return 'why' in worked ? { why: `${worked.why} For example: ${sum.example}` } : worked;
}
