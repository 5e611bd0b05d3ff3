import type { Control } from '../../shared/inbound.ts';
import type { Ask, PlanFigures } from '../../shared/outbound.ts';
import { minutesText } from '../words.ts';
import {
  actions,
  type Block,
  type Body,
  type Button,
  button,
  context,
  divider,
  header,
  limits,
  menu,
  section,
} from './blocks.ts';
import { write } from './ids.ts';
import { fitted, packed } from './text.ts';

/** One step as a message for a phone: hazards first and apart, then what to do, what it costs, and the question. */
export function askBody(ask: Ask): Body {
  const title =
    ask.phase === 'intake' || ask.phase === 'follow-up' ? ask.title : `Step ${ask.number} · ${ask.title}`;
  const hazards = packed(
    ask.hazards.map(({ word, text }) => `*${word}* ${fitted(text, 2500)}`),
    limits.section,
  );
  const how = packed(
    ask.how.map((line, i) => `${i + 1}. ${fitted(line, 2500)}`),
    limits.section,
  );
  const costs = [
    ...(ask.tools.length > 0 ? [`You need: ${fitted(ask.tools.join(', '), 1000)}`] : []),
    ...(ask.minutes > 0 ? [`Takes about ${minutesText(ask.minutes)}`] : []),
    ...(ask.wait > 0 ? [`then ${minutesText(ask.wait)} of waiting`] : []),
  ];
  const notes = [...ask.notes, ...(ask.photo ? [ask.photo] : [])];
  const blocks: Block[] = [
    ...demonstration(ask),
    ...hazards.slice(0, 5).map(section),
    ...(hazards.length > 0 ? [divider] : []),
    header(title),
    ...how.slice(0, 12).map(section),
    ...packed(
      notes.map((note) => fitted(note, 2500)),
      limits.section,
    )
      .slice(0, 8)
      .map(section),
    ...(costs.length > 0 ? [context(costs.join(' · '))] : []),
    section(`*${fitted(ask.question, 2500)}*`),
    ...(ask.reading
      ? [context(`Type it here (such as ${fitted(ask.reading.example, 200)}), or use the button.`)]
      : []),
    ...answers(ask),
    ...(ask.plan ? [context(ahead(ask.plan))] : []),
  ];
  return {
    text: fitted(
      [...ask.hazards.map(({ word, text }) => `${word}: ${text}`), title, ask.question].join('\n'),
      limits.fallback,
    ),
    blocks,
  };
}

/** How far along: the chance that it ends well, and what is still to expect. */
const ahead = ({ chance, minutes, wait, cost, currency }: PlanFigures): string =>
  [
    `Chance that it works again: ${Math.round(chance * 100)} %`,
    `still to go: about ${minutesText(minutes)} of work${wait >= 1 ? `, ${minutesText(wait)} of waiting` : ''}`,
    `${Math.round(cost)} ${fitted(currency, 10)} in all`,
  ].join(' · ');

export const demonstration = ({ mark }: { readonly mark?: 'demonstration' | undefined }): Block[] =>
  mark ? [context('Demonstration: the clock was moved. This proves nothing about safety.')] : [];

const labels: Partial<Record<Control, string>> = {
  unsure: 'Not sure',
  cannot: 'I cannot do this',
  why: 'Why this?',
  where: 'Where are we?',
  undo: 'Undo',
  person: 'Ask a person',
  stop: 'Stop',
};

/** More than so many are a menu: on a phone a long row of buttons is a wall. */
const buttonsAtMost = 12;

function answers(ask: Ask): Block[] {
  const control = (names: readonly Control[]): Button[] =>
    ask.controls
      .filter((one) => names.includes(one))
      .map((one) => button(`control:${one}`, labels[one] ?? one, write({ t: 'control', control: one })));
  const offered = ask.choices.map(({ id, label }) => ({
    id,
    label: label === '' ? id : label,
    value: write({ t: 'answer', key: ask.key, answer: id }),
  }));
  const buttons = offered.map(({ id, label, value }, i) =>
    button(`answer:${i}`, label, value, id === 'danger' ? 'danger' : 'primary'),
  );
  const beside = [
    ...(ask.reading
      ? [button('reading', 'Enter the reading', write({ t: 'reading', key: ask.key }), 'primary')]
      : []),
    ...control(['unsure', 'cannot']),
    ...(ask.choices.some(({ id }) => id === 'danger')
      ? []
      : [button('danger', 'Danger!', write({ t: 'answer', key: ask.key, answer: 'danger' }), 'danger')]),
  ];
  const below = control(['why', 'where', 'undo', 'person', 'stop']);
  const short = offered.filter(({ value }) => value.length <= limits.optionValue);
  return [
    ...(buttons.length === 0
      ? []
      : buttons.length <= buttonsAtMost || short.length < offered.length
        ? [actions('answers', buttons.slice(0, limits.buttons))]
        : [actions('answers', [menu('answer', offered)])]),
    ...(beside.length > 0 ? [actions('beside', beside)] : []),
    ...(below.length > 0 ? [actions('controls', below)] : []),
  ];
}
