import type { Answer } from '../../shared/case.ts';
import type { Level } from '../../shared/flow.ts';
import { density, type Tables } from './tables.ts';

/**
 * Answers to a belief over faults. One fault is there; checks are independent given the fault:
 * P(fault | answers) ∝ P(fault) · Π P(answer | fault). A remedy that did not help is evidence too.
 */

/** How much an answer is trusted, by the level of who gives it: the share of the flow's row in the mixture. */
export type Reliability = Readonly<Record<Level, number>>;

/** One answer as a row: P(answer | fault) by fault, up to a factor. `step` is what would be asked again. */
export interface Evidence {
  readonly seq: number;
  readonly step: string;
  readonly row: Float64Array;
}

/** Belief and P(answers), as the flow's model sees them. */
export interface Belief {
  /** By fault; sums to 1. */
  readonly faults: Float64Array;
  /** P(all answers); a density where readings are among them. 0 when the model rules them out. */
  readonly probability: number;
}

export function mix(row: Float64Array, trust: number, uniform: number): Float64Array {
  const mixed = new Float64Array(row.length);
  for (let f = 0; f < row.length; f++) mixed[f] = trust * (row[f] as number) + (1 - trust) * uniform;
  return mixed;
}

/** Everything answered so far that says something about faults, in order. "Not sure" and "can't" say nothing. */
export function evidence(tables: Tables, answers: readonly Answer[], reliability: Reliability): Evidence[] {
  const rows: Evidence[] = [];
  const complaint = answers.findLast((answer) => answer.kind === 'complaint-stated');
  for (const answer of answers) {
    // What it does now replaces what it did before a remedy changed it.
    if (answer.kind === 'complaint-stated' && answer !== complaint) continue;
    const one = evidenceOf(tables, answer, reliability[answer.level]);
    if (one) rows.push(one);
  }
  return rows;
}

/** The evidence of an answer, which never changes; a cache of a pure function. */
const known = new WeakMap<Answer, { tables: Tables; trust: number; evidence: Evidence | null }>();

function evidenceOf(tables: Tables, answer: Answer, trust: number): Evidence | null {
  const before = known.get(answer);
  if (before?.tables === tables && before.trust === trust) return before.evidence;
  const row = rowOf(tables, answer, trust);
  const evidence = row && { seq: answer.seq, step: stepOf(answer), row };
  known.set(answer, { tables, trust, evidence });
  return evidence;
}

function stepOf(answer: Answer): string {
  switch (answer.kind) {
    case 'complaint-stated':
      return 'complaint';
    case 'detail-stated':
      return answer.detail;
    case 'tested':
      return 'test';
    case 'level-stated':
    case 'meter-stated':
    case 'safety-tested':
      return answer.kind;
    default:
      return answer.step;
  }
}

function rowOf(tables: Tables, answer: Answer, trust: number): Float64Array | null {
  switch (answer.kind) {
    case 'complaint-stated': {
      const row = tables.complaints.get(answer.complaint);
      return row ? mix(row, trust, 1 / (tables.complaints.size + 1)) : null;
    }
    case 'detail-stated': {
      const row = tables.details.get(answer.detail)?.get(answer.choice);
      const choices = tables.flow.details.find((detail) => detail.id === answer.detail)?.choices.length ?? 1;
      return row ? mix(row, trust, 1 / choices) : null;
    }
    case 'answered': {
      const table = tables.checks.get(answer.step);
      const outcome = table?.outcomes.indexOf(answer.outcome) ?? -1;
      const row = table?.rows[outcome];
      return row && table ? mix(row, trust, 1 / table.rows.length) : null;
    }
    case 'read': {
      const reading = tables.checks.get(answer.step)?.reading;
      if (!reading) return null;
      const { min, max } = reading.model;
      const row = Float64Array.from(tables.faults, (_, f) => density(reading, f, answer.value));
      const least = tables.floor * row.reduce((a, b) => Math.max(a, b), 0);
      return mix(
        row.map((p) => Math.max(p, least)),
        trust,
        1 / (max - min),
      );
    }
    case 'tested':
      return answer.result === 'works' ? null : missed(tables, answer.remedies);
    default:
      return null;
  }
}

/** P(none of these remedies cures | fault), by fault. */
export function missed(tables: Tables, remedies: readonly string[]): Float64Array {
  const row = new Float64Array(tables.faults.length).fill(1);
  for (const remedy of remedies) {
    const cures = tables.cures.get(remedy);
    if (cures) for (let f = 0; f < row.length; f++) row[f] = (row[f] as number) * (1 - (cures[f] as number));
  }
  return row;
}

export function believe(prior: Float64Array, rows: readonly Evidence[]): Belief {
  const faults = prior.slice();
  for (const { row } of rows)
    for (let f = 0; f < faults.length; f++) faults[f] = (faults[f] as number) * (row[f] as number);
  let probability = 0;
  for (let f = 0; f < faults.length; f++) probability += faults[f] as number;
  if (probability > 0)
    for (let f = 0; f < faults.length; f++) faults[f] = (faults[f] as number) / probability;
  return { faults, probability };
}

/**
 * How badly the answers fit together: log Π P(e_i) / P(e), in nats (Jensen, Chamberlain, Nordahl & Jensen 1991,
 * "Analysis in HUGIN of data conflict"). Above 0 they speak against each other more than independent answers would.
 */
export function conflict(prior: Float64Array, rows: readonly Evidence[]): number {
  let sum = 0;
  for (const { row } of rows) {
    let probability = 0;
    for (let f = 0; f < prior.length; f++) probability += (prior[f] as number) * (row[f] as number);
    sum += Math.log(probability);
  }
  return sum - Math.log(believe(prior, rows).probability);
}

/** The answer without which the conflict is lowest, among those that `may` be asked again; null when none lowers it. */
export function suspect(
  prior: Float64Array,
  rows: readonly Evidence[],
  may: (one: Evidence) => boolean,
): Evidence | null {
  let best: Evidence | null = null;
  let lowest = conflict(prior, rows) - 1e-9;
  for (const one of rows) {
    if (!may(one)) continue;
    const without = conflict(
      prior,
      rows.filter((other) => other !== one),
    );
    if (without < lowest) {
      lowest = without;
      best = one;
    }
  }
  return best;
}
