import type { Flow } from '../../shared/flow.ts';
import { bandOf, type Tables } from '../core/tables.ts';
import type { SettledCase } from './settled.ts';

/**
 * Settled cases most like a given one: the same appliance, and the answers that agree. Ids and numbers alone, nobody's words.
 *
 * What an agreement is worth is its surprise, −log of the share of settled cases that gave this answer among those that were asked
 * (Shannon's self-information, in nats): two radios that are both under no guarantee any more have little in common, two that both
 * hum when touched have much. The share is (n + 1) / (asked + answers possible), Laplace's rule of succession, so that the first few
 * cases are not taken for the whole world. A disagreement takes log 2 off whatever the answer is, since a rare answer is not shared by
 * most cases anyway. What either of the two was not asked, or was not known, counts nothing. A detail that the flow marks as make or
 * model counts twice.
 */

/** What of a case is compared. */
export type Asked = Pick<SettledCase, 'id' | 'flow' | 'complaint' | 'details' | 'seen' | 'demonstration'>;

export interface Alike {
  readonly settled: SettledCase;
  /** Nats, above 0. */
  readonly score: number;
}

export interface CaseIndex {
  /** By flow, and whether they are demonstrations: those are compared among themselves alone. */
  readonly shelves: Map<string, Shelf>;
  /** By id, where it stands. */
  readonly places: Map<string, string>;
}

interface Shelf {
  readonly cases: Map<string, { readonly settled: SettledCase; readonly answers: Answers }>;
  /** How many gave each answer, by question. */
  readonly counts: Map<string, Map<string, number>>;
}

/** By question, such as `check dial-lamp`. */
type Answers = ReadonlyMap<string, string>;

const disagreement = Math.log(2);
const named = 2;

export const newIndex = (): CaseIndex => ({ shelves: new Map(), places: new Map() });

/** Puts a case in, in place; one with its id that was there before is replaced. */
export function addSettled(index: CaseIndex, settled: SettledCase, tables: Tables): void {
  removeSettled(index, settled.id);
  const place = placeOf(settled);
  const shelf = index.shelves.get(place) ?? { cases: new Map(), counts: new Map() };
  index.shelves.set(place, shelf);
  index.places.set(settled.id, place);
  const answers = answersOf(settled, tables);
  shelf.cases.set(settled.id, { settled, answers });
  for (const [question, answer] of answers) {
    const counts = shelf.counts.get(question) ?? new Map<string, number>();
    shelf.counts.set(question, counts.set(answer, (counts.get(answer) ?? 0) + 1));
  }
}

/** Takes a case out, in place; false where it is not there. */
export function removeSettled(index: CaseIndex, id: string): boolean {
  const place = index.places.get(id);
  const shelf = index.shelves.get(place ?? '');
  const gone = shelf?.cases.get(id);
  if (!shelf || !gone) return false;
  index.places.delete(id);
  shelf.cases.delete(id);
  for (const [question, answer] of gone.answers) {
    const counts = shelf.counts.get(question);
    counts?.set(answer, (counts.get(answer) ?? 0) - 1);
  }
  return true;
}

/** At most `limit`, the most alike first, of equals the newest; never the case itself, and none that has more against than for it. */
export function similar(asked: Asked, tables: Tables, index: CaseIndex, limit: number): Alike[] {
  const shelf = index.shelves.get(placeOf(asked));
  if (!shelf) return [];
  const questions = [...answersOf(asked, tables)].map(([question, answer]) => {
    const times = marksOf(question, tables.flow) ? named : 1;
    return { question, answer, times, worth: -Math.log(shareOf(question, answer, shelf, tables.flow)) };
  });
  const alike: Alike[] = [];
  for (const { settled, answers } of shelf.cases.values()) {
    if (settled.id === asked.id) continue;
    const score = questions.reduce((sum, { question, answer, times, worth }) => {
      const other = answers.get(question);
      return other === undefined ? sum : sum + times * (other === answer ? worth : -disagreement);
    }, 0);
    if (score > 0) alike.push({ settled, score });
  }
  return alike.sort(before).slice(0, limit);
}

/** Scores that differ by rounding alone are equal. */
const before = (a: Alike, b: Alike): number =>
  Math.round((b.score - a.score) * 1e9) ||
  b.settled.settled - a.settled.settled ||
  (a.settled.id < b.settled.id ? -1 : 1);

const placeOf = ({ flow, demonstration }: Pick<Asked, 'flow' | 'demonstration'>): string =>
  `${flow}${demonstration ? ' demonstration' : ''}`;

/** What was answered that the flow still asks; a reading by its band. */
function answersOf({ flow, complaint, details, seen }: Asked, tables: Tables): Answers {
  const answers = new Map<string, string>();
  if (flow !== tables.flow.flow) return answers;
  const put = (question: string, answer: string): void => {
    if (possible(question, tables.flow).includes(answer)) answers.set(question, answer);
  };
  if (complaint !== null) put('complaint', complaint);
  for (const [detail, choice] of Object.entries(details)) put(`detail ${detail}`, choice);
  for (const { check, outcome, value } of seen) {
    const table = tables.checks.get(check);
    const band = table?.reading && value !== null ? table.outcomes[bandOf(table.reading, value)] : undefined;
    const answer = outcome ?? band;
    if (answer !== undefined) put(`check ${check}`, answer);
  }
  return answers;
}

function possible(question: string, flow: Flow): readonly string[] {
  if (question === 'complaint') return flow.complaints.map(({ id }) => id);
  const id = question.slice(question.indexOf(' ') + 1);
  if (question.startsWith('detail '))
    return (flow.details.find((one) => one.id === id)?.choices ?? [])
      .filter((choice) => !choice.not_known)
      .map((choice) => choice.id);
  const check = flow.checks.find((one) => one.id === id);
  return (check?.outcomes ?? check?.reading?.bands ?? []).map((outcome) => outcome.id);
}

function shareOf(question: string, answer: string, { counts }: Shelf, flow: Flow): number {
  const given = counts.get(question);
  const asked = [...(given?.values() ?? [])].reduce((sum, n) => sum + n, 0);
  return ((given?.get(answer) ?? 0) + 1) / (asked + possible(question, flow).length);
}

const marksOf = (question: string, flow: Flow): boolean =>
  flow.details.some(({ id, names }) => names !== undefined && question === `detail ${id}`);
