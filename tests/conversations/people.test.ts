import { expect, test } from 'vitest';
import { people } from '../core/example-flow.ts';
import { following, newTalk } from './thread.ts';

/** Conversations in which more than one person has a say. */

const cleo = { ...people.asker, name: 'Cleo' };
const mo = { ...people.mender, name: 'Mo' };
const vesna = { ...people.moderator, name: 'Vesna' };

test('a moderator clears one tier more for somebody new, and the proofs stay the same', () => {
  const talk = newTalk({ settings: following('reseat') });
  const asker = talk.as({ ...cleo, level: 'new' });
  const moderator = talk.as(vesna);
  const mender = talk.as(mo);
  asker.says('It lights up but is silent');
  asker.taps('silent');
  asker.taps('solid');
  mender.does({ what: 'clear', tier: 'cold', reason: 'she can do it' });
  moderator.does({ what: 'clear', tier: 'live', reason: 'she can do it' });
  moderator.does({ what: 'clear', tier: 'cold', reason: '' });
  moderator.does({
    what: 'clear',
    tier: 'cold',
    reason: 'we talked; her aunt is an electrician and stays with her',
  });
  moderator.does({ what: 'back' });
  asker.taps('light');
  asker.taps('yes');
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    09:00 Cleo: It lights up but is silent
        ? What is wrong: Do I understand you right?
          [silent] [other] [danger]
    09:00 Cleo: [silent]
        = Complaint: It lights up, but it is silent
        ? About the appliance: What kind of radio is it?
          [solid] [glass] [spirit] [not-known] [recalled]
    09:00 Cleo: [solid]
        = What kind of radio is it? One with transistors
        > to people (refused): From here it is not safe for me to let you go on alone. The next step would be: Seat the speaker lead. That is work inside, unplugged and proven discharged; it is for somebody used to opening mains things, with a meter. Who can help: The Larkholm Bench. The job card below tells them everything.
    09:00 Mo: (clear, cold, she can do it)
        (to mender alone) Only a moderator can clear a tier.
    09:00 Vesna: (clear, live, she can do it)
        (to moderator alone) Somebody new is never cleared for live work.
    09:00 Vesna: (clear, cold, )
        (to moderator alone) Please say why: the reason stays with the case.
    09:00 Vesna: (clear, cold, we talked; her aunt is an electrician and stays with her)
        A moderator has cleared one step more for you in this case. The proofs before each step stay the same.
    09:00 Vesna: (back)
        The case comes back to me; we go on.
        ? About the appliance: Can you turn it over?
          [light] [heavy]
    09:00 Cleo: [light]
        = Can you turn it over? Yes
        ? Before anything is opened: Do you have a multimeter here that measures volts d.c. (the V with a straight line)? Without one, nobody can tell whether it still holds a charge.
          [yes] [no]
    09:00 Cleo: [yes]
        = Has a multimeter
        ! DANGER: Mains voltage kills. A switch is not enough: the plug has to be out of the wall.
        ? Out of the wall: Is the plug out and in sight? I then wait 20 min with you.
          [unplugged]
    "
  `);
  expect(talk.kase.clearance).toMatchObject({ tier: 'cold', person: 'asker', by: 'moderator' });
  expect(talk.ask).toMatchObject({ step: 'unplug' });
});

test('a mender takes the appliance over: nothing that was pulled or proven before counts for them', () => {
  const talk = newTalk({ settings: following('reseat') });
  const asker = talk.as({ ...cleo, level: 'handy' });
  const mender = talk.as(mo);
  const stranger = talk.as({ ...people.stranger, name: 'Somebody' });
  asker.says('It lights up but is silent');
  asker.taps('silent');
  asker.taps('solid');
  asker.taps('light');
  asker.taps('yes');
  asker.taps('unplugged');
  talk.later(20).rings();
  asker.taps('opened');
  talk.read();
  mender.does({ what: 'take', hands: true });
  asker.says('thank you!');
  mender.does({ what: 'back' });
  asker.taps('yes');
  stranger.taps('yes');
  mender.taps('yes');
  mender.taps('unplugged');
  talk.later(20).rings();
  mender.measures('9.1 V');
  mender.measures('0.2 V');
  mender.measures('0.2 V');
  asker.measures('9.1 V');
  mender.measures('9.1 V');
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    09:20 Mo: (take, true)
        A mender has the appliance now, and answers from here on.
    09:20 Cleo: thank you!
        This case is with people now. They see what you write here.
    09:20 Mo: (back)
        The case comes back to me; we go on.
        ? Before anything is opened: Do you have a multimeter here that measures volts d.c. (the V with a straight line)? Without one, nobody can tell whether it still holds a charge.
          [yes] [no]
    09:20 Cleo: [yes]
        (to asker alone) Thank you. Only the person who has the appliance in front of them can answer this one.
    09:20 Somebody: [yes]
        (to stranger alone) Thank you for helping. In this case only the owner and the menders answer, so I do not count this one.
    09:20 Mo: [yes]
        = Has a multimeter
        ! DANGER: Mains voltage kills. A switch is not enough: the plug has to be out of the wall.
        ? Out of the wall: Is the plug out and in sight? I then wait 20 min with you.
          [unplugged]
    09:20 Mo: [unplugged]
        = The plug is out
        Now we wait 20 min: the charge has to fall. I come back by myself.
        (comes back: 09:40)
    09:40 a timer: (rang)
        The time is over.
        ? Prove that it is discharged: What does it show? This proves that the meter works before we trust a zero.
          a number in V
    09:40 Mo: (form) 9.1 V
        = Battery before: 9.1 V
        ! DANGER: Treat every metal part as live. Hold the probes by the insulation, one hand where you can. Never short anything with a tool.
        ? Prove that it is discharged: The big can: What does the meter show? I need less than 10 V.
          a number in V
    09:40 Mo: (form) 0.2 V
        = The big can: 0.2 V
        ! DANGER: Treat every metal part as live. Hold the probes by the insulation, one hand where you can. Never short anything with a tool.
        ? Prove that it is discharged: The feed of the dial lamp: What does the meter show? I need less than 10 V.
          a number in V
    09:40 Mo: (form) 0.2 V
        = The feed of the dial lamp: 0.2 V
        ! DANGER: Treat every metal part as live. Hold the probes by the insulation, one hand where you can. Never short anything with a tool.
        ? Prove that it is discharged: What does it show now? This proves that the meter still works.
          a number in V
    09:40 Cleo: (form) 9.1 V
        (to asker alone) Thank you. Only the person who has the appliance in front of them can answer this one.
    09:40 Mo: (form) 9.1 V
        = Battery after: 9.1 V
        Proven: it is discharged. This holds until power comes back, for a day at most.
        ! DANGER: The big can may still be charged.
        ? Seat the speaker lead: Is it done?
          [done]
    "
  `);
  expect(talk.kase.world.proof).toMatchObject({ by: 'mender' });
});

