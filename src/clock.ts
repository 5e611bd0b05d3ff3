/** The desk's clock, which a demonstration may move forward, never back. */
export interface Clock {
  /** Milliseconds since 1970-01-01 UTC. */
  readonly now: () => number;
  readonly moved: () => boolean;
  readonly advance: (minutes: number) => void;
}

export function demonstrationClock(): Clock {
  let ahead = 0;
  return {
    now: () => Date.now() + ahead,
    moved: () => ahead > 0,
    advance(minutes) {
      if (minutes > 0) ahead += Math.round(minutes * 60_000);
    },
  };
}
