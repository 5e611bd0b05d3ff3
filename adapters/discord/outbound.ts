import type { Bench, BenchAct, Form, FormField, Outbound } from '../../shared/outbound.ts';
import { cut } from '../words.ts';
import { askBody, demonstration } from './ask.ts';
import { type Body, type Button, colours, limits, type Row, row, type Select, silent } from './body.ts';
import { benchId, formId } from './ids.ts';
import { cardText, line, parts, plain } from './text.ts';

/** What the desk says, as messages for Discord: one, or several where it is long. None: there is nothing to show. */
export function bodies(outbound: Outbound, thread: string): Body[] {
  switch (outbound.kind) {
    case 'ask':
      return [askBody(outbound)];
    case 'say':
      return saying(outbound);
    case 'warn':
      return [warning(outbound)];
    case 'paper':
      return [{ ...silent, embeds: [{ description: card(outbound.card) }] }];
    case 'show':
      return texts(plain(outbound.alt));
    case 'whisper':
      return texts(plain(outbound.words));
    case 'handover':
    case 'settle':
      return [
        ...texts(plain(outbound.words)),
        ...(outbound.card.trim() === ''
          ? []
          : [{ ...silent, embeds: [{ description: card(outbound.card) }] }]),
      ];
    case 'bench':
      return [benchBody(outbound, thread)];
    case 'amend':
      return [
        {
          ...silent,
          content: cut(
            [
              `-# ${outbound.number > 0 ? `Step ${outbound.number} · ` : ''}${plain(outbound.title)}`,
              `**${plain(outbound.words)}**${outbound.by ? ` · ${plain(outbound.by)}` : ''}`,
            ].join('\n'),
            limits.content,
          ),
          embeds: [],
          components: [],
        },
      ];
    case 'form':
    case 'remind':
    case 'unremind':
      return [];
    default:
      return outbound satisfies never;
  }
}

const texts = (text: string): Body[] =>
  parts(text, limits.content).map((content) => ({ ...silent, content }));

function warning(warn: Extract<Outbound, { kind: 'warn' }>): Body {
  const title = `${warn.word}: ${plain(warn.instruction)}`;
  const below = [...(title.length > limits.title ? [warn.instruction] : []), warn.words]
    .map(plain)
    .join('\n\n')
    .trim();
  return {
    ...silent,
    embeds: [
      ...demonstration(warn),
      {
        color: colours[warn.word],
        title: line(title, limits.title),
        ...(below === '' ? {} : { description: cut(below, limits.card) }),
      },
    ],
  };
}

function saying(say: Extract<Outbound, { kind: 'say' }>): Body[] {
  if (say.words.startsWith('# '))
    return [{ ...silent, embeds: [...demonstration(say), { description: card(say.words) }] }];
  const list = (say.list ?? []).map((one, i) =>
    say.numbered ? `${i + 1}. ${plain(one)}` : `- ${plain(one)}`,
  );
  return texts(
    [...demonstration(say).map(({ description }) => `-# ${description}`), plain(say.words), ...list].join(
      '\n',
    ),
  );
}

const card = (markdown: string): string => cut(cardText(markdown), limits.card).trim() || '…';

const actLabels: Readonly<Record<BenchAct, string>> = {
  card: 'The job card',
  print: 'To print',
  similar: 'Earlier cases',
  take: 'I take it on',
  'take-here': 'I have it here',
  advise: 'Advise',
  result: 'Add a result',
  correct: 'Correct an answer',
  clear: 'Clear one tier',
  unflag: 'Not dangerous',
  safety: 'Electrical test',
  back: 'Back to the bot',
  settle: 'Settle',
};

/** A case in the menders' channel. */
function benchBody(bench: Bench, thread: string): Body {
  const place = thread.replace(/^discord:/, '').split('/')[0] ?? '';
  const where = /^\d+$/.test(place) ? ` · <#${place}>` : '';
  const since = `<t:${Math.floor(bench.since / 1000)}:R>`;
  const head = [
    `${bench.state === 'alert' ? '# ' : '### '}${bench.danger ? 'DANGER · ' : ''}${cut(plain(bench.title), 300)}`,
    cut(plain(bench.words), 1000),
    `-# ${bench.state === 'left' ? 'Handed over' : 'Waits since'} ${since}${where}`,
  ].join('\n');
  const whole = cardText(bench.card);
  const fits = whole.length <= limits.card;
  const buttons = bench.acts
    // The card stands there already where it is whole.
    .filter((act) => act !== 'card' || !fits)
    .map(
      (act): Button => ({
        type: 2,
        style: act === 'take' || act === 'take-here' ? 1 : 2,
        label: actLabels[act],
        custom_id: benchId(act, thread),
      }),
    );
  const rows: Row[] = [];
  for (let i = 0; i < buttons.length; i += 5) rows.push(row(buttons.slice(i, i + 5)));
  return {
    ...silent,
    content: cut(head, limits.content),
    embeds:
      whole.trim() === ''
        ? []
        : [
            {
              ...(bench.danger ? { color: colours.DANGER } : {}),
              description: cut(whole, limits.card),
            },
          ],
    components: rows,
  };
}

/** A form as a modal. */
export function modal(form: Form, thread: string) {
  return {
    title: line(form.title, limits.modalTitle),
    custom_id: formId(form.form, form.key, thread),
    components: form.fields.slice(0, 5).map((field) => {
      const options = offered(field);
      return {
        type: 18,
        label: line(field.label, limits.modalLabel),
        component: options.length > 0 ? select(field, options) : input(field),
      };
    }),
  };
}

/** At most 25; what Discord could not give back as it was is left out. */
function offered({ kind, options = [] }: FormField): Select['options'] {
  const ids = new Set<string>();
  return (kind === 'choice' ? options : [])
    .filter(({ id }) => {
      const usable = id.trim() !== '' && id.length <= 100 && id.isWellFormed() && !ids.has(id);
      ids.add(id);
      return usable;
    })
    .slice(0, 25)
    .map(({ id, label }) => ({ label: line(label, limits.option), value: id }));
}

const select = (field: FormField, options: Select['options']): Select => ({
  type: 3,
  custom_id: cut(field.id, 100),
  required: field.optional !== true,
  min_values: field.optional ? 0 : 1,
  max_values: 1,
  options,
});

const input = (field: FormField) => ({
  type: 4,
  custom_id: cut(field.id, 100),
  style: field.kind === 'words' ? 2 : 1,
  required: field.optional !== true,
  max_length: field.kind === 'words' ? 2000 : 200,
  ...(field.example.trim() === '' ? {} : { placeholder: line(field.example, limits.example) }),
});
