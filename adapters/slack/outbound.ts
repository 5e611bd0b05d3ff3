import type { Reply } from '../../shared/adapter.ts';
import type { Bench, BenchAct, Form, FormField, Outbound } from '../../shared/outbound.ts';
import { cut } from '../words.ts';
import { askBody, demonstration } from './ask.ts';
import {
  actions,
  type Block,
  type Body,
  button,
  context,
  divider,
  header,
  limits,
  plainText,
  section,
} from './blocks.ts';
import { type Tapped, write } from './ids.ts';
import { bare, cardLines, fitted, packed } from './text.ts';

/** What the desk says, as a message for Slack; null: there is nothing to show. `link` leads to the case's thread. */
export function body(outbound: Outbound, thread: string, link: string | null): Body | null {
  switch (outbound.kind) {
    case 'ask':
      return askBody(outbound);
    case 'say': {
      if (outbound.words.startsWith('# ')) return { ...carded(outbound.words), text: 'The job card' };
      const list = (outbound.list ?? []).map(
        (line, i) => `${outbound.numbered ? `${i + 1}.` : '•'} ${fitted(line, 2500)}`,
      );
      return saying([...lines(outbound.words), ...list], outbound);
    }
    case 'warn': {
      const text = `*${outbound.word}: ${fitted(outbound.instruction, 2500)}*`;
      return {
        text: fitted(`${outbound.word}: ${outbound.instruction}`, limits.fallback),
        blocks: [
          ...demonstration(outbound),
          divider,
          section(text),
          ...texts(outbound.words).slice(0, 10).map(section),
          divider,
        ],
      };
    }
    case 'paper':
      return { ...carded(outbound.card), text: 'The job card' };
    case 'show':
      return saying(lines(outbound.alt), outbound);
    case 'whisper':
      return saying(lines(outbound.words), outbound);
    case 'handover':
    case 'settle': {
      const card = outbound.card === '' ? [] : [divider, ...carded(outbound.card).blocks];
      const said = saying(lines(outbound.words), outbound);
      return { text: said.text, blocks: [...said.blocks, ...card].slice(0, limits.blocks) };
    }
    case 'bench':
      return benchBody(outbound, thread, link);
    case 'amend': {
      const head = `${outbound.number > 0 ? `Step ${outbound.number} · ` : ''}${outbound.title}`;
      const by = outbound.by ? ` · ${fitted(outbound.by, 200)}` : '';
      return {
        text: fitted(`${head}: ${outbound.words}`, limits.fallback),
        blocks: [context(`${fitted(head, 500)}\n*${fitted(outbound.words, 1000)}*${by}`)],
      };
    }
    case 'form':
    case 'remind':
    case 'unremind':
      return null;
    default:
      return outbound satisfies never;
  }
}

const lines = (words: string): string[] => words.split('\n').map((line) => fitted(line, 2900));
const texts = (words: string): string[] => packed(lines(words), limits.section);

function saying(all: readonly string[], one: { readonly mark?: 'demonstration' | undefined }): Body {
  const shown = packed(all, limits.section);
  return {
    text: cut(shown[0] ?? '…', limits.fallback),
    blocks: [...demonstration(one), ...shown.slice(0, 45).map(section)],
  };
}

function carded(card: string): Body {
  const shown = packed(cardLines(card), limits.section);
  const most = 40;
  return {
    text: 'The job card',
    blocks: [
      ...shown.slice(0, most).map(section),
      ...(shown.length > most ? [context('The rest does not fit here.')] : []),
    ],
  };
}

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
function benchBody(bench: Bench, thread: string, link: string | null): Body {
  const title = `${bench.danger ? 'DANGER · ' : ''}${bench.title}`;
  const seconds = Math.floor(bench.since / 1000);
  const when = `<!date^${seconds}^{date_short_pretty} {time}|${new Date(bench.since).toISOString().slice(0, 16)} UTC>`;
  const where = link === null || /[<>|\s]/.test(link) ? '' : ` · <${link}|to the thread>`;
  const buttons = bench.acts
    // The card stands there already.
    .filter((act) => act !== 'card')
    .map((act) =>
      button(
        `bench:${act}`,
        actLabels[act],
        write({ t: 'bench', act, thread }),
        act === 'take' || act === 'take-here' ? 'primary' : undefined,
      ),
    );
  const card: Block[] = bench.card === '' ? [] : [divider, ...carded(bench.card).blocks];
  return {
    text: fitted(`${title}: ${bench.words}`, limits.fallback),
    blocks: [
      ...(bench.state === 'left' ? [section(`*${fitted(title, 1000)}*`)] : [header(bare(title))]),
      ...texts(bench.words).slice(0, 3).map(section),
      context(`${bench.state === 'left' ? 'Handed over' : 'Waits since'} ${when}${where}`),
      ...card,
      ...(buttons.length > 0 ? [actions('acts', buttons)] : []),
    ],
  };
}

/** A form as a modal view. */
export function view(form: Form, thread: string) {
  return {
    type: 'modal',
    callback_id: 'mend_form',
    private_metadata: write({ thread, form: form.form, key: form.key.slice(0, 200) }),
    title: plainText(form.title, limits.viewTitle),
    submit: plainText('Send', limits.viewTitle),
    close: plainText('Cancel', limits.viewTitle),
    blocks: form.fields.slice(0, 5).map((field) => ({
      type: 'input',
      block_id: cut(field.id, 255),
      label: plainText(field.label, 200),
      optional: field.optional === true,
      element: field.kind === 'choice' ? (select(field) ?? input(field)) : input(field),
    })),
  };
}

/** Null where nothing can be chosen: then it is written. */
function select(field: FormField) {
  const options = (field.options ?? [])
    .filter(({ id }) => id !== '' && id.length <= limits.optionValue)
    .slice(0, limits.options)
    .map(({ id, label }) => ({ text: plainText(label === '' ? id : label, limits.option), value: id }));
  const once = options.filter(({ value }, i) => options.findIndex((other) => other.value === value) === i);
  return once.length === 0 ? null : { type: 'static_select', action_id: 'value', options: once };
}

const input = (field: FormField) => ({
  type: 'plain_text_input',
  action_id: 'value',
  multiline: field.kind === 'words',
  max_length: field.kind === 'words' ? 2000 : 200,
  ...(field.example === '' ? {} : { placeholder: plainText(field.example, limits.placeholder) }),
});

const sure = ({ flow }: NonNullable<Reply['confirm']>): Tapped =>
  flow === undefined ? { t: 'forget' } : { t: 'numbers', flow };

/** An answer to somebody's question about all cases, for them alone. */
export function replyBody(reply: Reply): Body {
  const shown = packed(
    [
      ...lines(reply.words),
      ...reply.cases.map((one, i) => `${i + 1}. ${one.danger ? '*DANGER* ' : ''}${fitted(one.words, 1500)}`),
    ],
    limits.section,
  );
  return {
    text: cut(shown[0] ?? '…', limits.fallback),
    blocks: [
      ...shown.slice(0, 45).map(section),
      ...(reply.confirm
        ? [actions('confirm', [button('forget', reply.confirm.label, write(sure(reply.confirm)), 'danger')])]
        : []),
    ],
  };
}

/** What the home tab shows to somebody. */
export const home = (reply: Reply | null) => ({
  type: 'home',
  blocks:
    reply === null
      ? [
          section(
            'I help to find out, step by step, what is wrong with an appliance. Write to me here in Messages, say what it does, or use */mend start* in a channel.',
          ),
        ]
      : replyBody(reply).blocks,
});
