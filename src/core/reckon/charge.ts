import { formatQuantity } from '../words/notation.ts';
import { inUnit, quantities } from './quantities.ts';
import { figure, type Sum, unclear } from './sum.ts';

/** What capacitors hold, and for how long. */

const measured = {
  word: 'DANGER',
  text: 'A sum proves nothing: the resistor may be broken. Measure until the meter shows under 10 V. Never short it with a tool.',
} as const;

/** Volts below which it counts as harmless: class ES1 of IEC 62368-1, d.c. */
const harmless = 60;

export const discharge: Sum = {
  name: 'discharge',
  what: 'How long a capacitor takes to discharge through a resistor',
  example: 'discharge 100 uF 470 kohm 325 V to 60 V',
  work(typed) {
    const all = quantities(typed);
    if (!all) return unclear('I do not know one of the units.');
    const [farads] = inUnit(all, 'F');
    const [ohms] = inUnit(all, 'ohm');
    const [from, to = harmless] = inUnit(all, 'V');
    if (farads === undefined || ohms === undefined || from === undefined)
      return unclear('I need a capacitor, a resistor and the voltage at the start.');
    if (!(farads > 0 && ohms > 0 && to > 0 && from > to))
      return unclear('All have to be above zero, and the voltage at the start above the one at the end.');
    const constant = ohms * farads;
    const seconds = constant * Math.log(from / to);
    return {
      answer: `About ${time(seconds)} until ${figure(to)} V, if the resistor is whole.`,
      steps: [
        `R C = ${formatQuantity(ohms, 'ohm')} x ${formatQuantity(farads, 'F')} = ${figure(constant)} s`,
        `t = R C ln(V0 / V) = ${figure(constant)} s x ln(${figure(from)} / ${figure(to)}) = ${figure(seconds)} s`,
      ],
      caution: measured,
      source: 't = R C ln(V0/V), discharge of a capacitor; 60 V d.c. is class ES1 of IEC 62368-1',
    };
  },
};

const time = (seconds: number): string =>
  seconds < 120 ? `${figure(seconds)} s` : `${figure(seconds / 60)} min`;

export const energy: Sum = {
  name: 'energy',
  what: 'The energy that a capacitor holds',
  example: 'energy 100 uF 325 V',
  work(typed) {
    const all = quantities(typed);
    if (!all) return unclear('I do not know one of the units.');
    const [farads] = inUnit(all, 'F');
    const [volts] = inUnit(all, 'V');
    if (farads === undefined || volts === undefined) return unclear('I need a capacitor and its voltage.');
    const joules = (farads * volts ** 2) / 2;
    return {
      answer: `${figure(joules)} J.`,
      steps: [
        `E = C V^2 / 2 = ${formatQuantity(farads, 'F')} x (${figure(volts)} V)^2 / 2 = ${figure(joules)} J`,
        // NFPA 70E-2021, article 360 (from memory): hazardous from 1 J at 100 V or more, 0.25 J at 400 V or more.
        `${hazardous(joules, volts) ? 'That can injure you badly.' : 'That is little, and a spark still makes people jump into something worse.'}`,
      ],
      caution: measured,
      source: 'E = C V^2 / 2; hazardous by NFPA 70E-2021, article 360 (from memory)',
    };
  },
};

const hazardous = (joules: number, volts: number): boolean =>
  volts >= 400 ? joules > 0.25 : volts >= 100 ? joules > 1 : joules > 100;
