import { expect, test } from 'vitest';
import { people } from '../core/example-flow.ts';
import { following, newTalk } from './thread.ts';

/** Conversations that never open anything. The words are what people read; what must not change is said again below them. */

const ada = { ...people.asker, name: 'Ada', level: 'new' as const };

test('a beginner whose radio is cured by letting the charge drain', () => {
  const talk = newTalk({ settings: following('drain', 'settings') });
  const asker = talk.as(ada);
  asker.says('My radio lights up but is silent');
  asker.taps('silent');
  asker.taps('solid');
  talk.later(2);
  asker.taps('done');
  talk.later(10);
  asker.says('is it time?');
  talk.later(20).rings();
  talk.later(1);
  asker.taps('works');
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    09:00 Ada: My radio lights up but is silent
        ? What is wrong: Do I understand you right?
          [silent] [other] [danger]
    09:00 Ada: [silent]
        = Complaint: It lights up, but it is silent
        ? About the appliance: What kind of radio is it?
          [solid] [glass] [spirit] [not-known] [recalled]
    09:00 Ada: [solid]
        = What kind of radio is it? One with transistors
        ? Let all charge drain: Is it waiting now? I keep the time (30 min) and come back.
          [done]
    09:02 Ada: [done]
        = Done: Let all charge drain
        Now we wait 30 min: “Let all charge drain” needs its time. I come back by myself.
        (comes back: 09:32)
    09:12 Ada: is it time?
        We are waiting: “Let all charge drain” needs its time. 20 min to go. Do something else meanwhile; I come back by myself.
    09:32 a timer: (rang)
        The time is over.
        ? Does it work now?: After “Let all charge drain”: does it work now?
          [works] [no] [different]
    09:33 Ada: [works]
        = Tried after “Let all charge drain”: it works
        > Fixed: Well done, it works again. Most likely it was: a stuck state.
    "
  `);
  expect(talk.kase.state).toBe('settled');
  expect(talk.kase.outcome).toMatchObject({ outcome: 'Fixed', fault: 'latched' });
  expect(talk.events.map(({ kind }) => kind)).not.toContain('unplugged');
});

test('a button of an old message is not counted, and the open question stays', () => {
  const talk = newTalk({ settings: following('dial-lamp', 'knob-feel', 'settings') });
  const asker = talk.as(ada);
  asker.says('It hums');
  asker.taps('hums');
  asker.taps('solid');
  const old = talk.kase.question?.key;
  asker.taps('yes');
  talk.read();
  asker.taps('no', old);
  asker.taps('no');
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    09:00 Ada: [no]
        (to asker alone) That question is no longer open, so I did not count the answer. “Undo” takes the last answer back.
    09:00 Ada: [no]
        = Turn the knob: No, it is stuck
        ? Set volume and band: Does it work now?
          [works] [no] [different]
    "
  `);
  expect(talk.kase.answers.filter((answer) => answer.kind === 'answered')).toMatchObject([
    { step: 'dial-lamp', outcome: 'yes' },
    { step: 'knob-feel', outcome: 'no' },
  ]);
});

