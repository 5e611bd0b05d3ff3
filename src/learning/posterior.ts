import { Level } from '../../shared/flow.ts';
import { mix, type Reliability } from '../core/infer.ts';
import type { Tables } from '../core/tables.ts';
import { betaQuantile } from '../rehearsal/beta.ts';
import { cureCell, detailCell, faultCell, noComplaint, seenCell } from './cells.ts';
import type { Weighted } from './counts.ts';

/** The file's numbers and what was counted, together: Dirichlet and Beta distributions, by mean and 95 % interval. */

/** As how many cases the file's numbers count; and, for one make or model, the community's. */
export interface Strengths {
  readonly faults: number;
  readonly complaints: number;
  readonly cures: number;
  readonly outcomes: number;
  readonly pooling: number;
}

export interface LearnSettings {
  readonly strength: Strengths;
  readonly reliability: Reliability;
}

/** A number, with the file's own beside it and what was counted for it. */
export interface Figure {
  readonly file: number;
  readonly mean: number;
  /**
   * Equal-tailed, 95 %, for whoever takes the file to be as far off as the strength says. Where it is further off, the truth lies
   * outside more often until many cases are in (measured in `tests/learning/coverage.test.ts`).
   */
  readonly low: number;
  readonly high: number;
  readonly count: number;
}

export interface Interval {
  readonly mean: number;
  readonly low: number;
  readonly high: number;
}

/** Of Beta(a, b). */
export function betaFigure(a: number, b: number): Interval {
  return { mean: a / (a + b), low: betaQuantile(0.025, a, b), high: 1 - betaQuantile(0.025, b, a) };
}

/** Of every component of a Dirichlet: each alone is Beta(α, the others' sum). */
export function dirichletFigures(alphas: readonly number[]): Interval[] {
  const total = alphas.reduce((a, b) => a + b, 0);
  return alphas.map((alpha) => betaFigure(alpha, total - alpha));
}

/** What no case is ever confirmed to be. Its share stays the file's, or every case that could be named would lessen it. */
export const unnamed = 'something-else';

/** Complaints, then the one that is none of them. */
export const complaintsOf = (tables: Tables): string[] => [...tables.complaints.keys(), noComplaint];

/** P(complaint stated and fault) by the file: rows by complaint as in `complaintsOf`, columns by fault; all sum to 1. */
export function statedJoint(tables: Tables, reliability: Reliability): Float64Array[] {
  const rows = [...tables.complaints.values()];
  const rest = tables.prior.map((_, f) =>
    Math.max(
      0,
      rows.reduce((left, row) => left - (row[f] as number), 1),
    ),
  );
  return [...rows, rest].map((row) =>
    mix(row, reliability.handy, 1 / (rows.length + 1)).map((p, f) => p * (tables.prior[f] as number)),
  );
}

const sum = (values: Iterable<number>): number => {
  let total = 0;
  for (const value of values) total += value;
  return total;
};
export const normalised = (row: Float64Array): Float64Array => {
  const total = sum(row);
  return row.map((p) => p / total);
};

/** P(fault | complaint), by fault. */
export function faultsGiven(
  tables: Tables,
  counts: Weighted,
  complaint: string,
  settings: LearnSettings,
): Figure[] {
  const base = fileGiven(tables, complaint, settings);
  const seen = tables.faults.map((fault) => counts.cells.get(faultCell(complaint, fault)) ?? 0);
  return overFaults(tables, base, base, settings.strength.faults, seen);
}

/**
 * P(fault | complaint, choice): a make with few cases keeps to what the rest of the community has seen (its own cases are not
 * counted twice), leaning as the file says that the choice leans.
 */
export function faultsOfChoice(
  tables: Tables,
  counts: Weighted,
  of: { readonly detail: string; readonly choice: string; readonly complaint: string },
  settings: LearnSettings,
): Figure[] {
  const own = tables.faults.map(
    (fault) => counts.cells.get(detailCell(of.detail, of.choice, of.complaint, fault)) ?? 0,
  );
  const rest = tables.faults.map((fault, f) =>
    Math.max(0, (counts.cells.get(faultCell(of.complaint, fault)) ?? 0) - (own[f] as number)),
  );
  const file = fileGiven(tables, of.complaint, settings);
  const community = overFaults(tables, file, file, settings.strength.faults, rest).map(({ mean }) => mean);
  const row = tables.details.get(of.detail)?.get(of.choice);
  const leaning = (p: number, f: number): number => p * (row?.[f] ?? 1);
  return overFaults(
    tables,
    normalised(file.map(leaning)),
    normalised(Float64Array.from(community, leaning)),
    settings.strength.pooling,
    own,
  );
}

