/** Minutes in words: "less than a minute", "30 min", "2 h 15 min", "3 days". */
export function duration(minutes: number): string {
  const whole = Math.round(minutes);
  if (whole < 1) return 'less than a minute';
  if (whole < 90) return `${whole} min`;
  if (whole < 48 * 60) {
    const left = whole % 60;
    return `${Math.floor(whole / 60)} h${left === 0 ? '' : ` ${left} min`}`;
  }
  return `${Math.round(whole / (24 * 60))} days`;
}

/** A moment (ms) as somebody at `now` (ms) would say it: "at 14:35", "on Friday 5 June at 14:35"; local time. */
export function moment(at: number, now: number, timeZone?: string): string {
  const when = new Date(at);
  if (Number.isNaN(when.getTime())) return 'much later';
  const write = (date: Date, options: Intl.DateTimeFormatOptions) =>
    new Intl.DateTimeFormat('en-GB', { ...options, ...(timeZone ? { timeZone } : {}) }).format(date);
  const day = (date: Date) => write(date, { year: 'numeric', month: 'numeric', day: 'numeric' });
  const time = `at ${write(when, { hour: '2-digit', minute: '2-digit', hourCycle: 'h23' })}`;
  if (day(when) === day(new Date(now))) return time;
  const far = Math.abs(at - now) > 300 * 24 * 3_600_000;
  const date = write(when, {
    weekday: 'long',
    day: 'numeric',
    month: 'long',
    ...(far ? { year: 'numeric' } : {}),
  });
  return `on ${date.replaceAll(',', '')} ${time}`;
}
