import type { Expectation, ReadingModel } from '../../shared/flow.ts';
import type { Tables } from '../core/tables.ts';
import type { Distribution } from './learnt.ts';

type Outcomes = Extract<Distribution, { kind: 'outcomes' }>;

/**
 * What the meter would show, so that each band has its learnt share: as much as possible of what the file expects, and the rest spread
 * evenly over the bands that lack it. (How readings lie within a band is not learnt.)
 */
export function taughtReading(
  tables: Tables,
  check: string,
  model: ReadingModel,
  learnt: readonly Outcomes[],
): ReadingModel {
  const table = tables.checks.get(check);
  if (!table?.reading) return model;
  const { below } = table.reading;
  const { min, max, outliers } = model;
  const ends = below.map((to, b): readonly [number, number] => [
    Math.max(min, b === 0 ? min : (below[b - 1] as number)),
    Math.min(max, to),
  ]);
  // Bands hold outliers too; they are not what the fault makes the meter show.
  const expected = (share: number, b: number): number => {
    const [from, to] = ends[b] as readonly [number, number];
    return Math.max(0, share - (outliers * Math.max(0, to - from)) / (max - min));
  };
  const expect: Record<string, Expectation[]> = {};
  for (const { fault, shares } of learnt) {
    const f = tables.faults.indexOf(fault);
    const was = scaled(table.rows.map((row, b) => expected(row[f] as number, b)));
    const is = scaled(table.outcomes.map((band, b) => expected(shares[band]?.mean ?? 0, b)));
    const kept = Math.min(1, ...was.map((p, b) => (p > 0 ? (is[b] as number) / p : 1)));
    const parts = (table.reading.components[f] ?? []).map(
      (part): Expectation =>
        part.kind === 'even'
          ? { from: part.from, to: part.to, share: part.share * kept }
          : { at: part.mean, within: within(part, model), share: part.share * kept },
    );
    const spread = ends.flatMap(([from, to], b): Expectation[] => {
      const share = (is[b] as number) - kept * (was[b] as number);
      return share > 1e-9 && to > from ? [{ from, to, share }] : [];
    });
    expect[fault] = [...parts, ...spread].filter(({ share }) => share > 0);
    if (expect[fault].length === 0) delete expect[fault];
  }
  return { ...model, expect: { ...model.expect, ...expect } };
}

/** The half-width that gives this deviation again once the meter's own tolerance is added to it. */
function within({ mean, deviation }: { mean: number; deviation: number }, { meter }: ReadingModel): number {
  return Math.sqrt(Math.max(1e-18, (2 * deviation) ** 2 - (meter * mean) ** 2));
}

const scaled = (shares: readonly number[]): number[] => {
  const total = shares.reduce((a, b) => a + b, 0);
  return shares.map((share) => (total > 0 ? share / total : 1 / shares.length));
};