test('free words are understood where they can be, echoed, and confirmed where they decide much', () => {
  const talk = newTalk({ settings: following('dial-lamp', 'knob-feel', 'settings') });
  const asker = talk.as(ada);
  asker.says('hello, it makes no sound any more');
  asker.says('yes');
  asker.says('hmm, a kind of box?');
  asker.says('transistors, I think');
  asker.says('ok');
  asker.says('the lamp glows');
  asker.says('undo');
  asker.says('no');
  asker.says('no, it is stuck');
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    09:00 Ada: hello, it makes no sound any more
        ? What is wrong: Do I understand you right?
          [silent] [other] [danger]
    09:00 Ada: yes
        = Complaint: It lights up, but it is silent
        ? About the appliance: What kind of radio is it?
          [solid] [glass] [spirit] [not-known] [recalled]
    09:00 Ada: hmm, a kind of box?
        I did not understand that as an answer. I keep it for whoever looks at this. Please choose one of these:
          - One with transistors
          - One with glass valves
          - One that burns spirit
          - I do not know
          - Its maker has called it back
    09:00 Ada: transistors, I think
        I read that as: “One with transistors”. Is that right? Say yes, or choose an answer.
    09:00 Ada: ok
        = What kind of radio is it? One with transistors
        ? Look at the dial lamp: Does the lamp behind the dial glow?
          [yes] [no]
    09:00 Ada: the lamp glows
        I read that as: “Yes, it glows”. Say “undo” if that is wrong.
        = Look at the dial lamp: Yes, it glows
        ? Turn the knob: Does it turn all the way?
          [yes] [no]
    09:00 Ada: undo
        Taken back: Look at the dial lamp: Yes, it glows.
        ? Look at the dial lamp: Does the lamp behind the dial glow?
          [yes] [no]
    09:00 Ada: no
        = Look at the dial lamp: No, it stays dark
        ? Turn the knob: Does it turn all the way?
          [yes] [no]
    09:00 Ada: no, it is stuck
        I read that as: “No, it is stuck”. Is that right? Say yes, or choose an answer.
    "
  `);
  expect(talk.kase.answers).toMatchObject([
    { kind: 'complaint-stated', complaint: 'silent' },
    { kind: 'detail-stated', choice: 'solid' },
    { kind: 'answered', step: 'dial-lamp', outcome: 'no' },
  ]);
});

test('somebody stops, and goes on the next day where they were', () => {
  const talk = newTalk({ settings: following('dial-lamp', 'settings') });
  const asker = talk.as(ada);
  asker.says('It hums');
  asker.taps('hums');
  asker.taps('solid');
  asker.asks('stop');
  talk.later(24 * 60);
  asker.says('hello again');
  asker.taps('yes');
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    09:00 Ada: It hums
        ? What is wrong: Do I understand you right?
          [hums] [other] [danger]
    09:00 Ada: [hums]
        = Complaint: It hums
        ? About the appliance: What kind of radio is it?
          [solid] [glass] [spirit] [not-known] [recalled]
    09:00 Ada: [solid]
        = What kind of radio is it? One with transistors
        ? Look at the dial lamp: Does the lamp behind the dial glow?
          [yes] [no]
    09:00 Ada: <stop>
        We stop here. Come back any time, and we go on.
    day 2, 09:00 Ada: hello again
        Welcome back. We go on where we were.
        ? Look at the dial lamp: Does the lamp behind the dial glow?
          [yes] [no]
    day 2, 09:00 Ada: [yes]
        = Look at the dial lamp: Yes, it glows
        ? Set volume and band: Does it work now?
          [works] [no] [different]
    "
  `);
});

test('smoke stops everything until a moderator has looked into it', () => {
  const talk = newTalk({ settings: following('dial-lamp', 'settings') });
  const asker = talk.as(ada);
  const mender = talk.as({ ...people.mender, name: 'Mo' });
  const moderator = talk.as({ ...people.moderator, name: 'Vesna' });
  asker.says('It hums, no smoke');
  asker.taps('hums');
  asker.taps('solid');
  asker.says('oh no, smoke is coming out');
  asker.taps('yes');
  mender.does({ what: 'back' });
  mender.does({ what: 'unflag', flag: 'smoke', reason: 'it was the toaster' });
  moderator.does({ what: 'unflag', flag: 'smoke', reason: ' ' });
  moderator.does({ what: 'unflag', flag: 'smoke', reason: 'it was the toaster; I have seen a picture' });
  moderator.does({ what: 'back' });
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    09:00 Ada: It hums, no smoke
        ? What is wrong: Do I understand you right?
          [hums] [other] [danger]
    09:00 Ada: [hums]
        = Complaint: It hums
        ? About the appliance: What kind of radio is it?
          [solid] [glass] [spirit] [not-known] [recalled]
    09:00 Ada: [solid]
        = What kind of radio is it? One with transistors
        ? Look at the dial lamp: Does the lamp behind the dial glow?
          [yes] [no]
    09:00 Ada: oh no, smoke is coming out
        ! DANGER: If you can reach the plug or the breaker safely, switch it off there. Do not touch the appliance. Keep away and air the room. If there are flames or the smoke goes on, leave the room, close the door and call 112.
        > to people (red-flag, danger): Everything stops here. From now on people decide, not I. Who can help: The Larkholm Bench. The job card below tells them everything.
    09:00 Ada: [yes]
        This case is with people now. They see what you write here.
    09:00 Mo: (back)
        (to mender alone) A sign of danger is open. A moderator first says that it was looked into.
    09:00 Mo: (unflag, smoke, it was the toaster)
        (to mender alone) Only a moderator can say that a sign of danger was looked into.
    09:00 Vesna: (unflag, smoke,  )
        (to moderator alone) Please say what was found: the reason stays with the case.
    09:00 Vesna: (unflag, smoke, it was the toaster; I have seen a picture)
        (to moderator alone) Noted, with your name and the reason. Hand the case back when it may go on.
    09:00 Vesna: (back)
        The case comes back to me; we go on.
        ? Look at the dial lamp: Does the lamp behind the dial glow?
          [yes] [no]
    "
  `);
  const asked = talk.events.filter(({ kind }) => kind === 'put').length;
  expect(asked).toBe(4);
});
