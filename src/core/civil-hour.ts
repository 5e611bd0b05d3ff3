/** The clocks on the wall: local time in a time zone, and the next moment at which one may write to somebody. */

/** From `from` o'clock on, and no more at `to` o'clock; local hours, 0 to 24. */
export interface Hours {
  readonly from: number;
  readonly to: number;
}

const minute = 60_000;
const dayMinutes = 24 * 60;

/** The date, the hour and the minutes since midnight on the clocks of a time zone (a name of the IANA database). */
export function localTime(
  at: number,
  timeZone: string,
): { readonly day: string; readonly hour: number; readonly minutes: number } {
  const parts = clockOf(timeZone).formatToParts(at);
  const part = (type: string): string => parts.find((one) => one.type === type)?.value ?? '';
  const hour = Number(part('hour'));
  return {
    day: `${part('year')}-${part('month')}-${part('day')}`,
    hour,
    minutes: hour * 60 + Number(part('minute')),
  };
}

export function isCivil(at: number, timeZone: string, { from, to }: Hours): boolean {
  const { hour } = localTime(at, timeZone);
  return from <= hour && hour < to;
}

/**
 * The first moment from `due` on that lies within these local hours, milliseconds. Where the clocks are put forward over
 * all of them, the moment after that.
 */
export function civil(due: number, timeZone: string, hours: Hours): number {
  if (isCivil(due, timeZone, hours)) return due;
  const wanted = hours.from * 60;
  const { minutes } = localTime(due, timeZone);
  const left = (wanted - minutes + dayMinutes) % dayMinutes;
  const reached = Math.floor(due / minute) * minute + left * minute;
  // Clocks that were changed meanwhile show something else by then.
  const off = wrapped(localTime(reached, timeZone).minutes - wanted) * minute;
  const exact = reached - off;
  return off !== 0 && exact >= due && isCivil(exact, timeZone, hours) ? exact : reached;
}

/** A difference of clock times as the shorter way round. */
const wrapped = (minutes: number): number => ((minutes + dayMinutes * 1.5) % dayMinutes) - dayMinutes / 2;

/** A clock takes long to make and never changes; a cache of a pure function. */
const clocks = new Map<string, Intl.DateTimeFormat>();

function clockOf(timeZone: string): Intl.DateTimeFormat {
  const known = clocks.get(timeZone);
  if (known) return known;
  const clock = new Intl.DateTimeFormat('en-CA', {
    timeZone,
    year: 'numeric',
    month: '2-digit',
    day: '2-digit',
    hour: '2-digit',
    minute: '2-digit',
    hourCycle: 'h23',
  });
  clocks.set(timeZone, clock);
  return clock;
}
