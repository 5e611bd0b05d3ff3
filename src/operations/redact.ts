import { join, sep } from 'node:path';

/**
 * What may be logged of an error. Its message may hold a parameter of a query, the password in a URL, a token, or words
 * that somebody wrote; these are taken out, and rather too much than too little.
 */

const gone = '…';
/** Characters of a message that are kept. */
const most = 300;
/** A message is shortened to this before it is searched. */
const searched = 2000;

/** One line of at most 300 characters, without what may be secret or somebody's own. */
export function redact(text: string): string {
  const words = shortened(text)
    // What stands after a quotation mark may be anybody's, and where it ends cannot be known: a 55" set. So may what
    // databases show of a row, as "Key (person)=(...)" or "row contains (...)". The apostrophe of "can't" is none.
    .replace(
      /(?:(?!(?<=\p{L})['’](?:t|s|re|ll|ve|d|m)\b)['’‘]|["“”„«»`]|=\s*\(|\bcontains \()[\s\S]*$/u,
      gone,
    )
    .replace(/\b([a-z][a-z0-9+.-]*:)\/\/\S*/gi, bareUrl)
    // Mail addresses, and what is left of a URL that was cut.
    .replace(/\S*@\S*/g, gone)
    .replace(/\b(Bearer|Basic)\s+\S+/gi, `$1 ${gone}`)
    .replace(
      new RegExp(`((?:${secretWords})[\\w-]*)\\s*[=:]\\s*(?!${gone}|(?:Bearer|Basic) ${gone})\\S+`, 'gi'),
      `$1=${gone}`,
    )
    .replace(/\bx(?:ox[a-z]|app)[-.][\w.-]*/gi, gone)
    .replace(/[\w+/=~-]{16,}/g, (run) => (looksRandom(run) ? gone : run))
    // The parts of a token that dots join.
    .replace(
      new RegExp(`(?:[\\w+/=~-]{1,99}\\.){0,3}${gone}(?:\\.?${gone}|\\.[\\w+/=~-]{1,99}){0,3}`, 'g'),
      gone,
    );
  return words.length > most ? `${words.slice(0, most - 1)}${gone}` : words;
}

const secretWords =
  'password|passwd|passphrase|pwd|secret|token|api[-_ ]?key|private[-_ ]?key|credential|authorization|cookie|signature|ticket';

/** On one line, and never cut within a word: the rest of it would look harmless. */
function shortened(text: string): string {
  const whole = text.length <= searched;
  const cut = whole ? text : text.slice(0, searched).replace(/\S*$/, gone);
  return cut.replace(/\s+/g, ' ').trim();
}

/** Scheme, host and port; paths and queries hold tokens, too. Nothing at all where the host is in doubt. */
function bareUrl(url: string, scheme: string): string {
  const rest = url.slice(scheme.length + 2);
  const authority = /^[^/?#\\]*/.exec(rest)?.[0] ?? '';
  const host = authority.slice(authority.lastIndexOf('@') + 1);
  const sure =
    !rest.slice(authority.length).includes('@') && /^[a-z0-9.-]+(:\d{1,5})?[,;:.)\]]?$/i.test(host);
  return sure
    ? `${scheme}//${host}${rest.length > authority.length ? `/${gone}` : ''}`
    : `${scheme}//${gone}`;
}

/** Digits, or capitals as thick as in base64: names in code have a capital every few letters. */
const looksRandom = (run: string): boolean =>
  /\d/.test(run) || (/[a-z]/.test(run) && run.replace(/[^A-Z]/g, '').length > run.length / 4);

export interface Described {
  /** The error's name. It is not called `name`: names are redacted. */
  readonly type: string;
  readonly code?: string;
  readonly message?: string;
  /** The line of this project it came from. */
  readonly at?: string;
  readonly cause?: Described;
}

/** What may be logged of whatever was thrown. Never throws. */
export function describeCause(cause: unknown, depth = 0): Described {
  try {
    if (!(cause instanceof Error)) {
      return typeof cause === 'string' ? { type: 'string', message: redact(cause) } : { type: typeof cause };
    }
    const { code } = cause as { code?: unknown };
    const at = placeOf(cause);
    return {
      type: plain(cause.name) ?? 'Error',
      ...(typeof code === 'number' || typeof code === 'string' ? { code: plain(String(code)) ?? gone } : {}),
      ...(cause.message === '' ? {} : { message: redact(cause.message) }),
      ...(at === undefined ? {} : { at }),
      ...(cause.cause === undefined || depth >= 3 ? {} : { cause: describeCause(cause.cause, depth + 1) }),
    };
  } catch {
    // A getter that throws, a revoked proxy.
    return { type: 'unknown' };
  }
}

/** A name or code of an error, as they are usually written. */
const plain = (name: string): string | undefined =>
  /^[A-Za-z0-9_$.[\]-]{1,60}$/.test(name) && redact(name) === name ? name : undefined;

const project = join(import.meta.dirname, '..', '..') + sep;

function placeOf({ stack = '', message }: Error): string | undefined {
  // Lines of the message may look like places.
  const frames = stack.slice(message === '' ? 0 : Math.max(0, stack.indexOf(message)) + message.length);
  for (const line of frames.split('\n')) {
    const start = line.indexOf(project);
    if (!/^\s+at /.test(line) || start < 0 || line.includes('node_modules')) continue;
    const place = /^[\w./\\-]+\.ts:\d+:\d+(?=\)?$)/.exec(line.slice(start + project.length))?.[0];
    if (place !== undefined) return place;
  }
  return undefined;
}
