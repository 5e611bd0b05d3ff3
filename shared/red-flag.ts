import { z } from 'zod';

/** Signs of danger that stop everything, at any moment. */
export const RedFlag = z.enum([
  'smoke',
  'flames',
  'bang',
  'sparks',
  'burning-smell',
  'shock',
  'tripping',
  'water',
  'battery',
  'gas',
  'hurt',
]);
export type RedFlag = z.infer<typeof RedFlag>;
