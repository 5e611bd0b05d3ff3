import type { Case, Question, Unnumbered } from '../../shared/case.ts';
import type { Flow } from '../../shared/flow.ts';
import type { Ask, OfferedChoice } from '../../shared/outbound.ts';
import { coversOff } from './safety.ts';
import { type Library, libraryOf, type Settings } from './settings.ts';
import type { Who } from './turn.ts';
import { inline } from './wording.ts';
import { recognise } from './words/recognise.ts';

/**
 * Which appliance it is. The words suggest flows; none is taken without a tap. Where they also state a complaint, one tap
 * answers both: such an answer is `flow/complaint`.
 */

const entry = (flow: string, complaint: string): string => `${flow}/${complaint}`;

/** What the words may be about. Nobody is asked about more than three appliances. */
export function suggestions(words: string, library: Library): string[] {
  const found = library.find(words).slice(0, 3);
  const [first] = found;
  const flow = library.flows.find((one) => one.flow === first);
  const [only, ...others] = flow ? complaintsIn(words, flow) : [];
  return flow && only !== undefined && others.length === 0 ? [entry(flow.flow, only), ...found] : [...found];
}

/** The complaint the words state; two when they are as good as equal; none when they state none. */
export function complaintsIn(words: string, flow: Flow): string[] {
  const [first, second] = recognise(words, flow);
  if (!first) return [];
  return second && second.score > 0.8 * first.score ? [first.id, second.id] : [first.id];
}

const general = (flow: Flow): boolean => flow.general !== undefined;

export function applianceBody(
  question: Question,
  settings: Settings,
): Pick<Ask, 'phase' | 'title' | 'hazards' | 'how' | 'question' | 'choices'> {
  const flows = libraryOf(settings)?.flows ?? [];
  const ids = question.offered ?? [];
  const offered = ids.flatMap((id) => offer(id, flows, ids));
  const none = offered.length === 0;
  const kinds = new Set(ids.map((id) => id.split('/')[0]));
  const mended = flows.filter((flow) => !general(flow) && !flow.never_open);
  const known = [...new Set(mended.map(({ noun }) => inline(noun)))];
  return {
    phase: 'intake',
    title: 'Which appliance',
    hazards: [],
    how: none
      ? [
          'Write what it is in a word or two.',
          `I know these best: ${known.join(', ')}.`,
          'Anything else: choose below how it gets its power.',
        ]
      : [],
    question: none
      ? 'What kind of appliance is it?'
      : kinds.size === 1
        ? 'Do I understand you right?'
        : 'Which of these is it?',
    choices: [
      ...(none ? flows.filter(general).map(({ flow, title }) => ({ id: flow, label: title })) : offered),
      ...(none ? [] : [{ id: 'none', label: kinds.size === 1 ? 'No, another appliance' : 'None of these' }]),
      { id: 'danger', label: 'Smoke, sparks, a bang, a shock, or a burning smell' },
    ],
  };
}

function offer(id: string, flows: readonly Flow[], all: readonly string[]): OfferedChoice[] {
  const [name, complaint] = id.split('/');
  const flow = flows.find((one) => one.flow === name);
  if (!flow) return [];
  const beside = complaint === undefined && all.some((other) => other.startsWith(`${id}/`));
  return [{ id, label: beside ? `${flow.title}, but something else is wrong` : entryWords(flow, complaint) }];
}

export function entryWords(flow: Flow, complaint: string | undefined): string {
  const label = flow.complaints.find((one) => one.id === complaint)?.label;
  return label === undefined ? flow.title : `${flow.title}: ${inline(label)}`;
}

/** A tap on an appliance, as events. `level` is that of whoever answers. */
export function applianceTaken(
  kase: Case,
  id: string,
  who: Who,
  level: Extract<Unnumbered, { kind: 'complaint-stated' }>['level'],
  library: Library,
): Unnumbered[] {
  if (id === 'none') return [{ ...who, kind: 'suggested', appliances: [] }];
  const [name, complaint] = id.split('/');
  const flow = library.flows.find((one) => one.flow === name);
  if (!flow) return [];
  const taken: Unnumbered = { ...who, kind: 'flow-taken', flow: flow.flow, version: flow.version };
  return complaint === undefined
    ? [taken, { ...who, kind: 'proposed', complaints: complaintsIn(kase.words.join('. '), flow) }]
    : [taken, { ...who, level, kind: 'complaint-stated', complaint }];
}

/** Whether it can still turn out to be another appliance: as long as nothing of it is open. */
export const mayBeAnother = (kase: Case, settings: Settings): boolean =>
  libraryOf(settings) !== null && kase.flow !== null && coversOff(kase) === 0;
