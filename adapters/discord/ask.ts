import type { Control } from '../../shared/inbound.ts';
import type { Ask, PlanFigures } from '../../shared/outbound.ts';
import { cut, minutesText } from '../words.ts';
import { type Body, type Button, colours, type Embed, limits, type Row, row, silent } from './body.ts';
import { answerId, controlId, dangerId, menuId, readingId } from './ids.ts';
import { line, plain } from './text.ts';

/** One step as a message for a phone: hazards first and apart, then what to do, what it costs, and the question. */
export function askBody(ask: Ask): Body {
  const hazards: Embed[] =
    ask.hazards.length === 0
      ? []
      : [
          {
            color: colours[ask.hazards[0]?.word ?? 'NOTICE'],
            description: cut(
              ask.hazards.map(({ word, text }) => `**${word}** ${plain(text)}`).join('\n'),
              limits.hazards,
            ),
          },
        ];
  const how = ask.how.map((one, i) => `${i + 1}. ${plain(one)}`).join('\n');
  const costs = [
    ...(ask.tools.length > 0 ? [`You need: ${plain(ask.tools.join(', '))}`] : []),
    ...(ask.minutes > 0 ? [`Takes about ${minutesText(ask.minutes)}`] : []),
    ...(ask.wait > 0 ? [`then ${minutesText(ask.wait)} of waiting`] : []),
  ];
  const below = [
    ...(ask.photo ? [plain(ask.photo)] : []),
    ...(costs.length > 0 ? [`-# ${costs.join(' · ')}`] : []),
    `**${plain(ask.question)}**`,
    ...(ask.reading ? [`-# Type it here (such as ${plain(ask.reading.example)}), or use the button.`] : []),
  ]
    .map((one) => cut(one, 700))
    .join('\n');
  const above = [how, ask.notes.map(plain).join('\n')].filter((text) => text !== '').join('\n\n');
  const room = limits.step - below.length - 2;
  const step: Embed = {
    title: line(titleOf(ask), limits.title),
    description: above === '' ? below : `${cut(above, room)}\n\n${below}`,
    ...(ask.plan
      ? {
          footer: {
            text: cut(ahead(ask.plan), limits.footer),
          },
        }
      : {}),
  };
  return { ...silent, embeds: [...demonstration(ask), ...hazards, step], components: rows(ask) };
}

/** How far along: the chance that it ends well, and what is still to expect. */
const ahead = ({ chance, minutes, wait, cost, currency }: PlanFigures): string =>
  [
    `Chance that it works again: ${Math.round(chance * 100)} %`,
    `still to go: about ${minutesText(minutes)} of work${wait >= 1 ? `, ${minutesText(wait)} of waiting` : ''}`,
    `${Math.round(cost)} ${currency} in all`,
  ].join(' · ');

const titleOf = (ask: Ask): string =>
  ask.phase === 'intake' || ask.phase === 'follow-up'
    ? plain(ask.title)
    : `Step ${ask.number} · ${plain(ask.title)}`;

export const demonstration = ({ mark }: { readonly mark?: 'demonstration' | undefined }): Embed[] =>
  mark ? [{ description: 'Demonstration: the clock was moved. This proves nothing about safety.' }] : [];

const labels: Partial<Record<Control, string>> = {
  unsure: 'Not sure',
  cannot: 'I cannot do this',
  why: 'Why this?',
  where: 'Where are we?',
  undo: 'Undo',
  person: 'Ask a person',
  stop: 'Stop',
};

const button = (label: string, custom_id: string, style: Button['style'] = 2): Button => ({
  type: 2,
  style,
  label: line(label, limits.label),
  custom_id,
});

/** Answers in three rows of five at most, or as a menu; what helps beside them; controls below. */
function rows(ask: Ask): Row[] {
  const control = (names: readonly Control[]): Button[] =>
    ask.controls
      .filter((one) => names.includes(one))
      .map((one) => button(labels[one] ?? one, controlId(one)));
  const beside = [
    ...(ask.reading ? [button('Enter the reading', readingId(ask.key), 1)] : []),
    ...control(['unsure', 'cannot']),
    ...(ask.choices.some(({ id }) => id === 'danger') ? [] : [button('Danger!', dangerId, 4)]),
  ];
  const below = control(['why', 'where', 'undo', 'person', 'stop']);
  const answers = ask.choices.map(({ id, label }, i) =>
    button(label, answerId(ask.key, id, i + 1), id === 'danger' ? 4 : 1),
  );
  const unique = new Set(answers.map(({ custom_id }) => custom_id)).size === answers.length;
  const shown = answers.length <= 15 && unique ? inFives(answers) : [menu(ask)];
  return [...shown, ...inFives(beside), ...inFives(below)].slice(0, 5);
}

const inFives = (buttons: readonly Button[]): Row[] =>
  Array.from({ length: Math.ceil(buttons.length / 5) }, (_, i) => row(buttons.slice(5 * i, 5 * i + 5)));

/** Twenty-five fit; who wants another answer writes it. */
function menu(ask: Ask): Row {
  const values = new Set<string>();
  const options = ask.choices.slice(0, 25).flatMap(({ id, label }, i) => {
    // Where its id will not do, its place stands for it.
    const usable = id !== '' && id.length <= 90 && !id.startsWith('#') && id.isWellFormed();
    const value = usable && !values.has(id) ? id : `#${i + 1}`;
    values.add(value);
    return [{ label: line(label, limits.option), value }];
  });
  return row([{ type: 3, custom_id: menuId(ask.key), placeholder: 'Choose an answer', options }]);
}
