import type { Outbound } from '../../shared/outbound.ts';
import { cleanLine } from './clean.ts';
import { duration, moment } from './clock.ts';
import { type Heard, hear, type Scene } from './inbound.ts';
import { hearJson, jsonLine } from './json.ts';
import { type Page, render } from './outbound.ts';
import { wrap } from './wrap.ts';

/** How the terminal is spoken to and what it writes: text that goes out as it is, '' for nothing. */
export interface Face {
  hear(line: string, scene: Scene): Heard;
  greeting(): string;
  /** Before a case that is gone on with. */
  welcomeBack(): string;
  outbound(outbound: Outbound): string;
  /** A sentence about a line that could not be used. */
  problem(sentence: string): string;
  /** The clock is about to be moved to `due`, in ms. */
  skipping(due: number, now: number): string;
  /** Written when the next line is waited for. */
  prompt(): string;
  /** Written when that line was taken. */
  taken(line: string): string;
  farewell(end: keyof typeof KEEPS_NOTHING): string;
}

/** Nothing but JSON, a line for each message. */
export const JSON_FACE: Face = {
  hear: hearJson,
  greeting: () => '',
  welcomeBack: () => '',
  outbound: (outbound) => `${jsonLine(outbound)}\n`,
  problem: (sentence) => `${jsonLine({ error: sentence })}\n`,
  skipping: () => '',
  prompt: () => '',
  taken: () => '',
  farewell: () => '',
};

const GREETING =
  'This is Mendthread, a desk that helps to repair things.\n' +
  'What is wrong? Say it in your own words: which appliance, and what you see, hear or smell.';

const WELCOME_BACK =
  'Welcome back. There is a case of yours here, and we go on with it. To begin with another appliance instead, leave and ' +
  'start with --new.';

const KEEPS_NOTHING = {
  over: 'This terminal keeps nothing: copy what you still need.',
  people:
    'This terminal calls nobody and keeps nothing: copy the job card, and take it to one of these people.',
  open: 'This terminal keeps nothing: next time, begin again with what is wrong.',
  unopened: 'Goodbye.',
} as const;

const KEEPS = {
  over: 'What we found stays here with your case. Is it broken again? Start with --again, and we go on with it.',
  people:
    'This terminal calls nobody: copy the job card, and take it to one of these people. Your case stays here.',
  open: 'Your case stays here: start again at this place, and we go on where we were.',
  unopened: 'Goodbye.',
} as const satisfies Record<keyof typeof KEEPS_NOTHING, string>;

/** Text for people. `page` is asked at each message, `echo` is for input that the terminal itself does not show. */
export function humanFace(page: () => Page, echo: boolean, keeps: boolean): Face {
  const farewell = keeps ? KEEPS : KEEPS_NOTHING;
  let started = false;
  let prompted = false;
  const block = (lines: readonly string[]): string => {
    if (lines.length === 0) return '';
    const gap = `${prompted ? '\n' : ''}${started ? '\n' : ''}`;
    started = true;
    prompted = false;
    return `${gap}${lines.join('\n')}\n`;
  };
  return {
    hear,
    greeting: () => block(wrap(GREETING, page().width)),
    welcomeBack: () => block(wrap(WELCOME_BACK, page().width)),
    outbound: (outbound) => block(render(outbound, page())),
    problem: (sentence) => block(wrap(cleanLine(sentence), page().width)),
    skipping(due, now) {
      const { width, timeZone } = page();
      const wait = duration((due - now) / 60_000);
      const text =
        `[Demonstration only: the wait of ${wait} is skipped, and the clock moved to the time of its end, ` +
        `${moment(due, now, timeZone)}. No real time has passed. This proves nothing: nothing is safe to touch because of it.]`;
      return block(wrap(text, width));
    },
    prompt() {
      if (prompted) return '';
      const gap = started ? '\n' : '';
      started = true;
      prompted = true;
      return `${gap}> `;
    },
    taken(line) {
      if (!prompted) return '';
      prompted = false;
      if (!echo) return '';
      const { width } = page();
      const [first = '', ...rest] = wrap(cleanLine(line), width, '> ', '  ');
      return `${[first.slice(2), ...rest].join('\n')}\n`;
    },
    farewell: (end) => block(wrap(farewell[end], page().width)),
  };
}
