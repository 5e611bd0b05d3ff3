import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { aboutAsking } from '../../../src/core/words/asking-hour.ts';

describe('when somebody wants to be asked', () => {
  test.each([
    ['ask me at 7 pm', 19],
    ['Ask me at 7pm, please', 19],
    ['please ask me at 18', 18],
    ['not before 18:00', 18],
    ['Not before 18:00!', 18],
    ['not before 6 p.m.', 18],
    ['only after 9 am', 9],
    ['remind me in the evening', 19],
    ['Remind me tomorrow in the morning', 9],
    ['can you ask me again after 20:00?', 20],
    ['ask me not before 18:30', 19],
    ['write to me around 8 in the evening', 20],
    ['ask me at 07:00', 7],
    ['ask me at noon', 12],
    ['ask me at 12', 12],
    ['come back to me at 17 o’clock', 17],
    ['ask me at 23:15', 0],
    ['ask me at 11 at night', 23],
    ['ask me at 12 at night', 0],
    ['ask me at 2 at night', 2],
  ])('%s', (words, hour) => {
    expect(aboutAsking(words)).toEqual({ kind: 'hour', hour });
  });

  test.each(['ask me at 7', 'remind me at 7:00', 'not before 6', 'ask me at 8 o’clock'])(
    'is asked back where it may be morning or evening: %s',
    (words) => expect(aboutAsking(words)).toEqual({ kind: 'unclear' }),
  );

  test.each([
    'do not ask me again',
    "Don't ask me any more, please",
    'stop asking me',
    'no more reminders',
    'Please stop reminding me about this.',
  ])('can be never: %s', (words) => expect(aboutAsking(words)).toEqual({ kind: 'quiet' }));

  test.each([
    '18',
    '18:00',
    '7 pm',
    '19 V',
    'at 7 pm',
    '0.3 V',
    'it fails not before 18:00',
    'it went dark at 7 pm',
    'ask me at 7 pm, and it hums',
    'ask a person',
    'ask me at 25',
    'ask me at 18:75',
    'do not ask',
    'stop',
    'in the evening',
    'it hums in the evening',
    '',
  ])('is not read from anything else: %s', (words) => expect(aboutAsking(words)).toBeNull());

  test('a number alone is never an hour, however it is written', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 3000 }),
        fc.constantFrom('', ':00', ' V', ' pm', ' ohm', 'h', '.5', " o'clock", ' am'),
        (number, unit) => {
          expect(aboutAsking(`${number}${unit}`)).toBeNull();
        },
      ),
    );
  });

  test('whatever is typed is read in no time, and to a whole hour', () => {
    const piece = fc.constantFrom(
      'ask me',
      'at',
      ' ',
      'please',
      '7',
      '18:00',
      'pm',
      'not before',
      'ok,',
      'evening',
      'don’t',
    );
    fc.assert(
      fc.property(fc.array(piece, { maxLength: 60 }), (pieces) => {
        const read = aboutAsking(pieces.join(' '));
        if (read?.kind === 'hour')
          expect(Number.isInteger(read.hour) && read.hour >= 0 && read.hour < 24).toBe(true);
      }),
    );
  });
});
