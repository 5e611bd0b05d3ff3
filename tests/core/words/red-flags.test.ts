import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type RedFlag, readRedFlags, redFlags } from '../../../src/core/words/red-flags.ts';

// Sentences are made up; what counts as danger is common practice, no source.

const read = (text: string) =>
  readRedFlags(text).map(({ flag, sure }) => `${flag} ${sure ? 'sure' : 'doubt'}`);

const SURE: Readonly<Record<RedFlag, readonly string[]>> = {
  smoke: [
    'there is smoke coming out',
    'Smoke is coming from the vents at the back',
    'SMOKE COMING OUT OF IT HELP',
    'it smoked last night',
    'if I turn it on it smokes',
    'there was a puff of white smoke',
    'it is smoking, is that normal?',
    'There was smoke. No.',
    'the smoke does not stop',
    'no smoke yesterday, today smoke',
    'there was no bang, then smoke',
    'No, smoke came out',
    "won't turn on smoke coming out",
    'It does not turn on and there is smoke coming out',
    'no sound, no picture, smoke from the back',
    'nothing but smoke',
    'no sparks just smoke',
    'smoke - yes',
    'not only smoke',
  ],
  flames: [
    'it is on fire',
    'it caught fire',
    'there were flames at the back',
    'the plug burst into flames',
    '🔥',
  ],
  bang: [
    'it went bang',
    'heard a loud bang',
    'big bang and then dead',
    'it exploded',
    'loud pop then nothing',
    'loud bang, nothing',
    'bang - nothing works',
  ],
  sparks: [
    'sparks',
    'it sparks',
    'no smoke but it sparks',
    'it sparked once',
    'no light but sparks at the plug',
    'it wont start. sparks at the plug',
    'there were sparks, no smoke',
  ],
  'burning-smell': [
    'smells of burning plastic',
    'It smells of burned rubber',
    'smells like hot plastic',
    'I smell burning',
    'smells burnt',
  ],
  shock: [
    'I got a shock',
    'I received an electric shock from the aerial',
    'gave my son a shock',
    'it shocked me when I touched the metal',
    'the metal case gave me a shock',
    'it gives me a little tingle when I touch the stand',
    'someone got electrocuted',
  ],
  tripping: [
    'the breaker trips',
    'it trips the electrics',
    'RCD keeps going',
    'fuse box went',
    'circuit breaker tripped twice',
    'when I plug it in the breaker goes',
    'it knocked out all the electrics',
    'power goes off in the whole house when I plug it in',
  ],
  water: [
    'spilled water into it',
    'got wet',
    'rain came in',
    'beer in the tv',
    'my kid spilled milk on the back',
    'someone knocked over a glass of water onto it',
    'it was left out in the rain',
    'the roof leaked and water ran into it',
    'it fell in the bath',
    'the cat peed on it',
  ],
  battery: [
    'battery is swollen',
    'battery bulging',
    'battery hot',
    'hot battery',
    'the battery has puffed up',
    'the battery gets very hot',
    'battery overheats',
  ],
  gas: ['smell of gas in the kitchen', 'I can smell gas', 'it smells like gas', 'there is a gas leak'],
  hurt: [
    'I am hurt',
    'I cut my hand badly',
    'burned my finger',
    'my husband got hurt',
    'it fell on my foot',
    'my finger is bleeding',
    'someone is injured',
  ],
};

