import type { FormName } from '../../shared/inbound.ts';
import type { Form, FormField, OfferedChoice, Outbound } from '../../shared/outbound.ts';
import { Barrier, RepairOutcome } from '../../shared/outcome.ts';
import type { Role } from '../../shared/person.ts';
import { mayAct } from './act.ts';
import { askMessage } from './ask.ts';
import { classWords } from './closing-words.ts';
import { answerWords, nameOf, suspects } from './explain.ts';
import { flagWords } from './flag-words.ts';
import type { View } from './next.ts';
import { levelOf, mayClear } from './safety.ts';
import type { Who } from './turn.ts';
import { sentence } from './wording.ts';

/** Forms that a platform opens when somebody taps what needs words. Nothing of them is kept until they come back filled in. */

/** So many can be chosen from in a form of any platform; what a mender does not find there is written in its place. */
const offeredAtMost = 25;

export function formFor(
  view: View,
  form: FormName,
  of: string | undefined,
  roles: readonly Role[],
  who: Who,
): Outbound {
  const whisper = (words: string): Outbound => ({ kind: 'whisper', to: who.by, words });
  if (form === 'reading')
    return readingForm(view, of, who) ?? whisper('I am not waiting for a number just now.');
  const refused = mayAct(form, roles);
  if (refused !== null) return whisper(refused);
  const { title, fields } = actForm(view, form);
  const empty = fields.find(({ kind, options }) => kind === 'choice' && options?.length === 0);
  if (empty) return whisper(nothingThere[form] ?? 'There is nothing to choose from.');
  return { kind: 'form', key: form, to: who.by, form, title, fields: [...fields] };
}

const nothingThere: Partial<Record<FormName, string>> = {
  correct: 'There is no answer in this case that could be corrected.',
  clear: 'Whoever has it may do everything already that anybody could clear.',
  unflag: 'There is no such sign of danger open.',
  safety: 'No electrical test is called for here: it has no mains plug.',
  result: 'The guide of this appliance has no checks.',
};

function readingForm(view: View, of: string | undefined, who: Who): Form | null {
  const { kase, tables, settings } = view;
  const { question } = kase;
  if (!question || (of !== undefined && of !== question.key)) return null;
  const ask = askMessage(question, kase, tables.flow, settings, null, []);
  if (!ask.reading) return null;
  const { unit, current, example } = ask.reading;
  const kind = current === undefined ? '' : current === 'dc' ? ' d.c.' : ' a.c.';
  return {
    kind: 'form',
    key: question.key,
    to: who.by,
    form: 'reading',
    title: ask.title,
    fields: [{ id: 'reading', label: `What the meter shows (${unit}${kind})`, kind: 'line', example }],
  };
}

const field = (id: string, label: string, kind: 'line' | 'words', example = ''): FormField => ({
  id,
  label,
  kind,
  example,
});
const choice = (id: string, label: string, options: readonly OfferedChoice[]): FormField => ({
  id,
  label,
  kind: 'choice',
  example: '',
  options: options.slice(0, offeredAtMost),
});
const named = (all: readonly string[]): OfferedChoice[] => all.map((one) => ({ id: one, label: one }));

const passedOrFailed: readonly OfferedChoice[] = [
  { id: 'passed', label: 'Passed' },
  { id: 'failed', label: 'Failed' },
];

function actForm(
  view: View,
  form: Exclude<FormName, 'reading'>,
): { readonly title: string; readonly fields: readonly FormField[] } {
  const { kase, tables } = view;
  const { flow } = tables;
  switch (form) {
    case 'advise':
      return { title: 'Advise', fields: [field('words', 'Your words, into the thread', 'words')] };
    case 'result': {
      const done = new Set(kase.answers.flatMap((answer) => ('step' in answer ? [answer.step] : [])));
      const order = [...tables.checks.keys()].sort(
        (a, b) =>
          Number(b === kase.handover?.next) - Number(a === kase.handover?.next) ||
          Number(done.has(a)) - Number(done.has(b)),
      );
      return {
        title: 'Add a result',
        fields: [
          choice(
            'step',
            'What was checked',
            order.map((id) => ({ id, label: nameOf(id, flow) })),
          ),
          field('answer', 'What was seen or measured', 'line', '4.97 V, or an answer in its words'),
        ],
      };
    }
    case 'correct': {
      const answers = kase.answers.filter((answer) => answer.kind === 'answered' || answer.kind === 'read');
      const latest = new Map(answers.map((answer) => [answer.step, answer]));
      return {
        title: 'Correct an answer',
        fields: [
          choice(
            'step',
            'Which one',
            [...latest].map(([id, answer]) => ({ id, label: answerWords(answer, flow) })),
          ),
          field('answer', 'What is right', 'line', '4.97 V, or an answer in its words'),
        ],
      };
    }
    case 'clear': {
      const level = levelOf(kase);
      const tiers = [
        { id: 'cold', label: 'Inside, unplugged and proven discharged' },
        { id: 'live', label: 'Inside with power on' },
      ] as const;
      return {
        title: 'Clear one tier',
        fields: [
          choice(
            'tier',
            'For whoever has it',
            tiers.filter(({ id }) => mayClear(level, id)),
          ),
          field('reason', 'Why; it stays with the case', 'words', 'We talked; an electrician stays there'),
        ],
      };
    }
    case 'unflag':
      return {
        title: 'Not dangerous',
        fields: [
          choice(
            'flag',
            'Which sign of danger',
            kase.flags.map(({ flag }) => ({ id: flag, label: sentence(flagWords[flag].name) })),
          ),
          field('reason', 'What was found; it stays with the case', 'words'),
        ],
      };
    case 'safety':
      return {
        title: 'Electrical test',
        fields: [
          choice(
            'class',
            'Class of protection',
            (flow.protection?.classes ?? []).map((one) => ({ id: String(one), label: classWords[one] })),
          ),
          choice('visual', 'Looked over: lead, plug, fuse, covers', passedOrFailed),
          { ...field('earth', 'Earth, ohm; class I only', 'line', '0.12'), optional: true },
          field('insulation', 'Insulation, Mohm', 'line', '20'),
          choice('function', 'Run and watched', passedOrFailed),
        ],
      };
    case 'settle':
      return {
        title: 'Settle the case',
        fields: [
          choice('outcome', 'How it ended', named(RepairOutcome.options)),
          {
            ...choice(
              'fault',
              'What it was',
              suspects(view).map(({ fault, name }) => ({ id: fault, label: name })),
            ),
            optional: true,
          },
          {
            ...choice('barrier', 'Only at end of life: what stood in the way', named(Barrier.options)),
            optional: true,
          },
        ],
      };
    default:
      return form satisfies never;
  }
}