test('the danger button is heard from anybody, in a wait too, and asked about before all else', () => {
  const talk = newTalk({ settings: following('drain', 'settings') });
  const asker = talk.as({ ...cleo, level: 'new' });
  const stranger = talk.as({ ...people.stranger, name: 'Somebody' });
  asker.says('It lights up but is silent');
  asker.taps('silent');
  asker.taps('solid');
  asker.taps('done');
  talk.read();
  talk.later(5);
  stranger.taps('danger');
  asker.says('hello?');
  asker.taps('no');
  talk.later(25).rings();
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    09:05 Somebody: [danger]
        ? Safety first: What happened?
          [smoke] [flames] [bang] [sparks] [burning-smell] [shock] [tripping] [water] [battery] [gas] [hurt] [no]
    09:05 Cleo: hello?
        To be safe I take only one of these answers here.
          - smoke
          - flames
          - a bang
          - sparks
          - a burning smell
          - an electric shock
          - a breaker or fuse that trips
          - water or another liquid in it
          - a swollen or hot battery
          - a smell of gas
          - somebody hurt
          - Nothing like that
    09:05 Cleo: [no]
        Good. Then we go on waiting.
    09:30 a timer: (rang)
        The time is over.
        ? Does it work now?: After “Let all charge drain”: does it work now?
          [works] [no] [different]
    "
  `);
});
