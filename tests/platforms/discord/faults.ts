/** What goes wrong with a request, on purpose. */
export interface Fault {
  readonly method?: string;
  readonly path: RegExp;
  /** How often; once where nothing is said. */
  readonly times?: number;
  /** `500-after` and `reset-after` do what was asked first. */
  readonly how: '429' | '500' | '500-after' | 'reset' | 'reset-after' | '403' | '404' | 'expired' | 'slow';
  /** Seconds: to wait after a 429, or that a slow answer takes. */
  readonly after?: number;
  readonly global?: boolean;
}

export function newFaults() {
  let waiting: { readonly fault: Fault; left: number }[] = [];
  return {
    add(fault: Fault): void {
      waiting.push({ fault, left: fault.times ?? 1 });
    },
    clear(): void {
      waiting = [];
    },
    /** The fault that befalls this request, if any. */
    take(method: string, path: string): Fault | null {
      const found = waiting.find(
        ({ fault, left }) => left > 0 && (fault.method ?? method) === method && fault.path.test(path),
      );
      if (!found) return null;
      found.left -= 1;
      return found.fault;
    },
  };
}
export type Faults = ReturnType<typeof newFaults>;
