import type { Protection } from '../../shared/flow.ts';

/**
 * What an opened appliance has to reach before it goes home, by class of protection and the country's practice.
 *
 * - `en`: EN 50678 (after repair), with the limits of VDE 0701-0702:2008: earth 0.3 ohm for a lead of up to 5 m, and 0.1 ohm
 *   more for each further 7.5 m, at most 1 ohm; insulation 1 Mohm in class I, 0.3 Mohm where it has heating elements, 2 Mohm
 *   in class II, 0.25 Mohm in class III.
 * - `uk`: the British code of practice for in-service inspection and testing: earth 0.1 ohm and the resistance of the lead;
 *   insulation as above, 0.3 Mohm for heating appliances of class I under 3 kW.
 *
 * Measured with 500 V d.c., or 250 V where surge protection is built in (BS EN 50699, national foreword).
 */
export type Practice = 'en' | 'uk';
export type ProtectionClass = Protection['classes'][number];

/** ISO 3166-1, three letters. Elsewhere than in the United Kingdom and Ireland the European limits stand in for local ones. */
export const practiceIn = (country: string): Practice =>
  country === 'GBR' || country === 'IRL' ? 'uk' : 'en';

/** Of a lead of 1.25 mm2, ohm a metre (from memory). Thinner leads have more, so the limit errs on the strict side. */
const leadOhms = 0.0156;

/** The most that may be measured from the plug's earth pin to bare metal, ohm; `lead` in metres. */
export function earthLimit(practice: Practice, lead: number): number {
  if (practice === 'uk') return round(0.1 + lead * leadOhms);
  return round(Math.min(1, 0.3 + Math.ceil(Math.max(0, lead - 5) / 7.5) * 0.1));
}

/** The least insulation from the plug's live pins to what can be touched, Mohm. */
export function insulationLimit(practice: Practice, of: ProtectionClass, heater: number | undefined): number {
  switch (of) {
    case 1:
      if (heater === undefined) return 1;
      return practice === 'uk' && heater >= 3 ? 1 : 0.3;
    case 2:
      return 2;
    case 3:
      return 0.25;
  }
}

const round = (ohms: number): number => Math.round(ohms * 1000) / 1000;
