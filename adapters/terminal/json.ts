import type { Outbound } from '../../shared/outbound.ts';
import {
  type Heard,
  LONGEST_ANSWER,
  LONGEST_READING,
  LONGEST_WORDS,
  message,
  problem,
  type Scene,
  words,
} from './inbound.ts';
import { controlNamed } from './keys.ts';

/** Line mode for programs: each message out is one line of JSON, each line in is one of the forms below or plain text. */

const ACCEPTED =
  'Accepted is one of {"choose":"ID"}, {"choose":"ID","of":"KEY"}, {"say":"text"}, {"measure":"4.97 V"}, ' +
  '{"advance":MINUTES}, or plain text.';
const FIRST = 'No case is open yet: say first what is wrong, as {"say":"text"} or plain text.';
const LONGEST_ADVANCE = 366 * 24 * 60;

export function jsonLine(value: Outbound | { readonly error: string }): string {
  return JSON.stringify(value);
}

/** The text under `key`, or the sentence that says what is wrong with it. */
function textOf(key: string, value: unknown, longest: number): { text: string } | { sentence: string } {
  if (typeof value !== 'string') return { sentence: `"${key}" takes a text in quotes. ${ACCEPTED}` };
  const text = value.toWellFormed();
  if (text.trim() === '') return { sentence: `"${key}" takes a text that is not empty. ${ACCEPTED}` };
  if (text.includes('\0')) return { sentence: `"${key}" takes a text without NUL characters.` };
  if (text.length > longest) return { sentence: `"${key}" takes at most ${longest} characters.` };
  return { text };
}

function choose(answer: string, of: string | undefined, scene: Scene): Heard {
  const ask = of === undefined ? scene.ask : scene.asks.get(of);
  const control = controlNamed(answer);
  // An offered answer that has the name of a control stays within reach.
  if (control && !ask?.choices.some(({ id }) => id === answer))
    return message({ kind: 'asked', what: control });
  const key = of ?? scene.ask?.key;
  return message({ kind: 'chose', answer, ...(key === undefined ? {} : { of: key }) });
}

function hearForm(form: Readonly<Record<string, unknown>>, scene: Scene): Heard {
  const { of, ...rest } = form;
  const [key = '', ...more] = Object.keys(rest);
  const value = rest[key];
  if (more.length > 0) return problem(`One thing a line. ${ACCEPTED}`);
  switch (key) {
    case 'choose':
    case 'say':
    case 'measure':
    case 'advance':
      break;
    default:
      return problem(
        key === '' ? ACCEPTED : `"${key.slice(0, 40).toWellFormed()}" is not known here. ${ACCEPTED}`,
      );
  }
  if ('of' in form && key !== 'choose') return problem(`"of" goes with "choose" only. ${ACCEPTED}`);
  if (key === 'advance') {
    if (typeof value !== 'number' || !(value > 0 && value <= LONGEST_ADVANCE))
      return problem(`"advance" takes a number of minutes above 0 and up to ${LONGEST_ADVANCE}.`);
    return scene.opened ? { kind: 'advance', minutes: value } : problem(FIRST);
  }
  const longest = { choose: LONGEST_ANSWER, say: LONGEST_WORDS, measure: LONGEST_READING }[key];
  const read = textOf(key, value, longest);
  if ('sentence' in read) return problem(read.sentence);
  const older = of === undefined ? undefined : textOf('of', of, LONGEST_ANSWER);
  if (older && 'sentence' in older) return problem(older.sentence);
  if (key === 'say') return words(read.text, scene);
  if (!scene.opened) return problem(FIRST);
  if (key === 'measure') return message({ kind: 'measured', reading: read.text });
  return choose(read.text, older?.text, scene);
}

function parse(line: string): { readonly value: unknown } | null {
  try {
    return { value: JSON.parse(line) };
  } catch {
    return null;
  }
}

/** Reads a line that a program wrote. */
export function hearJson(line: string, scene: Scene): Heard {
  const text = line.trim();
  if (text === '') return { kind: 'nothing' };
  if (text.includes('\0')) return problem(`A line takes no NUL characters. ${ACCEPTED}`);
  if (text.startsWith('{') || text.startsWith('[')) {
    const parsed = parse(text);
    if (parsed && !Array.isArray(parsed.value))
      return hearForm(parsed.value as Readonly<Record<string, unknown>>, scene);
    if (parsed || text.startsWith('{'))
      return problem(`This is not one JSON object in one line. ${ACCEPTED}`);
  }
  if (text.length > LONGEST_WORDS)
    return problem(`A line of text takes at most ${LONGEST_WORDS} characters.`);
  return words(text.toWellFormed(), scene);
}
