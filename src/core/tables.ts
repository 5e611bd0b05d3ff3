import type { Expectation, Flow, ReadingModel, Sparse } from '../../shared/flow.ts';

/**
 * A flow's sparse numbers written out as full tables, once: rows by outcome, columns by fault, with the floor put in.
 * Everything that reasons (belief, plan, rehearsal) reads these and never the sparse form.
 */
export interface Tables {
  readonly flow: Flow;
  readonly faults: readonly string[];
  /** P(fault), sums to 1. */
  readonly prior: Float64Array;
  /** P(complaint | fault) by complaint id. */
  readonly complaints: ReadonlyMap<string, Float64Array>;
  /** By detail and choice; a choice that says nothing about faults is absent. */
  readonly details: ReadonlyMap<string, ReadonlyMap<string, Float64Array>>;
  readonly checks: ReadonlyMap<string, CheckTable>;
  /** P(it works afterwards | fault), at most 1 − floor. */
  readonly cures: ReadonlyMap<string, Float64Array>;
  readonly floor: number;
}

export interface CheckTable {
  /** Outcome ids; for a reading, its bands. */
  readonly outcomes: readonly string[];
  /** P(outcome | fault); every column sums to 1. */
  readonly rows: readonly Float64Array[];
  readonly reading: ReadingTable | null;
}

export interface ReadingTable {
  readonly model: ReadingModel;
  /** Upper ends of the bands; the last is +Infinity. */
  readonly below: readonly number[];
  /** By fault: what the meter would show. */
  readonly components: readonly (readonly Component[])[];
}

type Component =
  | { readonly kind: 'normal'; readonly share: number; readonly mean: number; readonly deviation: number }
  | { readonly kind: 'even'; readonly share: number; readonly from: number; readonly to: number };

export interface TableSettings {
  readonly floor: number;
  /** The community's mains, r.m.s. volts. */
  readonly mainsVolts: number;
}

export function tabulate(flow: Flow, settings: TableSettings): Tables {
  const faults = flow.faults.map((fault) => fault.id);
  const total = flow.faults.reduce((sum, fault) => sum + fault.weight, 0);
  const row = (sparse: Sparse): Float64Array =>
    Float64Array.from(faults, (fault) => lookUp(sparse, fault, flow.groups) ?? 0);

  const complaintRows = flow.complaints.map((complaint) => row(complaint.likely));
  // What is left to 1 is "some other complaint"; it takes part in the floor and is then dropped.
  const complaints = floored([...complaintRows, rest(complaintRows, faults.length)], settings.floor);

  const details = new Map<string, ReadonlyMap<string, Float64Array>>();
  for (const detail of flow.details) {
    const choices = new Map<string, Float64Array>();
    for (const choice of detail.choices) {
      if (choice.likely)
        choices.set(
          choice.id,
          row(choice.likely).map((p) => Math.min(Math.max(p, settings.floor), 1 - settings.floor)),
        );
    }
    if (choices.size > 0) details.set(detail.id, choices);
  }

  const checks = new Map<string, CheckTable>();
  for (const check of flow.checks) {
    if (check.reading) {
      const reading = tabulateReading(check.reading, faults, flow, settings);
      const rows = reading.below.map((_, band) =>
        Float64Array.from(faults, (_fault, f) => bandProbability(reading, f, band)),
      );
      checks.set(check.id, {
        outcomes: check.reading.bands.map((band) => band.id),
        rows: floored(rows, settings.floor),
        reading,
      });
    } else {
      const outcomes = check.outcomes ?? [];
      const named = outcomes.map((outcome) => (outcome.rest ? null : row(outcome.likely ?? {})));
      const left = rest(
        named.filter((r) => r !== null),
        faults.length,
      );
      checks.set(check.id, {
        outcomes: outcomes.map((outcome) => outcome.id),
        rows: floored(
          named.map((r) => r ?? left),
          settings.floor,
        ),
        reading: null,
      });
    }
  }

  return {
    flow,
    faults,
    prior: Float64Array.from(flow.faults, (fault) => fault.weight / total),
    complaints: new Map(flow.complaints.map((complaint, i) => [complaint.id, complaints[i] as Float64Array])),
    details,
    checks,
    cures: new Map(
      flow.remedies.map((remedy) => [
        remedy.id,
        row(remedy.cures).map((p) => Math.min(p, 1 - settings.floor)),
      ]),
    ),
    floor: settings.floor,
  };
}

