import type { Hazard } from '../../shared/flow.ts';
import type { Ask, Outbound } from '../../shared/outbound.ts';
import { clean, cleanLine } from './clean.ts';
import { duration, moment } from './clock.ts';
import { bold, signal } from './colour.ts';
import { choiceKey, controlShown } from './keys.ts';
import { wrapMarkdown } from './markdown.ts';
import { columns, wrap } from './wrap.ts';

/** The screen that a message is drawn for. */
export interface Page {
  /** Columns, 24 to 80. */
  readonly width: number;
  readonly colour: boolean;
  /** Id of the person in front of it. */
  readonly person: string;
  /** The desk's clock, in ms. */
  readonly now: number;
  /** An IANA name; absent: the machine's own. */
  readonly timeZone?: string;
}

type Of<K extends Outbound['kind']> = Extract<Outbound, { kind: K }>;

const RAIL = '  !  ';
const DEMONSTRATION = 'Demonstration: the clock was moved. This proves nothing about safety.';

/** Blocks with a blank line between them; empty ones fall out. */
function stack(blocks: readonly (readonly string[])[]): string[] {
  return blocks
    .filter((block) => block.length > 0)
    .flatMap((block, at) => (at === 0 ? [...block] : ['', ...block]));
}

function signalled({ word, text }: Hazard, page: Page, loud = false): string[] {
  const mark = signal(word, page.colour);
  const blank = ' '.repeat(mark.columns);
  const [first = '', ...rest] = wrap(clean(text), page.width, `${RAIL}${blank} `, RAIL);
  const behind = first.slice(RAIL.length + blank.length);
  return [`${RAIL}${mark.text}${bold(behind, loud)}`, ...rest.map((line) => bold(line, loud))];
}

function listed(items: readonly string[], width: number, numbered: boolean): string[] {
  const digits = String(items.length).length;
  return items.flatMap((item, at) => {
    const lead = numbered ? `  ${String(at + 1).padStart(digits)}. ` : '  - ';
    return wrap(cleanLine(item), width, lead, ' '.repeat(lead.length));
  });
}

/** Short pieces in a row, broken between them where that is possible. */
function row(pieces: readonly string[], width: number): string[] {
  const lines: string[] = [];
  for (const piece of pieces) {
    const last = lines.at(-1);
    const longer = `${last} · ${piece}`;
    if (last !== undefined && columns(longer) <= width) lines[lines.length - 1] = longer;
    else lines.push(...wrap(piece, width));
  }
  return lines;
}

function effort({ minutes, wait }: Ask): string {
  const work = minutes > 0 ? [`about ${duration(minutes)} of work`] : [];
  const idle = wait > 0 ? [`${minutes > 0 ? 'then ' : ''}${duration(wait)} of waiting`] : [];
  const all = [...work, ...idle].join(', ').replace('about less', 'less');
  return all === '' ? '' : `Takes ${all}.`;
}

function answers(ask: Ask, page: Page): string[] {
  const keys = ask.choices.map((_, index) => choiceKey(ask, index));
  const wide = Math.max(0, ...keys.map((key) => key.length));
  const choices = ask.choices.flatMap(({ label }, index) => {
    const key = `  ${(keys[index] ?? '').padStart(wide)}${ask.reading ? ')' : ''}  `;
    return wrap(cleanLine(label), page.width, key, ' '.repeat(key.length));
  });
  if (ask.reading) {
    const { unit, current, example } = ask.reading;
    const kind = current ? ` ${current[0]}.${current[1]}.` : '';
    const type = `Type the number that you read, in ${cleanLine(unit)}${kind}, for example: ${cleanLine(example)}`;
    const or = choices.length > 0 ? ['Or, if you cannot read the exact number, answer with a letter:'] : [];
    return [...wrap(type, page.width), ...or.flatMap((line) => wrap(line, page.width)), ...choices];
  }
  if (choices.length === 0) return wrap('Answer in your own words.', page.width);
  return ['Answer with a number:', ...choices];
}

function renderAsk(ask: Ask, page: Page): string[] {
  const { width } = page;
  const how = listed(ask.how, width, true);
  const notes = ask.notes.flatMap((note) => wrap(`Note: ${cleanLine(note)}`, width));
  const photo = ask.photo
    ? wrap(`Photo: ${cleanLine(ask.photo)} (Keep it; this terminal cannot send one.)`, width)
    : [];
  const needs = ask.tools.length > 0 ? wrap(`You need: ${ask.tools.map(cleanLine).join(', ')}.`, width) : [];
  const takes = effort(ask);
  return stack([
    [
      ...wrap(
        `${ask.number > 0 && ask.phase !== 'follow-up' ? `Step ${ask.number} · ` : ''}${cleanLine(ask.title)}`,
        width,
      ).map((line) => bold(line, page.colour)),
      ...demonstration(ask, page),
    ],
    ask.hazards.flatMap((hazard) => signalled(hazard, page)),
    how,
    notes,
    [...photo, ...needs, ...(takes === '' ? [] : wrap(takes, width))],
    wrap(clean(ask.question), width).map((line) => bold(line, page.colour)),
    answers(ask, page),
    row(ask.controls.map(controlShown), width),
  ]);
}

