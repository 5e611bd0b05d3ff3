import type { Case, Event } from '../../shared/case.ts';
import type { Flow } from '../../shared/flow.ts';
import type { Act, Control, Inbound } from '../../shared/inbound.ts';
import type { Ask, Outbound } from '../../shared/outbound.ts';
import type { Person } from '../../shared/person.ts';
import type { Choice, Plan } from '../../src/core/plan/problem.ts';
import { emptyCase, fold } from '../../src/core/reduce.ts';
import type { Decide, Settings } from '../../src/core/settings.ts';
import { step } from '../../src/core/step.ts';
import { radio, settings as usual } from '../core/example-flow.ts';

/** A conversation with a clock that the test moves, written down as people would read it. */

export interface Voice {
  says(words: string): Talk;
  /** Taps an answer of the open question, or of the one with this key. */
  taps(answer: string, of?: string): Talk;
  /** Sends a reading through the form. */
  measures(reading: string): Talk;
  asks(what: Control): Talk;
  does(act: Act): Talk;
  sends(content: Content): Talk;
}

export interface Talk {
  readonly kase: Case;
  readonly events: readonly Event[];
  /** What the last turn sent. */
  readonly sent: readonly Outbound[];
  /** The question that the last turn put; null when it put none. */
  readonly ask: Ask | null;
  readonly at: number;
  as(person: Person): Voice;
  /** Time goes by. Timers do not ring by themselves. */
  later(minutes: number): Talk;
  /** The clock is moved for a demonstration, from here on. */
  skips(minutes: number): Talk;
  /** The flow's file is corrected, or another one is in its place; nothing is said of it until the next turn. */
  corrects(to: Flow): Talk;
  /** The timer of the present rest rings, now. */
  rings(): Talk;
  /** Everything since the last time this was asked. */
  read(): string;
}

type Content<I = Inbound> = I extends Inbound
  ? Omit<I, 'id' | 'thread' | 'at' | 'by' | 'demonstration'>
  : never;

const minute = 60_000;
/** Nine in the morning of an invented first day. */
const morning = 9 * 60 * minute;

export function newTalk({
  flow: first = radio,
  settings = usual,
}: {
  flow?: Flow;
  settings?: Settings;
} = {}): Talk {
  let flow = first;
  let kase = emptyCase('thread');
  const events: Event[] = [];
  let sent: readonly Outbound[] = [];
  let at = morning;
  let moved = false;
  let count = 0;
  let lines: string[] = [];

  function send(content: Content, by: Person): Talk {
    count += 1;
    const inbound = {
      id: `m${count}`,
      thread: 'thread',
      at,
      by,
      ...(moved ? { demonstration: true as const } : {}),
      ...content,
    } as Inbound;
    const turn = step(kase, inbound, flow, settings);
    kase = fold(kase, turn.events);
    events.push(...turn.events);
    sent = turn.outbound;
    lines.push(`${clock(at)} ${by.name}: ${heard(inbound)}`, ...sent.flatMap(shown));
    return talk;
  }

  const talk: Talk = {
    get kase() {
      return kase;
    },
    get events() {
      return events;
    },
    get sent() {
      return sent;
    },
    get ask() {
      return sent.findLast((one) => one.kind === 'ask') ?? null;
    },
    get at() {
      return at;
    },
    as: (person) => ({
      says: (words) =>
        send(events.length === 0 ? { kind: 'opened', words, place: '' } : { kind: 'said', words }, person),
      taps: (answer, of) => {
        const key = of ?? kase.question?.key;
        return send({ kind: 'chose', answer, ...(key === undefined ? {} : { of: key }) }, person);
      },
      measures: (reading) => send({ kind: 'measured', reading }, person),
      asks: (what) => send({ kind: 'asked', what }, person),
      does: (act) => send({ kind: 'acted', act }, person),
      sends: (content) => send(content, person),
    }),
    later(minutes) {
      at += minutes * minute;
      return talk;
    },
    skips(minutes) {
      moved = true;
      return talk.later(minutes);
    },
    corrects(to) {
      flow = to;
      return talk;
    },
    rings: () =>
      send(
        { kind: 'rang', key: kase.rest?.key ?? kase.followUp?.key ?? 'none' },
        { id: 'desk', name: 'a timer', roles: [] },
      ),
    read() {
      const text = lines.join('\n');
      lines = [];
      return `\n${text}\n`;
    },
  };
  return talk;
}

