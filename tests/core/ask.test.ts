import { expect, test } from 'vitest';
import { Flow } from '../../shared/flow.ts';
import { following, newTalk } from '../conversations/thread.ts';
import { people, radio } from './example-flow.ts';

/** How a question is put. */

const fay = { ...people.asker, name: 'Fay', level: 'handy' } as const;

test('what kills is told before what cuts, whatever order the flow has', () => {
  const cut = { word: 'CAUTION', text: 'Sharp edges.' } as const;
  const kills = { word: 'WARNING', text: 'It bites.' } as const;
  const flow = Flow.parse({
    ...radio,
    checks: radio.checks.map((check) =>
      check.id === 'knob-feel' ? { ...check, hazards: [cut, kills] } : check,
    ),
  });
  const talk = newTalk({ flow, settings: following('knob-feel') });
  const asker = talk.as(fay);
  asker.says('It lights up but is silent');
  asker.taps('silent');
  asker.taps('solid');
  expect(talk.ask?.hazards).toEqual([kills, cut]);
});

test('nobody is told to close what was never opened', () => {
  const talk = newTalk({ settings: following('drain') });
  const asker = talk.as(fay);
  asker.says('It lights up but is silent');
  asker.taps('silent');
  asker.taps('solid');
  asker.taps('done');
  talk.later(30).rings();
  expect(talk.ask?.how).toEqual(['Plug it straight into the wall and switch it on.', 'Give it a minute.']);
});

test('what lies behind the first cover is done, not open', () => {
  const talk = newTalk({ settings: following('joint-look') });
  const asker = talk.as(fay);
  asker.says('It lights up but is silent');
  for (const answer of ['silent', 'solid', 'light', 'yes', 'unplugged']) asker.taps(answer);
  talk.later(20).rings();
  expect(talk.ask?.choices).toEqual([{ id: 'opened', label: 'Yes, it is open' }]);
  asker.taps('opened');
  for (const volts of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) asker.measures(volts);
  expect(talk.ask).toMatchObject({
    step: 'chassis-out',
    question: 'Is it done?',
    choices: [{ id: 'opened', label: 'Yes, done' }],
  });
});
