import { expect, test } from 'vitest';
import { people } from '../core/example-flow.ts';
import { following, newTalk, type Talk, type Voice } from './thread.ts';

/** Conversations with hands inside: what comes before it, every time. */

const ben = { ...people.asker, name: 'Ben' };

/** Up to the question about the plug, with a meter at hand. */
function intake(asker: Voice): void {
  asker.says('It lights up but is silent');
  asker.taps('silent');
  asker.taps('solid');
}

function proven(talk: Talk, asker: Voice): void {
  asker.taps('unplugged');
  talk.later(20).rings();
  asker.taps('opened');
  for (const volts of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) asker.measures(volts);
}

test('somebody handy opens it, proves it dead, mends, closes and tries it', () => {
  const talk = newTalk({ settings: following('reseat') });
  const asker = talk.as(ben);
  intake(asker);
  asker.taps('handy');
  asker.taps('light');
  asker.taps('yes');
  asker.taps('unplugged');
  talk.later(5);
  asker.says('can I begin?');
  talk.later(15).rings();
  asker.taps('opened');
  asker.measures('1.55 V');
  asker.says('12,5 v');
  talk.later(15).rings();
  asker.says('1.55');
  asker.says('0.4 V');
  asker.says('-0.1');
  asker.says('1.54 V');
  asker.taps('done');
  asker.taps('shut');
  asker.taps('works');
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    09:00 Ben: It lights up but is silent
        ? What is wrong: Do I understand you right?
          [silent] [other] [danger]
    09:00 Ben: [silent]
        = Complaint: It lights up, but it is silent
        ? About the appliance: What kind of radio is it?
          [solid] [glass] [spirit] [not-known] [recalled]
    09:00 Ben: [solid]
        = What kind of radio is it? One with transistors
        ! WARNING: Inside your radio there can be voltages that kill, even when it is unplugged. Nobody expects you to open it.
        ? Before anything is opened: Have you worked inside mains-powered things before?
          [new] [handy]
    09:00 Ben: [handy]
        = Has worked inside unplugged things
        ? About the appliance: Can you turn it over?
          [light] [heavy]
    09:00 Ben: [light]
        = Can you turn it over? Yes
        ? Before anything is opened: Do you have a multimeter here that measures volts d.c. (the V with a straight line)? Without one, nobody can tell whether it still holds a charge.
          [yes] [no]
    09:00 Ben: [yes]
        = Has a multimeter
        ! DANGER: Mains voltage kills. A switch is not enough: the plug has to be out of the wall.
        ? Out of the wall: Is the plug out and in sight? I then wait 20 min with you.
          [unplugged]
    09:00 Ben: [unplugged]
        = The plug is out
        Now we wait 20 min: the charge has to fall. I come back by myself.
        (comes back: 09:20)
    09:05 Ben: can I begin?
        We are waiting: the charge has to fall. 15 min to go. Do something else meanwhile; I come back by myself.
    09:20 a timer: (rang)
        The time is over.
        ! DANGER: Until it is measured, every metal part inside counts as live. Touch nothing inside yet.
        ! DANGER: The big can may still be charged.
        ? Open: the back: Is it open, and have you touched nothing inside?
          [opened]
    09:20 Ben: [opened]
        = Open: the back
        ? Prove that it is discharged: What does it show? This proves that the meter works before we trust a zero.
          a number in V
    09:20 Ben: (form) 1.55 V
        = Battery before: 1.55 V
        ! DANGER: Treat every metal part as live. Hold the probes by the insulation, one hand where you can. Never short anything with a tool.
        ? Prove that it is discharged: The big can: What does the meter show? I need less than 10 V.
          a number in V
    09:20 Ben: 12,5 v
        ! DANGER: Hands out. It still holds a charge. 12.5 V is too much. Do not touch anything inside and never short it with a tool. Leave it unplugged; we wait 15 min and measure again.
        = The big can: 12.5 V
        Now we wait 15 min: still charged. I come back by myself.
        (comes back: 09:35)
    09:35 a timer: (rang)
        The time is over.
        ? Prove that it is discharged: What does it show? This proves that the meter works before we trust a zero.
          a number in V
    09:35 Ben: 1.55
        = Battery before: 1.55 V
        ! DANGER: Treat every metal part as live. Hold the probes by the insulation, one hand where you can. Never short anything with a tool.
        ? Prove that it is discharged: The big can: What does the meter show? I need less than 10 V.
          a number in V
    09:35 Ben: 0.4 V
        = The big can: 0.4 V
        ! DANGER: Treat every metal part as live. Hold the probes by the insulation, one hand where you can. Never short anything with a tool.
        ? Prove that it is discharged: The feed of the dial lamp: What does the meter show? I need less than 10 V.
          a number in V
    09:35 Ben: -0.1
        = The feed of the dial lamp: -0.1 V
        ! DANGER: Treat every metal part as live. Hold the probes by the insulation, one hand where you can. Never short anything with a tool.
        ? Prove that it is discharged: What does it show now? This proves that the meter still works.
          a number in V
    09:35 Ben: 1.54 V
        = Battery after: 1.54 V
        Proven: it is discharged. This holds until power comes back, for a day at most.
        ! DANGER: The big can may still be charged.
        ? Seat the speaker lead: Is it done?
          [done]
    09:35 Ben: [done]
        = Done: Seat the speaker lead
        ! WARNING: Do not plug it in while it is open. With power, parts inside are live.
        ? Close it before power comes back: Is everything back on and closed? Leave it unplugged for now.
          [shut]
    09:35 Ben: [shut]
        = Closed
        ? Does it work now?: After “Seat the speaker lead”: does it work now?
          [works] [no] [different]
    09:35 Ben: [works]
        = Tried after “Seat the speaker lead”: it works
        It was open, so before it goes back into use:
          - All screws are back.
        > Fixed: Well done, it works again. Most likely it was: the speaker lead.
    "
  `);
  expect(talk.kase.outcome).toMatchObject({ outcome: 'Fixed', fault: 'speaker-lead' });
});

test('an undo in the middle of the proof begins the proof again', () => {
  const talk = newTalk({ settings: following('lead-look', 'reseat') });
  const asker = talk.as(ben);
  intake(asker);
  asker.taps('handy');
  asker.taps('light');
  asker.taps('yes');
  asker.taps('unplugged');
  talk.later(20).rings();
  asker.taps('opened');
  asker.measures('1.55 V');
  asker.measures('0.3 V');
  talk.read();
  asker.says('undo');
  asker.measures('1.55 V');
  asker.measures('0.3 V');
  asker.measures('0.1 V');
  asker.measures('1.3 V');
  asker.says('undo');
  asker.says('undo');
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    09:20 Ben: undo
        Taken back: the measurements of this proof. It begins again, so that none of them is in doubt.
        ? Prove that it is discharged: What does it show? This proves that the meter works before we trust a zero.
          a number in V
    09:20 Ben: (form) 1.55 V
        = Battery before: 1.55 V
        ! DANGER: Treat every metal part as live. Hold the probes by the insulation, one hand where you can. Never short anything with a tool.
        ? Prove that it is discharged: The big can: What does the meter show? I need less than 10 V.
          a number in V
    09:20 Ben: (form) 0.3 V
        = The big can: 0.3 V
        ! DANGER: Treat every metal part as live. Hold the probes by the insulation, one hand where you can. Never short anything with a tool.
        ? Prove that it is discharged: The feed of the dial lamp: What does the meter show? I need less than 10 V.
          a number in V
    09:20 Ben: (form) 0.1 V
        = The feed of the dial lamp: 0.1 V
        ! DANGER: Treat every metal part as live. Hold the probes by the insulation, one hand where you can. Never short anything with a tool.
        ? Prove that it is discharged: What does it show now? This proves that the meter still works.
          a number in V
    09:20 Ben: (form) 1.3 V
        = Battery after: 1.3 V
        The battery showed 1.55 V before and 1.3 V now. The meter cannot be trusted, so nothing is proven. Check leads and range; we begin the proof again.
        ? Prove that it is discharged: What does it show? This proves that the meter works before we trust a zero.
          a number in V
    09:20 Ben: undo
        Taken back: Has a multimeter. To be safe, what was measured before counts as charged again.
        ? Before anything is opened: Do you have a multimeter here that measures volts d.c. (the V with a straight line)? Without one, nobody can tell whether it still holds a charge.
          [yes] [no]
    09:20 Ben: undo
        Taken back: Can you turn it over? Yes. To be safe, what was measured before counts as charged again.
        ? About the appliance: Can you turn it over?
          [light] [heavy]
    "
  `);
  expect(talk.kase.world.proof).toBeNull();
});