function renderWarn(warn: Of<'warn'>, page: Page): string[] {
  const rule = bold('!'.repeat(page.width), page.colour);
  const words = warn.words.trim() === '' ? [] : wrap(clean(warn.words), page.width, RAIL);
  return [
    rule,
    ...signalled({ word: warn.word, text: warn.instruction }, page, page.colour),
    ...(words.length > 0 ? [RAIL.trimEnd(), ...words] : []),
    rule,
  ];
}

function percent(share: number): string {
  const whole = Math.round(share * 100);
  if (whole < 1 && share > 0) return '<1 %';
  if (whole > 99 && share < 1) return '>99 %';
  return `${whole} %`;
}

function renderShow({ picture, alt }: Of<'show'>, page: Page): string[] {
  const names = picture.suspects.map(({ name }) => cleanLine(name));
  const longest = Math.min(Math.max(0, ...names.map(columns)), Math.floor(page.width / 2));
  const most = page.width - longest - 12;
  const bars = picture.suspects.flatMap(({ share }, at) => {
    const [first = '', ...rest] = wrap(names[at] ?? '', longest + 2, '  ', '  ');
    const bar = '='.repeat(Math.round(Math.min(Math.max(share, 0), 1) * most));
    const padded = first + ' '.repeat(Math.max(longest + 2 - columns(first), 0));
    return [`${padded} ${percent(share).padStart(6)} ${bar}`.trimEnd(), ...rest];
  });
  // The bars say all that the alternative text says.
  return bars.length > 0 ? stack([['Most likely now:'], bars]) : wrap(clean(alt), page.width);
}

function renderForm(form: Of<'form'>, page: Page): string[] {
  return stack([
    wrap(cleanLine(form.title), page.width).map((line) => bold(line, page.colour)),
    form.fields.flatMap((field) => {
      const example = cleanLine(field.example);
      return wrap(
        `${cleanLine(field.label)}${example === '' ? '' : ` (for example: ${example})`}`,
        page.width,
      );
    }),
  ]);
}

function demonstration(outbound: Outbound, page: Page): string[] {
  return outbound.mark ? wrap(`[${DEMONSTRATION}]`, page.width) : [];
}

function body(outbound: Exclude<Outbound, Ask>, page: Page): string[] {
  const { width } = page;
  switch (outbound.kind) {
    case 'say':
      return stack([
        // A job card that was asked for is said, and is Markdown.
        /^# /.test(outbound.words)
          ? wrapMarkdown(clean(outbound.words), width)
          : wrap(clean(outbound.words), width),
        listed(outbound.list ?? [], width, outbound.numbered === true),
      ]);
    case 'warn':
      return renderWarn(outbound, page);
    case 'show':
      return renderShow(outbound, page);
    case 'paper':
      return wrapMarkdown(clean(outbound.card), width);
    case 'form':
      return outbound.to === page.person ? renderForm(outbound, page) : [];
    case 'whisper':
      return outbound.to === page.person ? wrap(clean(outbound.words), width) : [];
    case 'amend':
      return wrap(`Noted: ${cleanLine(outbound.words)}`, width);
    case 'remind': {
      // Nobody waits for being asked again.
      if (outbound.later) return [];
      const left = (outbound.due - page.now) / 60_000;
      const back =
        left > 0 ? `${moment(outbound.due, page.now, page.timeZone)} (in ${duration(left)})` : 'in a moment';
      // What it waits for was just said.
      return wrap(`If this window stays open, the desk comes back ${back}.`, width);
    }
    case 'unremind':
    case 'bench':
      return [];
    case 'handover':
    case 'settle':
      return stack([wrap(clean(outbound.words), width), wrapMarkdown(clean(outbound.card), width)]);
    default:
      return outbound satisfies never;
  }
}

/** A message as lines of at most `page.width` columns, without line ends. Empty: there is nothing to show. */
export function render(outbound: Outbound, page: Page): string[] {
  if (outbound.kind === 'ask') return renderAsk(outbound, page);
  const lines = body(outbound, page);
  return lines.length === 0 ? [] : [...demonstration(outbound, page), ...lines];
}
