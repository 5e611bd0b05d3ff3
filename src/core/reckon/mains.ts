import type { Community } from '../../../shared/community.ts';
import { inUnit, quantities } from './quantities.ts';
import { figure, type Sum, unclear } from './sum.ts';

/** Elements and fuses. */

const cold = {
  word: 'DANGER',
  text: 'Measure elements only with the plug out. A filament lamp is far lower cold than this; the rule is not for lamps.',
} as const;

export const element: Sum = {
  name: 'element',
  what: 'The resistance of a heating element from its plate, or its power from the resistance',
  example: 'element 2200 W 230 V',
  work(typed, { country }) {
    const all = quantities(typed);
    if (!all) return unclear('I do not know one of the units.');
    const [watts] = inUnit(all, 'W');
    const [ohms] = inUnit(all, 'ohm');
    const [volts = country.mains_volts] = inUnit(all, 'V');
    if (watts !== undefined && watts > 0 && volts > 0) {
      const r = volts ** 2 / watts;
      return {
        answer: `About ${figure(r)} ohm, and ${figure(watts / volts)} A when it is on.`,
        steps: [
          `R = V^2 / P = (${figure(volts)} V)^2 / ${figure(watts)} W = ${figure(r)} ohm`,
          `I = P / V = ${figure(watts / volts)} A`,
          `With the usual +5/-10 % of the power: ${figure(r / 1.05)} to ${figure(r / 0.9)} ohm.`,
        ],
        caution: cold,
        source:
          'R = V^2 / P; +5/-10 %: rated input of heating appliances, IEC 60335-1, clause 10.1 (from memory)',
      };
    }
    if (ohms !== undefined && ohms > 0 && volts > 0) {
      const p = volts ** 2 / ohms;
      return {
        answer: `About ${figure(p)} W at ${figure(volts)} V.`,
        steps: [`P = V^2 / R = (${figure(volts)} V)^2 / ${figure(ohms)} ohm = ${figure(p)} W`],
        caution: cold,
        source: 'P = V^2 / R',
      };
    }
    return unclear('I need the watts, or the ohms, and the volts of the plate.');
  },
};

/** Fuses that British plugs are sold with (BS 1362), amperes: rule of thumb up to 700 W 3 A, above it 13 A. */
const upTo3 = 700;

export const fuse: Sum = {
  name: 'fuse',
  what: 'The current of a load, and the plug’s fuse where plugs have one',
  example: 'fuse 700 W',
  work(typed, { country }) {
    const all = quantities(typed);
    if (!all) return unclear('I do not know one of the units.');
    const [watts] = inUnit(all, 'W');
    const [volts = country.mains_volts] = inUnit(all, 'V');
    if (watts === undefined || !(watts > 0 && volts > 0)) return unclear('I need the watts on its plate.');
    const amps = watts / volts;
    const british = hasPlugFuse(country);
    const current = `I = P / V = ${figure(watts)} W / ${figure(volts)} V = ${figure(amps)} A`;
    if (british && amps > 13) return unclear(`${current}. That is too much for a plug with a 13 A fuse.`);
    return {
      answer: british
        ? `${watts <= upTo3 ? '3 A (red)' : '13 A (brown)'}, by the rule of thumb. The fuse that the maker marked wins.`
        : `${figure(amps)} A. Here plugs have no fuse: ${country.fuses}`,
      steps: [
        current,
        ...(british
          ? [
              'Up to 700 W: 3 A; above: 13 A. Motors may need more at the start.',
              'The fuse protects the lead, not the appliance.',
            ]
          : []),
      ],
      caution: {
        word: 'WARNING',
        text: 'Never a larger fuse than the lead can carry, never foil or a nail. A fuse that blows again has a reason.',
      },
      source: british ? 'BS 1362:1973 and the 700 W rule of thumb' : 'I = P / V',
    };
  },
};

const hasPlugFuse = ({ code }: Community['country']): boolean =>
  ['GBR', 'IRL', 'MLT', 'CYP', 'HKG', 'SGP', 'MYS'].includes(code);