test('a look is prepared dead, seen from the front, and put right the next time it is open', () => {
  const talk = newTalk({ settings: following('lead-off-look', 'reseat') });
  const asker = talk.as({ ...ben, level: 'handy' });
  intake(asker);
  asker.taps('light');
  asker.taps('yes');
  proven(talk, asker);
  talk.read();
  asker.taps('no');
  proven(talk, asker);
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    09:20 Ben: [no]
        = Sound without the tape lead: No, it stays silent
        ! DANGER: Mains voltage kills. A switch is not enough: the plug has to be out of the wall.
        ? Out of the wall: Is the plug out and in sight? I then wait 20 min with you.
          [unplugged]
    09:20 Ben: [unplugged]
        = The plug is out
        Now we wait 20 min: the charge has to fall. I come back by myself.
        (comes back: 09:40)
    09:40 a timer: (rang)
        The time is over.
        ! DANGER: Until it is measured, every metal part inside counts as live. Touch nothing inside yet.
        ! DANGER: The big can may still be charged.
        ? Open: the back: Is it open, and have you touched nothing inside?
          [opened]
    09:40 Ben: [opened]
        = Open: the back
        ? Prove that it is discharged: What does it show? This proves that the meter works before we trust a zero.
          a number in V
    09:40 Ben: (form) 1.55 V
        = Battery before: 1.55 V
        ! DANGER: Treat every metal part as live. Hold the probes by the insulation, one hand where you can. Never short anything with a tool.
        ? Prove that it is discharged: The big can: What does the meter show? I need less than 10 V.
          a number in V
    09:40 Ben: (form) 0.3 V
        = The big can: 0.3 V
        ! DANGER: Treat every metal part as live. Hold the probes by the insulation, one hand where you can. Never short anything with a tool.
        ? Prove that it is discharged: The feed of the dial lamp: What does the meter show? I need less than 10 V.
          a number in V
    09:40 Ben: (form) 0.1 V
        = The feed of the dial lamp: 0.1 V
        ! DANGER: Treat every metal part as live. Hold the probes by the insulation, one hand where you can. Never short anything with a tool.
        ? Prove that it is discharged: What does it show now? This proves that the meter still works.
          a number in V
    09:40 Ben: (form) 1.55 V
        = Battery after: 1.55 V
        Proven: it is discharged. This holds until power comes back, for a day at most.
        ! DANGER: The big can may still be charged.
        ? Seat the speaker lead: Is it done?
          [done]
    "
  `);
  expect(talk.ask?.how[0]).toBe('Plug the tape lead in again.');
});

test('a live reading is agreed to on its own, after the proof', () => {
  const talk = newTalk({ settings: following('rail') });
  const asker = talk.as({ ...ben, level: 'trained' });
  intake(asker);
  asker.taps('light');
  asker.taps('yes');
  proven(talk, asker);
  talk.read();
  asker.says('ok');
  asker.says('yes');
  asker.says('6.2 V');
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    09:20 Ben: ok
        I read that as: “Yes, all five are true and I will do it”. Is that right? Say yes, or choose an answer.
    09:20 Ben: yes
        = Agreed to live work: measure the 12 V rail
        ! DANGER: What can bite: the mains inlet and the big can
        ! DANGER: The big can may still be charged.
        ? Measure the 12 V rail: What does the meter show?
          [none] [low] [good]
          a number in V
    09:20 Ben: 6.2 V
        = Measure the 12 V rail: 6.2 V
        > to people (stopped-paying): From here it is cheaper to let somebody look at it who can see it. It is still open: pull the plug if it is in, leave it out, and let nobody reach in. Who can help: The Larkholm Bench. The job card below tells them everything.
    "
  `);
});

