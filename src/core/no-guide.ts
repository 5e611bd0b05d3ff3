import type { Flow } from '../../shared/flow.ts';
import { readable } from './wording.ts';

/**
 * What stands in for a flow whose file is gone, so that a case about it can still be read, by the ids in its answers: a
 * flow that knows nothing. Nothing is asked by it; people have the case. What was open counts as charged.
 */
export const noGuide = (id: string): Flow => ({
  flow: id,
  version: 0,
  title: readable(id),
  noun: readable(id),
  names: [],
  category: '',
  mains: true,
  energy: { stores: 'capacitors', wait_minutes: 60, minutes: 0, points: [], source: 'nobody knows' },
  glossary: {},
  groups: {},
  ideas: {},
  complaints: [],
  details: [],
  faults: [],
  access: [],
  checks: [],
  remedies: [],
  sheet: [],
  map: { width: 1, height: 1, parts: [], leads: [] },
  replace: { price: { low: 0, high: 0, currency: 'XXX', dated: '1970-01', source: 'nobody knows' }, say: '' },
  closing: [],
  references: [],
});

/** A flow read from a file always has a version from 1 on. */
export const isNoGuide = (flow: Flow): boolean => flow.version === 0;