function clock(at: number): string {
  const day = Math.floor(at / (24 * 60 * minute));
  const time = new Date(at).toISOString().slice(11, 16);
  return day === 0 ? time : `day ${day + 1}, ${time}`;
}

function heard(inbound: Inbound): string {
  switch (inbound.kind) {
    case 'opened':
    case 'said':
      return inbound.words;
    case 'chose':
      return `[${inbound.answer}]`;
    case 'measured':
      return `(form) ${inbound.reading}`;
    case 'asked':
      return `<${inbound.what}>`;
    case 'acted':
      return `(${Object.values(inbound.act).join(', ')})`;
    default:
      return `(${inbound.kind})`;
  }
}

/** Tools, minutes and steps in detail stand in the flow; here is what a person would answer to. */
function shown(one: Outbound): string[] {
  const mark = one.mark === 'demonstration' ? '(demonstration) ' : '';
  const line = (words: string): string => `    ${mark}${words}`;
  switch (one.kind) {
    case 'say':
      return [line(one.words), ...(one.list ?? []).map((item) => `      - ${item}`)];
    case 'ask':
      return [
        ...one.hazards.map(({ word, text }) => line(`! ${word}: ${text}`)),
        line(`? ${one.title}: ${one.question}`),
        ...(one.choices.length > 0 ? [`      ${one.choices.map(({ id }) => `[${id}]`).join(' ')}`] : []),
        ...(one.reading ? [`      a number in ${one.reading.unit}`] : []),
      ];
    case 'warn':
      return [line(`! ${one.word}: ${one.instruction} ${one.words}`)];
    case 'whisper':
      return [line(`(to ${one.to} alone) ${one.words}`)];
    case 'amend':
      return [line(`= ${one.words}`)];
    case 'remind':
      // Nobody waits for being asked again.
      return one.later ? [] : [line(`(comes back: ${clock(one.due)})`)];
    case 'unremind':
      return one.key.startsWith('after:') ? [] : [line(`(no longer: ${one.key})`)];
    case 'handover':
      return [line(`> to people (${one.reason}${one.danger ? ', danger' : ''}): ${one.words}`)];
    case 'settle':
      return [line(`> ${one.outcome}: ${one.words}`)];
    case 'show':
      return [line(`(picture) ${one.alt}`)];
    case 'paper':
      return [line(`(to print) ${one.words}`)];
    case 'form':
      return [line(`(form) ${one.title}`)];
    case 'bench':
      return [];
    default:
      return one satisfies never;
  }
}

/** These steps one after the other in place of the plan, so that a transcript tells of the conversation alone. */
export const inOrder =
  (...ids: readonly string[]): Decide =>
  ({ steps, state, problem }) => {
    const at = ids
      .map((id) => steps.indexOf(id))
      .find((i) => i >= 0 && (state.done[i] ?? 0) < (problem.steps[i]?.times ?? 1));
    const choice: Choice =
      at !== undefined
        ? { kind: 'step', step: at }
        : state.pending.length > 0
          ? { kind: 'test' }
          : { kind: 'stop', stop: 0 };
    return planned(choice);
  };

const planned = (choice: Choice): Plan => ({
  choice,
  after: [],
  rivals: [],
  cost: 0,
  minutes: 0,
  wait: 0,
  money: 0,
  chance: 0,
  exact: false,
  nodes: 0,
});

export const following = (...ids: readonly string[]): Settings => ({ ...usual, decide: inOrder(...ids) });