test('a part is ordered and waited for over a week, and nothing is taken as dead afterwards', () => {
  const talk = newTalk({ settings: following('new-speaker') });
  const asker = talk.as({ ...ben, level: 'handy' });
  intake(asker);
  asker.taps('young');
  asker.taps('light');
  asker.taps('yes');
  proven(talk, asker);
  talk.read();
  asker.taps('ordered');
  talk.later(5 * 24 * 60 + 60).rings();
  asker.taps('not-yet');
  talk.later(2 * 24 * 60);
  asker.taps('arrived');
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    09:20 Ben: [ordered]
        = Part ordered: Speaker
        Good. Leave it unplugged until the part is here, and put the cover back so that nobody can reach in.
        Now we wait 5 days: the part is on its way. I come back by myself.
        (comes back: day 6, 10:00)
        ? The part: Speaker: Answer this when it is here. Are its numbers the same as on the old one?
          [arrived] [not-yet] [wrong-part]
    day 6, 10:20 a timer: (rang)
        The part should be here by now.
        ? The part: Speaker: Is it here, and are its numbers the same as on the old one?
          [arrived] [not-yet] [wrong-part] [quiet]
    day 6, 10:20 Ben: [not-yet]
        Now we wait 3 days: the part is on its way. I come back by myself.
        (comes back: day 9, 10:20)
        ? The part: Speaker: Answer this when it is here. Are its numbers the same as on the old one?
          [arrived] [not-yet] [wrong-part] [quiet]
    day 8, 10:20 Ben: [arrived]
        = Part is here: Speaker
        (no longer: part:new-speaker)
        ! DANGER: Mains voltage kills. A switch is not enough: the plug has to be out of the wall.
        ? Out of the wall: Is the plug out and in sight? I then wait 20 min with you.
          [unplugged]
    "
  `);
  expect(talk.ask).toMatchObject({ phase: 'safety', step: 'unplug' });
});

test('in a demonstration every message is marked, and what was skipped proves nothing afterwards', () => {
  const talk = newTalk({ settings: following('reseat') });
  const asker = talk.as({ ...ben, level: 'handy' });
  intake(asker);
  asker.taps('light');
  asker.taps('yes');
  asker.taps('unplugged');
  talk.read();
  talk.skips(20).rings();
  asker.taps('opened');
  for (const volts of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) asker.measures(volts);
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    09:20 a timer: (rang)
        (demonstration) The time is over.
        (demonstration) ! DANGER: Until it is measured, every metal part inside counts as live. Touch nothing inside yet.
        (demonstration) ! DANGER: The big can may still be charged.
        (demonstration) ? Open: the back: Is it open, and have you touched nothing inside?
          [opened]
    09:20 Ben: [opened]
        (demonstration) = Open: the back
        (demonstration) ? Prove that it is discharged: What does it show? This proves that the meter works before we trust a zero.
          a number in V
    09:20 Ben: (form) 1.55 V
        (demonstration) = Battery before: 1.55 V
        (demonstration) ! DANGER: Treat every metal part as live. Hold the probes by the insulation, one hand where you can. Never short anything with a tool.
        (demonstration) ? Prove that it is discharged: The big can: What does the meter show? I need less than 10 V.
          a number in V
    09:20 Ben: (form) 0.3 V
        (demonstration) = The big can: 0.3 V
        (demonstration) ! DANGER: Treat every metal part as live. Hold the probes by the insulation, one hand where you can. Never short anything with a tool.
        (demonstration) ? Prove that it is discharged: The feed of the dial lamp: What does the meter show? I need less than 10 V.
          a number in V
    09:20 Ben: (form) 0.1 V
        (demonstration) = The feed of the dial lamp: 0.1 V
        (demonstration) ! DANGER: Treat every metal part as live. Hold the probes by the insulation, one hand where you can. Never short anything with a tool.
        (demonstration) ? Prove that it is discharged: What does it show now? This proves that the meter still works.
          a number in V
    09:20 Ben: (form) 1.55 V
        (demonstration) = Battery after: 1.55 V
        (demonstration) Proven: it is discharged. This holds until power comes back, for a day at most.
        (demonstration) ! DANGER: The big can may still be charged.
        (demonstration) ? Seat the speaker lead: Is it done?
          [done]
    "
  `);
  expect(talk.ask).toMatchObject({ phase: 'do', step: 'reseat', mark: 'demonstration' });
  expect(talk.kase.world.proof?.demonstration).toBe(true);
});
