import type { Flow, Hazard } from '../../shared/flow.ts';

/** What is said about the energy that an appliance keeps, by its kind: waiting for it to go, and proving that it is gone. */
export interface EnergyWords {
  readonly waiting: string;
  /** Why it is waited for. */
  readonly reason: string;
  readonly proof: string;
  readonly proofHazard: Hazard;
  /** Before it is proven, with the first cover off. */
  readonly openHazard: Hazard;
  readonly proven: string;
  readonly unproven: string;
}

const touch: Hazard = {
  word: 'DANGER',
  text: 'Treat every metal part as live. Hold the probes by the insulation, one hand where you can. Never short anything with a tool.',
};
const metal: Hazard = {
  word: 'DANGER',
  text: 'Until it is measured, every metal part inside counts as live. Touch nothing inside yet.',
};
const not = (what: string): string => `${what}, so keep hands out until that is done.`;

export const energyWords: Readonly<Record<Flow['energy']['stores'], EnergyWords>> = {
  none: {
    waiting: 'Waiting',
    reason: 'it needs its time',
    proof: 'See that it is safe',
    proofHazard: touch,
    openHazard: metal,
    proven: 'Safe as long as it stays unplugged.',
    unproven: 'Keep hands out as long as it is plugged in.',
  },
  capacitors: {
    waiting: 'Waiting for the charge to fall',
    reason: 'the charge has to fall',
    proof: 'Prove that it is discharged',
    proofHazard: touch,
    openHazard: metal,
    proven: 'Proven discharged, as long as it stays unplugged; prove it again before you reach in.',
    unproven: 'Not proven discharged: treat it as charged, and keep hands out until it is measured.',
  },
  battery: {
    waiting: 'Waiting until it is quiet',
    reason: 'what its battery has fed has to go quiet',
    proof: 'Take its power away',
    proofHazard: {
      word: 'WARNING',
      text: 'A battery cannot be switched off. Take rings off, bridge nothing with metal, and never bend or pierce it.',
    },
    openHazard: {
      word: 'WARNING',
      text: 'The battery still feeds what is inside. Touch nothing inside yet, and let no metal fall in.',
    },
    proven: 'Its battery is off, as long as nobody joins it again.',
    unproven: not('Its battery is not yet taken off'),
  },
  spring: {
    waiting: 'Waiting until it is still',
    reason: 'it has to come to rest',
    proof: 'Make the spring safe',
    proofHazard: {
      word: 'WARNING',
      text: 'A spring can let go at once. Keep face and fingers out of its way.',
    },
    openHazard: {
      word: 'WARNING',
      text: 'A spring inside can let go at once. Touch nothing inside yet.',
    },
    proven: 'The spring is safe, as long as nobody winds or loads it.',
    unproven: not('The spring is not yet made safe'),
  },
  heat: {
    waiting: 'Waiting until it is cool',
    reason: 'it has to cool down',
    proof: 'See that it is cool',
    proofHazard: {
      word: 'WARNING',
      text: 'Hot metal looks like cold metal. Hold the back of your hand near it before you touch it.',
    },
    openHazard: {
      word: 'WARNING',
      text: 'Inside it can still be hot enough to burn you. Touch nothing inside yet.',
    },
    proven: 'It is cool, as long as it stays unplugged.',
    unproven: not('It may still be hot'),
  },
  pressure: {
    waiting: 'Waiting for the pressure to fall',
    reason: 'heat and pressure have to go',
    proof: 'See that no pressure is left',
    proofHazard: {
      word: 'WARNING',
      text: 'Steam and hot water can shoot out and scald you. Keep face and hands away until it is quiet.',
    },
    openHazard: {
      word: 'WARNING',
      text: 'Hot water or steam can still be under pressure inside. Touch nothing inside yet.',
    },
    proven: 'It is without pressure, as long as it stays unplugged.',
    unproven: not('It may still be hot and under pressure'),
  },
};