const DOUBT: readonly (readonly [string, RedFlag])[] = [
  ['not sure if that was smoke', 'smoke'],
  ['maybe it was smoke', 'smoke'],
  ["I don't think there was smoke", 'smoke'],
  ['I do not know if it smoked', 'smoke'],
  ['not without smoke', 'smoke'],
  ['no longer smoking', 'smoke'],
  ['no smoke anymore', 'smoke'],
  ['no smoke until I turned it on', 'smoke'],
  ['never smoked before today', 'smoke'],
  ['I saw no smoke but my wife did', 'smoke'],
  ['not much smoke', 'smoke'],
  ["isn't that smoke?", 'smoke'],
  ['smoke? no idea', 'smoke'],
  ['what if it smokes', 'smoke'],
  ['no picture, smoke', 'smoke'],
  ['smokng a bit', 'smoke'],
  ['somke', 'smoke'],
  ['the smoke alarm went off', 'smoke'],
  ['no smoke and sparks', 'sparks'],
  ['spraks', 'sparks'],
  ['was it a spark?', 'sparks'],
  ['could it catch fire?', 'flames'],
  ['is it going to catch fire', 'flames'],
  ['did not hear a loud bang', 'bang'],
  ['it popped and died', 'bang'],
  ['I bang it and it works again', 'bang'],
  ['fishy smell', 'burning-smell'],
  ['hot smell', 'burning-smell'],
  ['burnng smell', 'burning-smell'],
  ['is it normal that it smelled a bit like burning?', 'burning-smell'],
  ['the plug melted', 'burning-smell'],
  ['tingling feeling on the frame', 'shock'],
  ['risk of electric shock?', 'shock'],
  ['TV - the fuse blew', 'tripping'],
  ['wiped it with a wet cloth', 'water'],
  ['leaking battery in the remote', 'battery'],
  ['the tablet is swollen at the back', 'battery'],
  ['it is a gas heater', 'gas'],
];

/** Never a hard stop, and no miss that matters either way. */
const AT_MOST_DOUBT: readonly string[] = [
  'what a shock that it costs so much',
  'I was shocked at the price',
  'shocking picture quality',
  'the bang and orlund',
  'the Bang & Orlund set',
  'gas hob next to it',
  'it is a fire tv stick',
  'my programmes on fire tv stick do not load',
  'I tripped over the cable and it fell',
  'burnt resistor on the board',
  'the picture hurts to look at, so bright',
  'it was hurt by the lightning',
];

const NONE: readonly string[] = [
  '',
  'no smoke, no smell',
  "it doesn't smell burnt",
  'it doesnt smell burnt',
  'no smoke, sparks or flames',
  'no smoke, flames, or burning smell',
  'neither smoke nor sparks',
  'never smoked',
  'it has never smoked or sparked',
  'without smoke',
  'without any smoke or bang',
  'smoke? no',
  'any smoke or sparks? no',
  'Any smell? No',
  'Smoke: no. Sparks: no. Smell: none',
  'Smoke - no',
  'no sparks/smoke',
  'no smoke & no smell',
  "haven't seen any sparks or flames",
  "There wasn't any smoke, bang or smell",
  'Never any sparks, smoke, flames or bangs',
  'I have never had any burning smell or sparks from it',
  'I do not see any smoke or smell anything',
  "we didn't notice any burning smell",
  'nothing burning',
  'nobody was hurt',
  'no one got a shock',
  'no one is hurt and there is no smoke',
  'smoke did not come out',
  'It never tripped the breaker',
  'the breaker did not trip',
  "the battery isn't hot or swollen",
  'the battery is not swollen and not hot',
  "it didn't get wet",
  'no liquid damage',
  'no gas smell',
  'sparkling picture',
  'spare parts needed',
  'it is waterproof',
  'water in the kettle',
  'watercolour',
  'it does not boil the water',
  'picture breaks up when it rains',
  'liquid crystal display',
  'the smoke alarm is in the same room',
  'smoke detector',
  'non-smoking home',
  'non smoking household, no pets',
  'gas bill',
  'battery of the remote is empty',
  'new batteries in the remote',
  'bulging capacitor',
  'swollen capacitors on the power board',
  'two caps are bulging',
  'screen froze',
  'hot glue',
  'it hurts my eyes to watch',
  "it wouldn't hurt to try",
  'burnt out LED',
  'burn-in',
  'CD burner',
  'I burned a dvd',
  'backlight bleeding in the corner',
  'faint picture',
  'fire stick',
  'firewall blocked',
  'the fireplace is next to it',
  'a message pops up on the screen',
  'popup window about cookies',
  'we had a trip to the sea',
  'the fuse is fine',
  'hot to touch',
  'fan noise, then a click',
];

