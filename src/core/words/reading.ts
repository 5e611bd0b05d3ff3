/**
 * Reads what people type when a meter shows something. A reading may prove a set dead, so every word has to be
 * known: an unknown one ("below 5 V", "was 5 V") may turn the meaning round, and asking again costs one message.
 */
import {
  type Current,
  formatQuantity,
  NOTATION,
  readDigits,
  readScale,
  type Scale,
  tidy,
  type Unit,
} from './notation.ts';

export { formatQuantity, type Unit };

/** `value` in the unit itself (volts, ohms, degrees Celsius); what was not typed is taken from what was asked for. */
export interface Reading {
  readonly value: number;
  readonly unit: Unit | null;
  readonly current: Current | null;
  readonly about: boolean;
}

export type ParsedReading =
  | { readonly kind: 'value'; readonly reading: Reading }
  /** Beyond the range that was set: no connection in ohms, more than the range in volts. Never a low value. */
  | { readonly kind: 'over'; readonly unit: Unit | null }
  | { readonly kind: 'beep'; readonly beeps: boolean }
  | { readonly kind: 'unclear'; readonly why: string };

/** What the step asked for. `min` and `max` are the bounds of the possible, not of the good; both inclusive. */
export interface Expected {
  readonly unit: Unit;
  readonly current?: Current | null | undefined;
  readonly min?: number | undefined;
  readonly max?: number | undefined;
}

type Role = 'filler' | 'about' | 'over' | 'beep' | 'silent' | 'no' | 'not' | 'minus' | 'nothing';

// English as typed in chats: common practice, no source. Of the marks only those that cannot change a number.
const ROLES: ReadonlyMap<string, Role> = new Map(
  Object.entries({
    filler:
      "it it's its is the a an i i'm my we meter multimeter meter's display displays screen show shows showing " +
      'says reading reads read value measure measured measures measurement get got gets have has see now here ' +
      'there this that of at on and for me out line loop circuit exactly just only still even hear steady stable ' +
      'so ok okay yes hi hello thanks thank you please degrees deg plus . , ! : ; = ( ) \' " * + -',
    about: 'about approx approximately around roughly circa ca nearly almost maybe ish ≈',
    over: 'ol over overload overloaded overrange overflow range infinite infinity inf open ∞',
    beep: 'beep beeps beeped beeping bleep bleeps',
    silent: 'silent silence quiet',
    no: 'no',
    not: "not never without doesn't doesnt didn't didnt don't dont isn't isnt",
    minus: 'minus negative',
    nothing: 'nothing none blank',
  }).flatMap(([role, words]) => words.split(' ').map((word) => [word, role as Role] as const)),
);

const NUMBER_WORDS: readonly string[] = (
  'zero one two three four five six seven eight nine ten ' +
  'eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen twenty'
).split(' ');

