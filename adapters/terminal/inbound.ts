import type { Inbound } from '../../shared/inbound.ts';
import type { Ask, Outbound } from '../../shared/outbound.ts';
import { cleanLine } from './clean.ts';
import { choiceKey, controlTyped } from './keys.ts';

export type Form = Extract<Outbound, { kind: 'form' }>;

/** What a line is read against. */
export interface Scene {
  readonly opened: boolean;
  /** The latest question, and all so far by their keys. */
  readonly ask: Ask | null;
  readonly asks: ReadonlyMap<string, Ask>;
  /** A form that waits for its line. */
  readonly form: Form | null;
}

/** An inbound message before it is known who sends it, when, and where. */
export type Unaddressed<I = Inbound> = I extends Inbound
  ? Omit<I, 'id' | 'thread' | 'at' | 'by' | 'demonstration'>
  : never;

export type Envelope = Pick<Inbound, 'id' | 'thread' | 'at' | 'by' | 'demonstration'>;

/** What a typed line comes to. */
export type Heard =
  | { readonly kind: 'message'; readonly message: Unaddressed }
  | { readonly kind: 'advance'; readonly minutes: number }
  /** The open question once more, from the screen alone. */
  | { readonly kind: 'repeat' }
  | { readonly kind: 'leave' }
  | { readonly kind: 'nothing' }
  | { readonly kind: 'problem'; readonly sentence: string };

/** The most that a message may hold, by `shared/inbound.ts`. */
export const LONGEST_WORDS = 20_000;
export const LONGEST_ANSWER = 200;
export const LONGEST_READING = 2000;

const FIRST = 'Please say first what is wrong, in your own words.';
export const TOO_LONG = `That is longer than ${LONGEST_WORDS} characters: please say it in fewer words.`;

export function problem(sentence: string): Heard {
  return { kind: 'problem', sentence };
}

export function message(unaddressed: Unaddressed): Heard {
  return { kind: 'message', message: unaddressed };
}

/** A message as the desk takes it in. */
export function addressed(unaddressed: Unaddressed, envelope: Envelope): Inbound {
  return { ...unaddressed, ...envelope };
}

/** Free words: the first ones open the case. */
export function words(text: string, scene: Scene): Heard {
  if (text.length > LONGEST_WORDS) return problem(TOO_LONG);
  return message(
    scene.opened ? { kind: 'said', words: text } : { kind: 'opened', words: text, place: 'terminal' },
  );
}

const DIGITS = String.raw`\d+(?:[.,' ]\d+)*\.?|[.,]\d+|\d+[rkmuµnpv]\d+`;
const UNIT = String.raw`[pnuµμmkg]?(?:v|a|ω|Ω|r|f|w|hz|s|c)|°\s*c?|(?:milli|micro|nano|pico|kilo?|mega?)?-?(?:volts?|amps?|amperes?|ohms?|farads?|watts?|hertz)|kohms?|mohms?|degrees?|celsius|sec(?:onds?)?|[km]`;
const READING = new RegExp(
  String.raw`^(?:(?:about|around|ca\.?|~|≈)\s*)?[-+−]?\s*(?:(?:${DIGITS})|o\.?l\.?|overload)\s*(?:(?:${UNIT})\s*){0,2}(?:[ad]\.?c\.?)?$`,
  'iu',
);

/** Whether a line is a number, with or without a unit, or the meter's "OL". What it is worth, the desk decides. */
export function looksLikeReading(line: string): boolean {
  return line.length <= 60 && READING.test(line);
}

function chosen(line: string, ask: Ask): string | null {
  const typed = line.toLowerCase();
  const byKey = ask.choices.find((_, index) => typed.replace(/[.)]$/, '') === choiceKey(ask, index));
  if (byKey) return byKey.id;
  const byName = ask.choices.find(
    ({ id, label }) => id.toLowerCase() === typed || cleanLine(label).toLowerCase() === typed,
  );
  return byName?.id ?? null;
}

/** Reads a line that a person typed. */
export function hear(typed: string, scene: Scene): Heard {
  const line = cleanLine(typed);
  if (line === '') return { kind: 'nothing' };
  if (line.length > LONGEST_WORDS) return problem(TOO_LONG);
  const { ask, form } = scene;
  const control = controlTyped(line);
  if (!scene.opened) {
    if (control === 'stop') return { kind: 'leave' };
    return control || line === '?' ? problem(FIRST) : words(line, scene);
  }
  if (line === '?') return ask ? { kind: 'repeat' } : problem('There is no question open just now.');
  const answer = ask && !form ? chosen(line, ask) : null;
  if (ask && answer !== null) return message({ kind: 'chose', answer, of: ask.key });
  if (control) return message({ kind: 'asked', what: control });
  if (form?.form === 'advise') return message({ kind: 'acted', act: { what: 'advise', words: line } });
  // Anything else is said, so that "it smokes" is heard as what it is.
  if ((form?.form === 'reading' || ask?.reading) && looksLikeReading(line))
    return message({ kind: 'measured', reading: line });
  const count = ask?.choices.length ?? 0;
  if (ask && !ask.reading && count > 0 && /^\d{1,3}$/.test(line))
    return problem(
      count === 1
        ? 'The only number here is 1. Answer with it, or in your own words.'
        : `Please answer with a number from 1 to ${count}, or in your own words.`,
    );
  return words(line, scene);
}
