/** YYYY-MM-DD of a moment (milliseconds) where a community's days begin; `timeZone` is an IANA name. */
export function dayIn(at: number, timeZone: string): string {
  // Sweden writes dates as ISO 8601 does.
  const day = days.get(timeZone) ?? new Intl.DateTimeFormat('sv-SE', { timeZone, dateStyle: 'short' });
  days.set(timeZone, day);
  return day.format(at);
}

/** Making one costs a hundred times what using it costs. */
const days = new Map<string, Intl.DateTimeFormat>();
