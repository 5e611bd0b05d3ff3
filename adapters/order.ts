/** Work that is done one after the other within a channel, and side by side across channels. */
export interface Order {
  /** Settles as the work does. */
  in<T>(channel: string, work: () => Promise<T>): Promise<T>;
  /** Resolves when what was under way is done. */
  idle(): Promise<void>;
}

export function createOrder(): Order {
  const queues = new Map<string, Promise<void>>();
  return {
    in(channel, work) {
      const turn = (queues.get(channel) ?? Promise.resolve()).then(work);
      const last = turn.then(
        () => undefined,
        () => undefined,
      );
      queues.set(channel, last);
      void last.then(() => {
        if (queues.get(channel) === last) queues.delete(channel);
      });
      return turn;
    },
    async idle() {
      await Promise.all(queues.values());
    },
  };
}