/** A fault's own line, else its group's, else `otherwise`. */
function lookUp<V>(
  sparse: Readonly<Record<string, V>>,
  fault: string,
  groups: Flow['groups'],
): V | undefined {
  const own = sparse[fault];
  if (own !== undefined) return own;
  for (const [name, value] of Object.entries(sparse)) {
    if (groups[name]?.includes(fault)) return value;
  }
  return sparse.otherwise;
}

function rest(rows: readonly Float64Array[], faults: number): Float64Array {
  const left = new Float64Array(faults).fill(1);
  for (const row of rows) for (let f = 0; f < faults; f++) left[f] = (left[f] as number) - (row[f] as number);
  return left.map((p) => Math.max(0, p));
}

/** Lifts every entry to the floor and makes every column sum to 1 again. */
function floored(rows: readonly Float64Array[], floor: number): Float64Array[] {
  const lifted = rows.map((row) => row.map((p) => Math.max(p, floor)));
  const columns = lifted[0]?.length ?? 0;
  for (let f = 0; f < columns; f++) {
    let sum = 0;
    for (const row of lifted) sum += row[f] as number;
    for (const row of lifted) row[f] = (row[f] as number) / sum;
  }
  return lifted;
}

function tabulateReading(
  model: ReadingModel,
  faults: readonly string[],
  flow: Flow,
  settings: TableSettings,
): ReadingTable {
  const value = (number: number | 'mains' | 'mains-peak'): number => {
    if (number === 'mains') return settings.mainsVolts;
    if (number === 'mains-peak') return settings.mainsVolts * Math.SQRT2;
    return number;
  };
  const component = (expectation: Expectation): Component => {
    if ('from' in expectation) {
      return { kind: 'even', share: expectation.share, from: expectation.from, to: expectation.to };
    }
    const mean = value(expectation.at);
    // Circuit and meter tolerances are independent half-widths of two standard deviations.
    const deviation = Math.hypot(expectation.within, model.meter * Math.abs(mean)) / 2;
    return { kind: 'normal', share: expectation.share, mean, deviation };
  };
  const components = faults.map((fault) => {
    const expected = lookUp(model.expect, fault, flow.groups) ?? [];
    const parts = (Array.isArray(expected) ? expected : [expected]).map(component);
    const shares = parts.reduce((sum, part) => sum + part.share, 0);
    return parts.map((part) => ({ ...part, share: part.share / shares }));
  });
  return {
    model,
    below: model.bands.map((band) => (band.below === undefined ? Infinity : value(band.below))),
    components,
  };
}

/** Density of a reading under one fault, per unit, the outlier share spread evenly over the meter's range. */
export function density(reading: ReadingTable, fault: number, value: number): number {
  const { outliers, min, max } = reading.model;
  let sum = 0;
  for (const part of reading.components[fault] ?? []) {
    if (part.kind === 'even')
      sum += value >= part.from && value <= part.to ? part.share / (part.to - part.from) : 0;
    else {
      const z = (value - part.mean) / part.deviation;
      sum += (part.share * Math.exp(-0.5 * z * z)) / (part.deviation * Math.sqrt(2 * Math.PI));
    }
  }
  return (1 - outliers) * sum + outliers / (max - min);
}

/** Which band a reading falls in. */
export function bandOf(reading: ReadingTable, value: number): number {
  return reading.below.findIndex((end) => value < end);
}

function bandProbability(reading: ReadingTable, fault: number, band: number): number {
  const { outliers, min, max } = reading.model;
  const from = band === 0 ? -Infinity : (reading.below[band - 1] as number);
  const to = reading.below[band] as number;
  const overlap = (a: number, b: number): number =>
    Math.max(0, Math.min(to, b) - Math.max(from, a)) / (b - a);
  let sum = 0;
  for (const part of reading.components[fault] ?? []) {
    if (part.kind === 'even') sum += part.share * overlap(part.from, part.to);
    else {
      const below = (x: number): number => normal((x - part.mean) / part.deviation);
      sum += part.share * (below(to) - below(from));
    }
  }
  return (1 - outliers) * sum + outliers * overlap(min, max);
}

/** Standard normal distribution function; Abramowitz and Stegun 7.1.26 (absolute error below 1.5e-7), from memory. */
function normal(z: number): number {
  if (z === Infinity) return 1;
  if (z === -Infinity) return 0;
  const x = Math.abs(z) / Math.SQRT2;
  const t = 1 / (1 + 0.3275911 * x);
  const poly =
    t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))));
  const half = 0.5 * poly * Math.exp(-x * x);
  return z >= 0 ? 1 - half : half;
}
