import type { SafetyTest } from '../../../shared/case.ts';
import { parseReading } from './reading.ts';

/** What an appliance tester showed, as people type it: ohm for the earth, Mohm for the insulation. */
export type TesterReading =
  | { readonly result: 'measured'; readonly value: number }
  /** More than it can show. */
  | { readonly result: 'over'; readonly value: null }
  | { readonly why: string };

const mega = 1e6;

export function readTester(test: SafetyTest, typed: string): TesterReading {
  if (test !== 'earth' && test !== 'insulation') return { why: 'Please choose one of the answers here.' };
  const over = /^\s*(?:>|over|more than)/i.test(typed);
  const figure = typed.replace(/^\s*(?:[>≥]=?|more than)\s*/i, '');
  const parsed = parseReading(figure, { unit: 'ohm', min: 0, max: 1e13 });
  switch (parsed.kind) {
    case 'unclear':
      return { why: parsed.why };
    case 'beep':
      return { why: 'A beep is not enough here: please type the number that the tester shows.' };
    case 'over':
      return { result: 'over', value: null };
    case 'value': {
      const { value } = parsed.reading;
      if (test === 'earth') return over ? { result: 'over', value: null } : { result: 'measured', value };
      // Testers show Mohm, and most people leave that out. Nobody means a few ohm by it.
      // A number without a unit would be read as watts as well.
      const bare = parseReading(figure, { unit: 'W', min: 0, max: 1e13 }).kind === 'value';
      const typedMega = bare && value < 1e5;
      return { result: 'measured', value: typedMega ? value : value / mega };
    }
  }
}
