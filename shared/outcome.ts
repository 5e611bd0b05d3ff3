import { z } from 'zod';

/**
 * How a repair ended, in the words of the Open Repair Data Standard v0.3 (Open Repair Alliance, CC BY-SA 4.0):
 * `repair_status` and `repair_barrier_if_end_of_life`.
 */
export const RepairOutcome = z.enum(['Fixed', 'Repairable', 'End of life', 'Unknown']);
export type RepairOutcome = z.infer<typeof RepairOutcome>;

export const Barrier = z.enum([
  'Spare parts not available',
  'Spare parts too expensive',
  'No way to open product',
  'Repair information not available',
  'Lack of equipment',
  'Item too worn out',
]);
export type Barrier = z.infer<typeof Barrier>;

/** Whether a mains appliance that was opened and works again has passed its electrical test. What fails is not fixed. */
export const Safety = z.enum(['passed', 'not done']);
export type Safety = z.infer<typeof Safety>;

/**
 * What was answered when the desk asked again after the end. Of what was fixed: it still works, the same fault is back, or
 * something else is wrong; of what went to somebody to be repaired: it is, it is not yet, or it was given up.
 */
export const Aftermath = z.enum(['works', 'back', 'other', 'repaired', 'not-yet', 'given-up']);
export type Aftermath = z.infer<typeof Aftermath>;
