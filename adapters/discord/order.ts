/** Work that is done one after the other within a channel, and side by side across channels. */
export interface Order {
  in(channel: string, work: () => Promise<void>): void;
  /** Resolves when what was under way is done. */
  idle(): Promise<void>;
}

export function createOrder(failed: (cause: unknown) => void): Order {
  const queues = new Map<string, Promise<void>>();
  return {
    in(channel, work) {
      const turn = (queues.get(channel) ?? Promise.resolve()).then(work).catch(failed);
      queues.set(channel, turn);
      void turn.then(() => {
        if (queues.get(channel) === turn) queues.delete(channel);
      });
    },
    async idle() {
      await Promise.all(queues.values());
    },
  };
}

const rememberedAtMost = 5000;

/** Keeps what is remembered from growing without end: the oldest goes first. */
export function forgetOldest(known: Map<string, unknown> | Set<string>): void {
  if (known.size > rememberedAtMost) known.delete(known.keys().next().value as string);
}
