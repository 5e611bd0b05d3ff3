/**
 * Keeps the desk from waiting again and again for a store that does not answer: after some failures in a row nobody asks
 * for a while, then one does, and its luck decides for all.
 */
export interface Breaker {
  readonly open: boolean;
  /** Whether to ask the store now. Who is told yes reports back with `succeeded` or `failed`. */
  ask(): boolean;
  succeeded(): void;
  failed(): void;
}

export interface BreakerOptions {
  readonly now: () => number;
  readonly changed: (open: boolean) => void;
}

const failuresInARow = 5;
/** Milliseconds without asking. */
export const breakerRest = 10_000;

export function createBreaker({ now, changed }: BreakerOptions): Breaker {
  let failures = 0;
  let openedAt: number | null = null;
  let probing = false;
  return {
    get open() {
      return openedAt !== null;
    },
    ask() {
      if (openedAt === null) return true;
      // A clock that was put back would keep it open for as long.
      const rested = now() < openedAt || now() >= openedAt + breakerRest;
      if (!rested || probing) return false;
      probing = true;
      return true;
    },
    succeeded() {
      failures = 0;
      probing = false;
      if (openedAt === null) return;
      openedAt = null;
      changed(false);
    },
    failed() {
      if (openedAt === null) {
        failures++;
        if (failures < failuresInARow) return;
        openedAt = now();
        changed(true);
      } else if (probing) {
        probing = false;
        openedAt = now();
      }
    },
  };
}
