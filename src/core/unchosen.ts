import type { Flow } from '../../shared/flow.ts';
import { noGuide } from './no-guide.ts';

export const isUnchosen = ({ flow }: Flow): boolean => flow === '';

/** Stands in for the flow until it is known what appliance it is. Nothing can be asked by it but that. */
export const unchosen: Flow = {
  ...noGuide(''),
  version: 1,
  title: 'Appliance not known yet',
  noun: 'appliance',
  // What it is, nobody knows; so nothing but people answers it.
  faults: [
    {
      id: 'something-else',
      name: 'Not known yet',
      plain: 'It is not known yet what kind of appliance it is.',
      weight: 1,
      source: 'nobody knows',
      mends: 'Somebody has to look at it.',
      ends: 'people',
      marks: [],
    },
  ],
};