describe('red flags', () => {
  it('name every flag of the shared list once', () => {
    expect(new Set(redFlags).size).toBe(redFlags.length);
    expect(Object.keys(SURE).sort()).toEqual([...redFlags].sort());
  });

  for (const flag of redFlags) {
    it.each(SURE[flag])(`${flag} is sure: %s`, (text) => {
      expect(read(text)).toContain(`${flag} sure`);
    });
  }

  it.each(DOUBT)('in doubt: %s', (text, flag) => {
    expect(read(text)).toContain(`${flag} doubt`);
  });

  it.each(AT_MOST_DOUBT)('no hard stop: %s', (text) => {
    expect(read(text).filter((reading) => reading.endsWith('sure'))).toEqual([]);
  });

  it.each(NONE)('none: %s', (text) => {
    expect(read(text)).toEqual([]);
  });

  it('reads several flags in the order of the list', () => {
    expect(read('the fuse blew with a bang and it smells burnt')).toEqual([
      'bang sure',
      'burning-smell sure',
      'tripping doubt',
    ]);
  });

  it('denies one and keeps the other', () => {
    expect(read('no smoke but it sparks')).toEqual(['sparks sure']);
    expect(read('Smoke yes, sparks no')).toEqual(['smoke sure']);
  });

  it('gives one reading a flag, the sure one', () => {
    expect(read('maybe smoke? Yes, smoke is coming out, lots of smoke')).toEqual(['smoke sure']);
  });

  it('quotes the words as they were typed', () => {
    expect(readRedFlags('Hello, the Battery is SWOLLEN!')).toEqual([
      { flag: 'battery', sure: true, words: 'Battery is SWOLLEN' },
    ]);
  });

  it('takes no harmless use of a word as an excuse for a harmful one', () => {
    expect(read('the smoke detector is fine but the set smokes')).toEqual(['smoke sure']);
    expect(read('two capacitors are bulging. The battery is bulging too')).toEqual(['battery sure']);
    expect(read('water in the kettle is fine. I spilled water in the back')).toEqual(['water sure']);
  });
});

describe('red flags in any text', () => {
  const sure = fc.constantFrom(
    ...redFlags.flatMap((flag) => SURE[flag].map((text) => [flag, text] as const)),
  );

  it('never throw and quote what was typed', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 5000 }), (text) => {
        for (const { flag, words } of readRedFlags(text)) {
          expect(redFlags).toContain(flag);
          expect(text).toContain(words);
        }
      }),
      { seed: 6, numRuns: 200 },
    );
  });

  it('are not silenced by sentences before and after', () => {
    const words = fc.array(
      fc.constantFrom(
        ...'no not never without neither smoke sparks fire bang water is it there any or and but maybe if fine kettle alarm'.split(
          ' ',
        ),
      ),
      { maxLength: 12 },
    );
    fc.assert(
      fc.property(words, sure, words, (before, [flag, text], after) => {
        const whole = `${before.join(' ')}. ${text}. ${after.join(' ')}`;
        expect(readRedFlags(whole).filter((reading) => reading.flag === flag && reading.sure)).toHaveLength(
          1,
        );
      }),
      { seed: 6, numRuns: 500 },
    );
  });

  it('do not depend on capitals or on the kind of apostrophe', () => {
    fc.assert(
      fc.property(fc.constantFrom(...NONE, ...DOUBT.map(([text]) => text)), (text) => {
        const flags = read(text);
        expect(read(text.toUpperCase())).toEqual(flags);
        expect(read(text.replaceAll("'", '’'))).toEqual(flags);
      }),
      { seed: 6, numRuns: 300 },
    );
  });

  it('take time in proportion to the length of the text', () => {
    const worst = ['smoke ', 'no ', 'no smoke or ', 'smoke, ', 'battery is not ', 'a few of the '];
    const spent = (length: number) => {
      const start = performance.now();
      for (const words of worst) readRedFlags(words.repeat(Math.ceil(length / words.length)));
      return performance.now() - start;
    };
    spent(5000);
    // Sixteen times the text: quadratic time would be 256 times as long. The floor keeps a busy machine from failing it.
    expect(spent(80_000)).toBeLessThan(80 * Math.max(spent(5000), 20));
  });
});
