import { formatQuantity } from '../words/notation.ts';
import { inUnit, quantities } from './quantities.ts';
import { nextE24 } from './series.ts';
import { figure, type Sum, unclear } from './sum.ts';

/** LEDs, alone and in strings, and how bright they are kept. */

export const ledResistor: Sum = {
  name: 'led-resistor',
  what: 'The resistor that lets you test an LED from a small supply',
  example: 'led-resistor 9 V 3 V 10 mA',
  work(typed) {
    const all = quantities(typed);
    if (!all) return unclear('I do not know one of the units.');
    const [supply, led] = inUnit(all, 'V');
    const [amps] = inUnit(all, 'A');
    if (supply === undefined || led === undefined || amps === undefined)
      return unclear('I need the supply in volts, the LED in volts, and the current, such as 10 mA.');
    if (!(amps > 0 && supply > led))
      return unclear('The supply has to be above the LED, and the current above zero.');
    const ohms = (supply - led) / amps;
    const watts = (supply - led) * amps;
    return {
      answer: `${figure(ohms)} ohm; take ${formatQuantity(nextE24(ohms), 'ohm')}, the next of the E24 series.`,
      steps: [
        `R = (V - Vf) / I = (${figure(supply)} V - ${figure(led)} V) / ${formatQuantity(amps, 'A')} = ${figure(ohms)} ohm`,
        `P = (V - Vf) I = ${figure(watts)} W: take a resistor for at least twice that.`,
      ],
      caution: {
        word: supply > 60 ? 'DANGER' : 'CAUTION',
        text:
          supply > 60
            ? 'Above 60 V d.c. a touch can injure you badly. Test LEDs from a small supply only.'
            : 'Do not look into a bright LED. Test it out of the appliance, or with the plug out and the capacitors proven dead.',
      },
      source: 'R = (V - Vf) / I; preferred values of IEC 60063',
    };
  },
};

export const string: Sum = {
  name: 'string',
  what: 'The voltage of LEDs in a row',
  example: 'string 18 LEDs 3.2 V',
  work(typed) {
    const all = quantities(typed);
    if (!all) return unclear('I do not know one of the units.');
    const [count] = inUnit(all, '');
    const [each] = inUnit(all, 'V');
    if (count === undefined || each === undefined)
      return unclear('I need how many LEDs, and the volts of one.');
    if (!(Number.isInteger(count) && count > 0 && each > 0)) return unclear('I need a whole number of LEDs.');
    const volts = count * each;
    return {
      answer: `About ${figure(volts)} V when it is lit.`,
      steps: [`V = n Vf = ${count} x ${figure(each)} V = ${figure(volts)} V`],
      caution:
        volts > 60
          ? {
              word: 'DANGER',
              text: 'That is above 60 V d.c. With an LED open the driver goes higher still. Hands away before it is on.',
            }
          : {
              word: 'WARNING',
              text: 'Without its load a driver rises far above that. Hands away before it is on.',
            },
      source:
        'white backlight LEDs 3.2 V, within 0.2 V: Rust et al., EE Times, 15 January 2013; 60 V: IEC 62368-1',
    };
  },
};

export const pwm: Sum = {
  name: 'pwm',
  what: 'What a meter shows on a switched voltage (dimming)',
  example: 'pwm 12 V 25 %',
  work(typed) {
    const all = quantities(typed);
    if (!all) return unclear('I do not know one of the units.');
    const [volts] = inUnit(all, 'V');
    const [percent] = inUnit(all, '%');
    if (volts === undefined || percent === undefined)
      return unclear('I need the volts and the per cent that it is on.');
    if (!(percent >= 0 && percent <= 100)) return unclear('It can be on between 0 and 100 %.');
    const share = percent / 100;
    return {
      answer: `A meter on volts d.c. shows about ${figure(volts * share)} V.`,
      steps: [
        `mean = D V = ${figure(share)} x ${figure(volts)} V = ${figure(volts * share)} V`,
        `r.m.s. = V sqrt(D) = ${figure(volts * Math.sqrt(share))} V`,
      ],
      caution: {
        word: 'NOTICE',
        text: 'Some meters show something else on a fast switched voltage. A low reading alone condemns nothing.',
      },
      source: 'mean of a rectangular wave',
    };
  },
};
