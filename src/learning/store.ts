import { z } from 'zod';
import { Exchange } from './exchange.ts';
import { Learnt } from './learnt.ts';

/**
 * What people decided about learning, as a book that is only ever added to: which numbers a flow goes by, which cases are
 * left out, which communities' counts were added. What holds now is its fold (`decided.ts`).
 */
const who = { at: z.number().int(), by: z.string().min(1).max(200) } as const;
const flow = z.string().max(60);

export const Decision = z.discriminatedUnion('kind', [
  z.strictObject({ ...who, kind: z.literal('accepted'), flow, learnt: Learnt }),
  /** Back to the file's numbers. */
  z.strictObject({ ...who, kind: z.literal('withdrawn'), flow }),
  z.strictObject({
    ...who,
    kind: z.literal('excluded'),
    case: z.string().max(500),
    why: z.string().max(500),
  }),
  z.strictObject({ ...who, kind: z.literal('included'), case: z.string().max(500) }),
  /** `digest`: SHA-256 of the file's text. */
  z.strictObject({ ...who, kind: z.literal('imported'), digest: z.string().max(64), exchange: Exchange }),
]);
export type Decision = z.infer<typeof Decision>;

export interface Entry {
  /** From 1, without gaps. */
  readonly n: number;
  readonly decision: Decision;
}

/** One contract (`tests/learning/book.contract.ts`) holds for every implementation. */
export interface LearningBook {
  /** Entries after number `after`, in order. */
  read(after: number): Promise<readonly Entry[]>;
  /** As entry `after + 1`. False: somebody else has written there; read again and decide again. */
  write(after: number, decision: Decision): Promise<boolean>;
}

/** A book that lives as long as the program. */
export function memoryBook(): LearningBook {
  const entries: Entry[] = [];
  return {
    read: async (after) => entries.slice(after),
    async write(after, decision) {
      if (entries.length !== after) return false;
      entries.push({ n: after + 1, decision });
      return true;
    },
  };
}
