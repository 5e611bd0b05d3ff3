import type { Case, Unnumbered } from '../../shared/case.ts';
import type { Outbound } from '../../shared/outbound.ts';
import { flagWords, withEmergency } from './flag-words.ts';
import type { Settings } from './settings.ts';
import type { Turn, Who } from './turn.ts';
import type { FlagReading } from './words/red-flags.ts';

/** The most urgent first: what to do about people comes before what to do about things. */
const urgency = [
  'gas',
  'flames',
  'hurt',
  'shock',
  'smoke',
  'battery',
  'sparks',
  'water',
  'bang',
  'burning-smell',
  'tripping',
] as const;

/** A red flag: everything stops, the instruction that matters comes first, then people are called. */
export function flagEvents(kase: Case, found: readonly FlagReading[], who: Who, settings: Settings): Turn {
  const known = (one: FlagReading): boolean =>
    kase.flags.some((flag) => flag.flag === one.flag && (flag.sure || !one.sure));
  const fresh = found.filter((one) => !known(one));
  if (fresh.length === 0) return { events: [], outbound: [] };
  const ranked = [...fresh].sort((a, b) => urgency.indexOf(a.flag) - urgency.indexOf(b.flag));
  const events: Unnumbered[] = ranked.map((one) => ({
    ...who,
    kind: 'flagged',
    flag: one.flag,
    sure: one.sure,
    words: one.words.slice(0, 200),
  }));
  const sure = ranked.filter((one) => one.sure);
  if (sure.length === 0) return { events, outbound: [] };
  const outbound: Outbound[] = sure.map((one) => {
    const words = flagWords[one.flag];
    return {
      kind: 'warn',
      word: 'DANGER',
      flag: one.flag,
      instruction: withEmergency(words.instruction, settings.community),
      words: withEmergency(words.after, settings.community),
    };
  });
  return {
    events: [...events, { ...who, kind: 'handed-over', reason: 'red-flag', danger: true, next: null }],
    outbound,
  };
}
