import { Flow, type Sparse } from '../../shared/flow.ts';

/** The least that is a flow, for tests of numbers: faults by weight, and by id whatever the test is about. */
export interface Tiny {
  readonly faults: Readonly<Record<string, number>>;
  readonly groups?: Readonly<Record<string, readonly string[]>>;
  readonly complaints?: Readonly<Record<string, Sparse>>;
  readonly details?: Readonly<Record<string, Readonly<Record<string, Sparse>>>>;
  /** By check and outcome; `rest` takes what the others leave. */
  readonly checks?: Readonly<Record<string, Readonly<Record<string, Sparse | 'rest'>>>>;
  /** By check: what stands under `reading`. */
  readonly readings?: Readonly<Record<string, unknown>>;
  readonly remedies?: Readonly<Record<string, Sparse>>;
}

const source = 'invented for the tests';
const price = { low: 1, high: 1, currency: 'GBP', dated: '2026-01', source };
const each = <V, R>(record: Readonly<Record<string, V>>, make: (id: string, value: V) => R): R[] =>
  Object.entries(record).map(([id, value]) => make(id, value));

export function tinyFlow(tiny: Tiny): Flow {
  const step = (id: string) => ({ id, name: id, how: ['Do it.'], access: 'outside', minutes: 1, source });
  const check = (id: string) => ({ ...step(id), ask: 'What is it?', why: 'It tells.', power: 'off' });
  const outcomes = (likely: Readonly<Record<string, Sparse | 'rest'>>) =>
    each(likely, (id, row) => ({ id, label: id, ...(row === 'rest' ? { rest: true } : { likely: row }) }));
  const { faults, complaints = { broken: { otherwise: 0.5 } }, details = {}, readings = {} } = tiny;
  const looks = tiny.checks ?? (tiny.readings ? {} : { look: { yes: { otherwise: 0.5 }, no: 'rest' } });
  return Flow.parse({
    flow: 'tiny',
    version: 1,
    title: 'Tiny',
    noun: 'thing',
    names: ['thing'],
    category: 'Other',
    mains: false,
    energy: { stores: 'none' },
    groups: tiny.groups ?? {},
    complaints: each(complaints, (id, likely) => ({ id, label: id, likely, source })),
    details: each(details, (id, choices) => ({
      id,
      ask: 'Which?',
      why: 'It tells.',
      before: 'first',
      choices: each(choices, (choice, likely) => ({ id: choice, label: choice, likely, source })),
    })),
    faults: each(faults, (id, weight) => ({
      id,
      name: id,
      plain: 'It is broken.',
      weight,
      source,
      mends: 'A new one.',
      ends: 'people',
    })),
    checks: [
      ...each(looks, (id, likely) => ({ ...check(id), outcomes: outcomes(likely) })),
      ...each(readings, (id, reading) => ({ ...check(id), reading })),
    ],
    remedies: each(tiny.remedies ?? { mend: { otherwise: 0.5 } }, (id, cures) => ({
      ...step(id),
      why: 'It helps.',
      cures,
    })),
    sheet: [Object.keys(looks)[0] ?? Object.keys(readings)[0]],
    map: { width: 1, height: 1, parts: [] },
    replace: { price, say: 'A new one.' },
  });
}
