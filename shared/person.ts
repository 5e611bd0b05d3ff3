import { z } from 'zod';
import { Level } from './flow.ts';

export const Role = z.enum(['mender', 'moderator']);
export type Role = z.infer<typeof Role>;

/**
 * Somebody who reaches us. `level` and `roles` are what the platform vouches for (a role, or the operator of a
 * terminal); what people say of themselves never stands here.
 */
export const Person = z.strictObject({
  id: z.string().min(1).max(200),
  name: z.string().max(200),
  level: Level.optional(),
  roles: z.array(Role).default([]),
});
export type Person = z.infer<typeof Person>;