/** P(complaint stated), by `complaintsOf`. */
export function complaintShares(tables: Tables, counts: Weighted, settings: LearnSettings): Figure[] {
  const base = statedJoint(tables, settings.reliability).map(sum);
  const seen = complaintsOf(tables).map((complaint) =>
    sum(tables.faults.map((fault) => counts.cells.get(faultCell(complaint, fault)) ?? 0)),
  );
  const alphas = base.map((p, c) => settings.strength.complaints * p + (seen[c] as number));
  return dirichletFigures(alphas).map((one, c) => ({
    file: base[c] as number,
    ...one,
    count: seen[c] as number,
  }));
}

/** P(it works afterwards | fault). `count`: times it was tried. Null: the file says never, and nobody has seen otherwise. */
export function cureRate(
  tables: Tables,
  counts: Weighted,
  of: { readonly remedy: string; readonly fault: string },
  settings: LearnSettings,
): Figure | null {
  const file = tables.cures.get(of.remedy)?.[tables.faults.indexOf(of.fault)] ?? 0;
  const worked = counts.cells.get(cureCell(of.remedy, of.fault, 'worked')) ?? 0;
  const not = counts.cells.get(cureCell(of.remedy, of.fault, 'not')) ?? 0;
  if (file === 0 && worked === 0) return null;
  const base = Math.min(Math.max(file, tables.floor), 1 - tables.floor) * settings.strength.cures;
  return {
    file,
    ...betaFigure(base + worked, settings.strength.cures - base + not),
    count: worked + not,
  };
}

/**
 * P(outcome | fault) of a check, by outcome. What was reported is what was there, or (by who reported it) a guess: each report
 * counts as far as it is not a guess, which is worked out by turns (expectation and maximisation). A guess hides something, so the
 * intervals are those of fewer reports: as many as know as much, by the information of a share seen through guesses,
 * t² / (r (1 - r)) with r = t q + (1 - t) / outcomes, over that of a share seen plainly, 1 / (q (1 - q)). Trust 1: a plain Dirichlet.
 */
export function outcomeShares(
  tables: Tables,
  counts: Weighted,
  of: { readonly check: string; readonly fault: string },
  settings: LearnSettings,
): Figure[] {
  const table = tables.checks.get(of.check);
  if (!table) return [];
  const f = tables.faults.indexOf(of.fault);
  const file = table.rows.map((row) => row[f] as number);
  const guess = 1 / file.length;
  const reports = Level.options.map((level) =>
    table.outcomes.map((outcome) => counts.cells.get(seenCell(of.check, of.fault, level, outcome)) ?? 0),
  );
  let shares: readonly number[] = file;
  for (let turn = 0; turn < 200; turn++) {
    const alphas = file.map((p, o) => {
      let alpha = settings.strength.outcomes * p;
      for (const [l, level] of Level.options.entries()) {
        const meant = settings.reliability[level] * (shares[o] as number);
        alpha += ((reports[l]?.[o] ?? 0) * meant) / (meant + (1 - settings.reliability[level]) * guess);
      }
      return alpha;
    });
    const total = sum(alphas);
    const next = alphas.map((alpha) => alpha / total);
    const moved = Math.max(...next.map((p, o) => Math.abs(p - (shares[o] as number))));
    shares = next;
    if (moved < 1e-12) break;
  }
  const said = reports.map(sum);
  return shares.map((q, o) => {
    const known = Level.options.map((level, l) => {
      const trust = settings.reliability[level];
      const r = trust * q + (1 - trust) * guess;
      return ((said[l] as number) * trust * trust * q * (1 - q)) / (r * (1 - r));
    });
    const strength = settings.strength.outcomes + sum(known);
    return {
      file: file[o] as number,
      ...betaFigure(strength * q, strength * (1 - q)),
      mean: q,
      count: sum(reports.map((row) => row[o] as number)),
    };
  });
}

function fileGiven(tables: Tables, complaint: string, { reliability }: LearnSettings): Float64Array {
  const row = statedJoint(tables, reliability)[complaintsOf(tables).indexOf(complaint)];
  return row ? normalised(row) : tables.prior;
}

/** Dirichlet over the faults that have names, within the share that the base leaves them. */
function overFaults(
  tables: Tables,
  file: Float64Array,
  base: Float64Array,
  strength: number,
  seen: readonly number[],
): Figure[] {
  const other = tables.faults.indexOf(unnamed);
  const left = 1 - (other < 0 ? 0 : (base[other] as number));
  const named = tables.faults.map((_, f) => f).filter((f) => f !== other);
  const figures = dirichletFigures(
    named.map((f) => (strength * (base[f] as number)) / left + (seen[f] as number)),
  );
  return tables.faults.map((_, f) => {
    const one = figures[named.indexOf(f)];
    const p = base[f] as number;
    const shown = one
      ? { mean: one.mean * left, low: one.low * left, high: one.high * left }
      : { mean: p, low: p, high: p };
    return { file: file[f] as number, ...shown, count: seen[f] as number };
  });
}
