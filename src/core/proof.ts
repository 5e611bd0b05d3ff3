import type { World } from '../../shared/case.ts';
import { dischargedBelow } from './safety.ts';

/**
 * Proving that capacitors are discharged: a known source first, so that a zero can be believed; then every point;
 * then the known source again, so that the meter is known to have worked all along.
 */
export type ProofVerdict =
  | { readonly kind: 'next' }
  | { readonly kind: 'proven' }
  /** This reading does not count; measure the same again. */
  | { readonly kind: 'repeat'; readonly words: string }
  /** Charged: wait so many minutes and begin again. */
  | { readonly kind: 'charged'; readonly minutes: number; readonly words: string }
  /** The meter cannot be trusted: begin again. */
  | { readonly kind: 'void'; readonly words: string };

/** A battery fit for a check: a cell of 1.2 V up to a 12 V block, volts. Common practice, no source. */
const sourceLow = 1.1;
const sourceHigh = 15;
/** Both readings of the known source agree within this share. Common practice, no source. */
const sourceDrift = 0.1;
/** A capacitor that shows the battery's own voltage this closely is the battery's reading sent twice. */
const sameReading = 0.005;
/** Minutes to wait when a point is still charged. */
const waitAgain = 15;
/** IEC 62368-1, table 4: 60 V d.c. is the limit of ES1. */
const es1 = 60;

/**
 * `readings` are those of this proof so far; `value` in volts, its sign of no matter. `points` is the whole order: the
 * known source, every place to be measured, the known source again. Nothing is proven with one of them left out.
 */
export function judgeProof(
  readings: World['readings'],
  point: string,
  value: number,
  points: readonly string[],
): ProofVerdict {
  const volts = Math.abs(value);
  if (!Number.isFinite(volts)) return { kind: 'repeat', words: 'I need a number in volts, such as 0.2 V.' };
  const inOrder =
    points.indexOf(point) === readings.length && readings.every((one, i) => one.point === points[i]);
  const dead = readings.slice(1).every((one) => Math.abs(one.value) < dischargedBelow);
  if (!inOrder || !dead) {
    return {
      kind: 'void',
      words: 'A measurement is missing or out of order, so nothing is proven. We begin the proof again.',
    };
  }
  if (point === points[0]) {
    if (volts < sourceLow) {
      return {
        kind: 'repeat',
        words: `${volts} V on a good battery means that the meter, its leads or the battery is not right. Check: V with a straight line, red lead in the V socket. Try another battery. Until then nothing counts as dead.`,
      };
    }
    if (volts > sourceHigh) {
      return { kind: 'repeat', words: 'Please use an ordinary battery of 1.5 V to 12 V for this check.' };
    }
    return { kind: 'next' };
  }
  if (point === points.at(-1)) {
    const before = Math.abs(readings.find((reading) => reading.point === points[0])?.value ?? 0);
    return before >= sourceLow && Math.abs(volts - before) <= sourceDrift * before
      ? { kind: 'proven' }
      : {
          kind: 'void',
          words: `The battery showed ${before} V before and ${volts} V now. The meter cannot be trusted, so nothing is proven. Check leads and range; we begin the proof again.`,
        };
  }
  const battery = Math.abs(readings[0]?.value ?? 0);
  if (Math.abs(volts - battery) <= sameReading * battery) {
    return {
      kind: 'repeat',
      words: `${volts} V is what the battery showed. Put the tips on the place that is asked for now, wait a minute, and measure again.`,
    };
  }
  if (volts < dischargedBelow) return { kind: 'next' };
  return {
    kind: 'charged',
    minutes: waitAgain,
    words: `${volts} V is ${volts >= es1 ? 'dangerous' : 'too much'}. Do not touch anything inside and never short it with a tool. Leave it unplugged; we wait ${waitAgain} min and measure again.`,
  };
}