// Four kinds of token: letter in place of the point, digits, word, any other mark. Linear: nothing is read twice.
const TOKEN =
  /(?<whole>\d+|(?=[Rrp]\d))(?<letter>[RrkKMµuUnpVv])(?<part>\d+)|(?<digits>\d+(?:[.,']\d+| \d{3}(?!\d))*|(?<![\p{L}\d])[.,]\d+)|(?<word>[\p{L}\p{M}°]+(?:'\p{L}+)*)|\S/gu;

interface Piece {
  readonly role: Role | 'number' | 'scale' | 'unknown';
  readonly figure?: string | undefined;
  readonly scale?: Scale | undefined;
}

const UNKNOWN: Piece = { role: 'unknown' };
const AC: Piece = { role: 'scale', scale: { exponent: 0, unit: null, current: 'ac' } };
const DC: Piece = { role: 'scale', scale: { exponent: 0, unit: null, current: 'dc' } };

function readMark(mark: string, last: Piece | undefined, numbered: boolean, around: string): Piece {
  if (mark === '⎓') return DC;
  if (mark === '⏦' || mark === '∿') return AC;
  // "~12" is about 12, "230 V ~" is a.c.; "~~" strikes out what was written.
  if (mark === '~' && !around.includes('~~'))
    return numbered || last?.role === 'scale' ? AC : { role: 'about' };
  if (mark === '-' && !numbered)
    return last === undefined || /^[\s:=(]-[\d.,]/.test(around) ? { role: 'minus' } : UNKNOWN;
  return { role: ROLES.get(mark) ?? 'unknown' };
}

function readWord(word: string, last: Piece | undefined, next = ''): Piece {
  const lower = word.toLowerCase();
  // "C12" and "IC4" name parts.
  if (/\d/.test(next)) return UNKNOWN;
  if (NUMBER_WORDS.includes(lower)) return { role: 'number', figure: String(NUMBER_WORDS.indexOf(lower)) };
  // Right behind a number "a" means amps and "m" is a prefix; elsewhere a single letter says too little.
  const behind = last?.role === 'number' || last?.role === 'scale' || last?.role === 'over';
  const role = ROLES.get(lower);
  if (role && !(lower === 'a' && behind)) return { role };
  const scale = readScale(word);
  return scale && (behind || lower.length > 1 || scale.unit === 'V' || lower === 'ω')
    ? { role: 'scale', scale }
    : UNKNOWN;
}

function readPieces(text: string): Piece[] {
  const seen: Piece[] = [];
  let negation: 'no' | 'not' | null = null;
  let numbered = false;
  for (const { 0: token, index, groups = {} } of text.matchAll(TOKEN)) {
    const { whole, letter, part, digits, word } = groups;
    let piece: Piece;
    if (digits) piece = { role: 'number', figure: digits };
    // IEC 60062: the letter stands in place of the point.
    else if (letter)
      piece = { role: 'number', figure: `${whole || '0'}.${part}`, scale: readScale(letter) ?? undefined };
    else if (word) piece = readWord(word, seen.at(-1), text[index + word.length]);
    else piece = readMark(token, seen.at(-1), numbered, text.slice(Math.max(index - 1, 0), index + 2));
    // "No beep" and "it does not even beep" deny the beep; "no, it beeps" is not understood, nor any other "not".
    if (negation && piece.role === 'beep') [piece, negation] = [{ role: 'silent' }, null];
    else if (negation === 'no' || (negation && piece.role !== 'filler')) piece = UNKNOWN;
    if (piece.role === 'no' || piece.role === 'not') negation = piece.role;
    numbered ||= piece.role === 'number';
    seen.push(piece);
  }
  if (negation) seen.push(UNKNOWN);
  return seen;
}

/** An old display shows a lone 1 both for one and for "too much": 325 V on the 200 V range looks like 1 V. */
const LONE_ONE: ReadonlySet<Unit | null> = new Set(['V', 'A', 'ohm', 'F', null]);

/** A number without a unit was mistyped beyond these. */
const PLAIN = { least: -1e8, most: 1e8 };

function unclear(problem: string, instead: string): ParsedReading {
  return { kind: 'unclear', why: `${problem}: please ${instead}.` };
}

function mismatch(found: string, { unit, current }: Expected, show: string): ParsedReading {
  const wave = current === 'ac' ? ' with the wavy line' : current === 'dc' ? ' with the straight line' : '';
  const wanted = NOTATION[unit].plural + (current ? ` ${current[0]}.c.` : '');
  // Amps need the leads moved as well, which one sentence cannot teach.
  const dials: Partial<Record<Unit, string>> = {
    V: `turn the meter to V${wave}`,
    ohm: 'turn the meter to Ω',
  };
  const dial = dials[unit] ?? 'set the meter as the step says';
  return unclear(`That is ${found}, and I need ${wanted}`, `${dial} and ${show}`);
}

/**
 * Understands one typed reading, or says in one sentence what to type instead. Never throws; linear in the text.
 * "nothing" may be 0 or an empty display, "1,234" may be 1.234 or 1234, and a lone 1 may be an overload: asked again.
 */
export function parseReading(text: string, expected?: Expected): ParsedReading {
  const wantsAc = expected?.unit === 'V' && expected.current === 'ac';
  const example = wantsAc ? '230 V a.c.' : NOTATION[expected?.unit ?? 'V'].example;
  const show = `type what the meter shows, for example ${example}`;

  const pieces = readPieces(tidy(text));
  const count = (role: Piece['role']) => pieces.filter((piece) => piece.role === role).length;
  const numbers = count('number');
  const [over, beep, silent] = [count('over') > 0, count('beep') > 0, count('silent') > 0];
  const scales = pieces.flatMap(({ scale }) => scale ?? []);
  const exponents = scales.flatMap((scale) => scale.exponent || []);
  const [named = null, ...otherUnits] = new Set(scales.flatMap((scale) => scale.unit ?? []));
  const [said = null, ...otherCurrents] = new Set(scales.flatMap((scale) => scale.current ?? []));
  const doubled =
    otherUnits.length > 0 || otherCurrents.length > 0 || exponents.length > 1 || count('minus') > 1;

  if (numbers > 1)
    return unclear(
      'I see more than one number',
      `type only what the meter shows now, for example ${example}`,
    );
  if (count('unknown') > 0 || doubled) return unclear('I could not read that as one reading', show);
  if (numbers + Number(over) + Number(beep) > 1 || (silent && (beep || numbers > 0)))
    return unclear('I see two answers in one', `type only one of them, for example ${example}`);
  if (!over && (beep || silent)) {
    if (expected && expected.unit !== 'ohm') return mismatch('the sound test', expected, show);
    return { kind: 'beep', beeps: beep };
  }

  const exponent = exponents[0] ?? 0;
  // IEC 60062 marks resistors with k and M, capacitors with p, n and µ; nobody writes volts with these alone.
  const marked = exponent >= 3 ? 'ohm' : exponent <= -6 ? 'F' : null;
  const typed = named ?? (said === null && (expected?.unit ?? 'V') === 'V' ? marked : null);
  if (expected && typed && typed !== expected.unit) return mismatch(NOTATION[typed].plural, expected, show);
  if (expected?.current && said && said !== expected.current)
    return mismatch(`${said[0]}.c.`, expected, show);
  const unit = typed ?? expected?.unit ?? null;
  if (over) return { kind: 'over', unit };
  if (count('nothing') > 0) return unclear('"Nothing" can mean zero or an empty display', show);

  const figure = pieces.find(({ role }) => role === 'number')?.figure ?? '';
  const digits = readDigits(figure);
  // A bare "m" may be milli or minutes; time and degrees are not written with a bare prefix at all.
  const bare = named === null && (exponent === -3 || (exponent !== 0 && (unit === 's' || unit === 'C')));
  if (digits === null || bare) return unclear('I could not read that as one reading', show);
  if (digits === 'ambiguous') {
    const meanings = `${figure.replace(',', '.')} or ${figure.replace(',', '')}`;
    return unclear(`"${figure}" can mean ${meanings}`, `type it without a comma, for example ${example}`);
  }
  const about = count('about') > 0;
  if (digits === '1' && exponent <= 0 && !about && LONE_ONE.has(unit) && (expected || named === null)) {
    const one = unit ? `1.0 ${NOTATION[unit].symbol}` : '1.0';
    return unclear(
      'A single 1 can mean "too much for this range"',
      `type OL if nothing else is on the display, or ${one} if it is one`,
    );
  }

  const value = Number(`${count('minus') > 0 ? '-' : ''}${digits}e${exponent}`) + 0;
  const current = said ?? expected?.current ?? null;
  const bounds = unit ? NOTATION[unit] : PLAIN;
  const least = Math.max(current === 'ac' ? 0 : bounds.least, expected?.min ?? -Infinity);
  const most = Math.min(bounds.most, expected?.max ?? Infinity);
  if (value < least || value > most) {
    const write = (amount: number) => (unit ? formatQuantity(amount, unit) : String(amount));
    const limit = value < least ? `below ${write(least)}` : `above ${write(most)}`;
    return unclear(
      `I read ${write(value)}, and ${limit} cannot be right here`,
      `check the point, the sign and the unit (m and M differ) and type it again, for example ${example}`,
    );
  }
  return { kind: 'value', reading: { value, unit, current, about } };
}
