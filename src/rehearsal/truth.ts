import type { Tables } from '../core/tables.ts';
import { density } from '../core/tables.ts';
import { type Random, random } from './random.ts';

/** One simulated appliance: its true fault, and what each check would show and each remedy would do. */
export interface Truth {
  readonly fault: number;
  readonly complaint: string | null;
  /** What the owner answers to a question about the appliance, among these choices. */
  detail(id: string, choices: readonly string[]): string;
  /** What the check really shows; the same each time it is looked at. */
  outcome(check: string): number;
  /** A reading in this band, under the true fault. */
  value(check: string, band: number): number;
  /** Whether this remedy, done for the n-th time, mends it. */
  cures(remedy: string, time: number): boolean;
  /** How somebody answers who is right with probability `trust` and guesses otherwise; `time` counts the asking. */
  reported(check: string, outcome: number, outcomes: number, trust: number, time: number): number;
}

/**
 * Draws case number `index`. With blur b > 0 the truth comes from a perturbed copy of the model, one for each seed, so
 * that the model does not judge itself: outcome rows from a Dirichlet around the file's row with strength 1/b², fault
 * weights times exp(b · N(0, 1)). (A copy of its own for each case would average out to the file's own numbers.)
 */
export function drawTruth(tables: Tables, seed: number, index: number, blur: number, trust: number): Truth {
  const chance = (...name: (string | number)[]): Random => random(seed, index, ...name);
  const weighing = random(seed, 'copy', 'weights');
  const weights = Array.from(tables.prior, (p) => (blur > 0 ? p * Math.exp(blur * weighing.normal()) : p));
  const fault = chance('fault').pick(weights);

  const row = (name: string, column: readonly number[]): readonly number[] => {
    if (blur === 0) return column;
    const draw = random(seed, 'copy', name, fault);
    const strength = 1 / (blur * blur);
    const parts = column.map((p) => (p > 0 ? draw.gamma(p * strength) : 0));
    const sum = parts.reduce((a, b) => a + b, 0);
    return sum > 0 ? parts.map((part) => part / sum) : column;
  };

  const complaints = [...tables.complaints.keys()];
  const stated = complaints.map((id) => tables.complaints.get(id)?.[fault] ?? 0);
  const other = Math.max(0, 1 - stated.reduce((a, b) => a + b, 0));
  const complaintRow = row('complaint', [...stated, other]);
  const complaintChance = chance('complaint');
  const really = complaintChance.pick(complaintRow);
  const told =
    complaintChance.next() < trust ? really : Math.floor(complaintChance.next() * complaintRow.length);

  const shown = new Map<string, number>();
  return {
    fault,
    complaint: complaints[told] ?? null,
    detail(id, choices) {
      const rows = tables.details.get(id);
      const told = choices.filter((choice) => rows?.has(choice));
      const weights = told.map((choice) => rows?.get(choice)?.[fault] as number);
      // Where no choice speaks of faults, the first is as good as any.
      return told[chance('detail', id).pick(weights)] ?? (choices[0] as string);
    },
    outcome(check) {
      const known = shown.get(check);
      if (known !== undefined) return known;
      const column = (tables.checks.get(check)?.rows ?? []).map((r) => r[fault] as number);
      const outcome = chance('check', check).pick(row(`check ${check}`, column));
      shown.set(check, outcome);
      return outcome;
    },
    value(check, band) {
      const reading = tables.checks.get(check)?.reading;
      if (!reading) return 0;
      const { min, max } = reading.model;
      const from = band === 0 ? min : Math.max(min, reading.below[band - 1] as number);
      const to = Math.min(max, reading.below[band] as number);
      // By the density within the band, over a grid: fine enough for a meter.
      const draw = chance('value', check, band);
      const grid = Array.from({ length: 200 }, (_, i) => from + ((i + draw.next()) / 200) * (to - from));
      const value = grid[draw.pick(grid.map((v) => density(reading, fault, v)))] as number;
      return Math.min(Math.max(Number(value.toPrecision(3)), from), to - (to - from) * 1e-6);
    },
    cures(remedy, time) {
      const cure = tables.cures.get(remedy)?.[fault] ?? 0;
      const [works] = row(`cure ${remedy}`, [cure, 1 - cure]);
      return chance('cure', remedy, time).next() < (works as number);
    },
    reported(check, outcome, outcomes, by, time) {
      const draw = chance('report', check, time);
      return draw.next() < by ? outcome : Math.floor(draw.next() * outcomes);
    },
  };
}
