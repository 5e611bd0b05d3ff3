import type { Event } from '../../shared/case.ts';
import type { Flow } from '../../shared/flow.ts';
import type { Outbound } from '../../shared/outbound.ts';
import { answerWords } from '../core/explain.ts';
import { isAnswer } from '../core/reduce.ts';

/** Events and messages as a person who looks for a mistake reads them. */

/** `  7  2026-03-01 10:22:05  ada: answered. Torch test: Faint` */
export function eventLine(event: Event, flow: Flow): string {
  const { seq, by, demonstration } = event;
  const at = timeWords(event.at);
  const kind = event.kind.replaceAll('-', ' ');
  const what = isAnswer(event) ? `${answerWords(event, flow)} (${event.level})` : details(event);
  return `${String(seq).padStart(4)}  ${at}  ${by}: ${kind}${what === '' ? '' : `. ${what}`}${demonstration ? ' (demonstration)' : ''}`;
}

function details(event: Event): string {
  if (event.kind === 'put') {
    const { key, kind, step, power, inside } = event.question;
    const marks = [...(power === 'none' ? [] : [`power ${power}`]), ...(inside ? ['inside'] : [])];
    return `${key}: ${kind} ${step}${marks.length > 0 ? ` (${marks.join(', ')})` : ''}`;
  }
  return Object.entries(event)
    .filter(([name]) => !['kind', 'seq', 'at', 'by', 'demonstration'].includes(name))
    .map(([name, value]) => `${name} ${typeof value === 'string' ? `“${value}”` : JSON.stringify(value)}`)
    .join(', ');
}

const timeWords = (at: number): string => {
  const date = new Date(at);
  return Number.isNaN(date.getTime()) ? String(at) : date.toISOString().slice(0, 19).replace('T', ' ');
};

export function messageLines(one: Outbound): string[] {
  switch (one.kind) {
    case 'say':
      return [one.words, ...(one.list ?? []).map((item) => `  - ${item}`)];
    case 'ask':
      return [
        ...one.hazards.map(({ word, text }) => `! ${word}: ${text}`),
        `? ${one.title} (${one.key}, ${one.phase} ${one.step})`,
        ...one.how.map((line, i) => `  ${i + 1}. ${line}`),
        `  ${one.question}`,
        ...one.choices.map(({ id, label }) => `  [${id}] ${label}`),
        ...(one.reading ? [`  a number in ${one.reading.unit}`] : []),
      ];
    case 'warn':
      return [`! ${one.word}: ${one.instruction} ${one.words}`];
    case 'show':
      return [`(picture) ${one.alt}`];
    case 'paper':
      return [`(to print) ${one.words}`];
    case 'form':
      return [`(form) ${one.title}`];
    case 'whisper':
      return [`(to ${one.to} alone) ${one.words}`];
    case 'amend':
      return [`(changes ${one.key}) ${one.words}`];
    case 'remind':
      return [`(comes back ${timeWords(one.due)}: ${one.reason})`];
    case 'unremind':
      return [`(comes back no more: ${one.key})`];
    case 'handover':
      return [`> to people (${one.reason}${one.danger ? ', danger' : ''}): ${one.words}`];
    case 'settle':
      return [`> ${one.outcome}: ${one.words}`];
    case 'bench':
      return [`(to menders, ${one.state}${one.danger ? ', danger' : ''}) ${one.title}. ${one.words}`];
    default:
      return one satisfies never;
  }
}
