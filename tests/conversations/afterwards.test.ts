import { expect, test } from 'vitest';
import { people } from '../core/example-flow.ts';
import { following, newTalk, type Talk } from './thread.ts';

/** What the desk asks by itself, as people read it. Timers ring when they are due. */

const asker = { ...people.asker, name: 'Ben', level: 'handy' as const };

function due(talk: Talk): Talk {
  const at = talk.kase.rest?.due ?? talk.kase.followUp?.due;
  if (at == null) throw new Error('No timer is left.');
  return talk.later((at - talk.at) / 60_000).rings();
}

test('a remedy is left for a day, helps, and two weeks later the fault is back', () => {
  const talk = newTalk({ settings: following('settings') });
  const ben = talk.as(asker);
  ben.says('it lights up but is silent');
  ben.taps('silent');
  ben.taps('solid');
  talk.read();
  due(talk);
  ben.says('ask me at 8 pm');
  ben.taps('works');
  due(talk);
  ben.says("it's broken again");
  ben.says('yes');
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    day 2, 10:00 a timer: (rang)
        Did you get to it? There is no hurry. This is where we were:
        ? Set volume and band: Does it work now?
          [works] [no] [different] [quiet]
    day 2, 10:00 Ben: ask me at 8 pm
        Good. When I ask by myself, I ask around 20:00 (UTC).
    day 2, 10:00 Ben: [works]
        = Tried after “Set volume and band”: it works
        > Fixed: Well done, it works again. Most likely it was: the volume knob.
    day 16, 20:00 a timer: (rang)
        How did it go on? One tap is enough.
        ? How it went on: Does your radio still work?
          [works] [back] [other] [quiet]
    day 16, 20:00 Ben: it's broken again
        I read that as: “No, the same fault is back”. Is that right? Say yes, or choose an answer.
    day 16, 20:00 Ben: yes
        = No, the same fault is back
        Thank you for telling me. It counts as not mended for good, and we take the case up again.
        ? Set volume and band: Does it work now?
          [works] [no] [different]
    "
  `);
});

test('what a café took on is not repaired yet, then it is', () => {
  const talk = newTalk({ settings: following('settings') });
  const ben = talk.as(asker);
  ben.says('it lights up but is silent');
  ben.asks('person');
  talk.as(people.mender).does({ what: 'settle', outcome: 'Repairable', fault: 'speaker' });
  talk.read();
  due(talk);
  ben.taps('not-yet');
  due(talk);
  ben.says('they repaired it');
  ben.says('yes');
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    day 15, 10:00 a timer: (rang)
        How did it go on? One tap is enough.
        ? What became of it: Your radio could be repaired when we spoke last. What became of it?
          [repaired] [not-yet] [given-up] [quiet]
    day 15, 10:00 Ben: [not-yet]
        = It is not repaired yet
        Thank you. I ask once more in 14 days.
    day 29, 10:00 a timer: (rang)
        How did it go on? One tap is enough. This is the last time I ask by myself; after it I wait for your word.
        ? What became of it: Your radio could be repaired when we spoke last. What became of it?
          [repaired] [not-yet] [given-up] [quiet]
    day 29, 10:00 Ben: they repaired it
        I read that as: “It is repaired and works”. Is that right? Say yes, or choose an answer.
    day 29, 10:00 Ben: yes
        = It is repaired and works
        Good to hear. Thank you: I note it as fixed.
    "
  `);
});

test('a step inside is left until nothing that was measured holds', () => {
  const talk = newTalk({ settings: following('reseat') });
  const ben = talk.as(asker);
  ben.says('it lights up but is silent');
  for (const answer of ['silent', 'solid', 'light', 'yes', 'unplugged']) ben.taps(answer);
  talk.later(20).rings();
  ben.taps('opened');
  for (const volts of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) ben.measures(volts);
  talk.read();
  due(talk);
  ben.taps('anew');
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    day 2, 10:00 a timer: (rang)
        There is no hurry.
        ? Left for another day: Did you get to it? “Seat the speaker lead”: is it done? If not, keep your hands out: what was measured holds for a day, so we prepare it again first.
          [done] [anew] [quiet]
    day 2, 10:00 Ben: [anew]
        Good. Leave it unplugged; we prepare it again.
        ! DANGER: Mains voltage kills. A switch is not enough: the plug has to be out of the wall.
        ? Out of the wall: Is the plug out and in sight? I then wait 20 min with you.
          [unplugged]
    "
  `);
});
