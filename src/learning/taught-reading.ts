import type { Expectation, ReadingModel } from '../../shared/flow.ts';
import { bandOf, type Tables } from '../core/tables.ts';
import type { Distribution } from './learnt.ts';

type Outcomes = Extract<Distribution, { kind: 'outcomes' }>;
interface Piece {
  readonly band: number;
  readonly share: number;
  as(share: number): Expectation;
}

/**
 * What the meter would show, so that each band gains or loses what was learnt: what the file expects in a band (by its middle) weighs
 * more or less, and a band in which the file expects nothing gets an even part. How readings lie within a band is not learnt.
 */
export function taughtReading(
  tables: Tables,
  check: string,
  model: ReadingModel,
  learnt: readonly Outcomes[],
): ReadingModel {
  const table = tables.checks.get(check);
  const reading = table?.reading;
  if (!table || !reading) return model;
  const ends = reading.below.map((to, b): readonly [number, number] => [
    b === 0 ? model.min : Math.max(model.min, reading.below[b - 1] as number),
    Math.min(model.max, to),
  ]);
  const expect: ReadingModel['expect'] = { ...model.expect };
  for (const { fault, shares } of learnt) {
    const f = tables.faults.indexOf(fault);
    const pieces = (reading.components[f] ?? []).flatMap((part): Piece[] => {
      if (part.kind === 'even') return inBands(part, ends);
      const at = { at: part.mean, within: within(part, model) };
      return [{ band: bandOf(reading, part.mean), share: part.share, as: (share) => ({ ...at, share }) }];
    });
    const parts = table.outcomes.flatMap((name, b): Expectation[] => {
      const here = pieces.filter(({ band }) => band === b);
      const was = here.reduce((sum, { share }) => sum + share, 0);
      // Outliers are in every band's share, learnt or not, and fall out of the difference.
      const file = table.rows[b]?.[f] as number;
      const more = ((shares[name]?.mean ?? file) - file) / (1 - model.outliers);
      const is = Math.min(1, Math.max(0, was + more));
      if (is < 1e-9) return [];
      if (was > 0) return here.map((piece) => piece.as((piece.share * is) / was));
      const [from, to] = ends[b] as readonly [number, number];
      return to > from ? [{ from, to, share: is }] : [];
    });
    if (parts.length > 0) expect[fault] = parts;
  }
  return { ...model, expect };
}

/** An even range, cut where bands end. */
function inBands(
  part: { readonly share: number; readonly from: number; readonly to: number },
  ends: readonly (readonly [number, number])[],
): Piece[] {
  const pieces = ends.map(([low, high], band) => {
    const [from, to] = [
      band === 0 ? part.from : Math.max(part.from, low),
      band === ends.length - 1 ? part.to : Math.min(part.to, high),
    ];
    const share = (part.share * Math.max(0, to - from)) / (part.to - part.from);
    return { band, share, as: (share: number): Expectation => ({ from, to, share }) };
  });
  return pieces.filter(({ share }) => share > 0);
}

/** The half-width that gives this deviation again once the meter's own tolerance is added to it. */
const within = (
  { mean, deviation }: { readonly mean: number; readonly deviation: number },
  { meter }: ReadingModel,
): number => Math.sqrt(Math.max(1e-18, (2 * deviation) ** 2 - (meter * mean) ** 2));
