import { expect, test } from 'vitest';
import type { Flow } from '../../shared/flow.ts';
import { people, radio } from '../core/example-flow.ts';
import { following, newTalk, type Talk } from './thread.ts';

/** Conversations in which the flow's file is corrected, or goes, while people are in the middle of it. */

const ines = { ...people.asker, name: 'Ines', level: 'handy' as const };

const version = (number: number, change: Partial<Flow> = {}): Flow => ({
  ...radio,
  ...change,
  version: number,
});
const without = <T extends { id: string }>(list: readonly T[], ...ids: readonly string[]): T[] =>
  list.filter(({ id }) => !ids.includes(id));

function toTheProof(talk: Talk, ...volts: readonly string[]): Talk {
  const asker = talk.as(ines);
  asker.says('It lights up but is silent');
  for (const answer of ['silent', 'solid', 'light', 'yes', 'unplugged']) asker.taps(answer);
  talk.later(20).rings();
  asker.taps('opened');
  for (const reading of volts) asker.measures(reading);
  talk.read();
  return talk;
}

test('a flow that was corrected and lost nothing asks the open question anew, and says why', () => {
  const talk = newTalk({ settings: following('dial-lamp', 'knob-feel') });
  const asker = talk.as(ines);
  asker.says('It lights up but is silent');
  asker.taps('silent');
  asker.taps('solid');
  talk.read();
  talk.corrects(version(3)).later(60);
  asker.taps('yes');
  asker.taps('yes');
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    10:00 Ines: [yes]
        = Not asked any more: the instructions changed.
        The instructions for this appliance were corrected since we began (version 1, now 3). What you told me still counts.
        I did not count that as an answer, because the question was changed just now.
        ? Look at the dial lamp: Does the lamp behind the dial glow?
          [yes] [no]
    10:00 Ines: [yes]
        = Look at the dial lamp: Yes, it glows
        ? Turn the knob: Does it turn all the way?
          [yes] [no]
    "
  `);
  expect(talk.kase).toMatchObject({ version: 1, follows: 3 });
});

test('a flow that lost what was answered says so, by what it still knows', () => {
  const talk = newTalk({ settings: following('knob-feel', 'dial-lamp', 'settings', 'lead-look') });
  const asker = talk.as(ines);
  asker.says('It lights up but is silent');
  for (const answer of ['silent', 'solid', 'yes', 'yes', 'no', 'no']) asker.taps(answer);
  talk.read();
  talk.corrects(
    version(2, {
      complaints: without(radio.complaints, 'silent'),
      checks: without(radio.checks, 'knob-feel').map((check) =>
        check.id === 'dial-lamp' && check.outcomes
          ? { ...check, outcomes: check.outcomes.map((one) => ({ ...one, id: `${one.id}-seen` })) }
          : check,
      ),
      remedies: without(radio.remedies, 'settings'),
    }),
  );
  asker.asks('where');
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    09:00 Ines: <where>
        = Not asked any more: the instructions changed.
        The instructions for this appliance were corrected since we began (version 1, now 2). What you told me still counts, except for these, which they no longer have:
          - Complaint: “silent”
          - Check “knob feel”: yes
          - Look at the dial lamp: yes
          - Done: “settings”
        What we know so far (“change 2” asks number 2 again):
          - What kind of radio is it? One with transistors
          - Tried: no change
          - Tried: no change
        (picture) Likely causes now: A stuck state 23 %, The speaker lead 18 %, A dry big can 14 %, The speaker 14 %, A cracked joint 9 %.
        The question comes anew, as the instructions have it now.
        ? What is wrong: Which of these comes closest to what your radio does?
          [hums] [dead] [other] [danger]
    "
  `);
});

test('a cover that the corrected flow no longer names counts as open until all is closed', () => {
  const talk = toTheProof(
    newTalk({ settings: following('joint-look', 'dial-lamp') }),
    '1.55 V',
    '0.3 V',
    '0.1 V',
    '1.55 V',
  );
  const asker = talk.as(ines);
  asker.taps('opened');
  talk.read();
  talk.corrects(
    version(2, {
      access: without(radio.access, 'chassis-out'),
      checks: without(radio.checks, 'joint-look', 'ripple'),
      remedies: without(radio.remedies, 'solder', 'new-can'),
    }),
  );
  asker.taps('no');
  for (const reading of ['1.55 V', '0.3 V', '0.1 V', '1.55 V']) asker.measures(reading);
  asker.taps('shut');
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    09:20 Ines: [no]
        = Not asked any more: the instructions changed.
        The instructions for this appliance were corrected since we began (version 1, now 2). They no longer name something that was open: “chassis out”. Take that as still off, and still charged, until you tell me that everything is closed: leave the plug out, and let nobody reach in. What you told me still counts.
        I did not count that as an answer, because the question was changed just now.
        ? Prove that it is discharged: What does it show? This proves that the meter works before we trust a zero.
          a number in V
    09:20 Ines: (form) 1.55 V
        = Battery before: 1.55 V
        ! DANGER: Treat every metal part as live. Hold the probes by the insulation, one hand where you can. Never short anything with a tool.
        ? Prove that it is discharged: The big can: What does the meter show? I need less than 10 V.
          a number in V
    09:20 Ines: (form) 0.3 V
        = The big can: 0.3 V
        ! DANGER: Treat every metal part as live. Hold the probes by the insulation, one hand where you can. Never short anything with a tool.
        ? Prove that it is discharged: The feed of the dial lamp: What does the meter show? I need less than 10 V.
          a number in V
    09:20 Ines: (form) 0.1 V
        = The feed of the dial lamp: 0.1 V
        ! DANGER: Treat every metal part as live. Hold the probes by the insulation, one hand where you can. Never short anything with a tool.
        ? Prove that it is discharged: What does it show now? This proves that the meter still works.
          a number in V
    09:20 Ines: (form) 1.55 V
        = Battery after: 1.55 V
        Proven: it is discharged. This holds until power comes back, for a day at most.
        ! WARNING: Do not plug it in while it is open. With power, parts inside are live.
        ? Close it before power comes back: Is everything back on and closed? Leave it unplugged for now.
          [shut]
    09:20 Ines: [shut]
        = Closed
        ? Look at the dial lamp: Does the lamp behind the dial glow?
          [yes] [no]
    "
  `);
  expect(talk.kase.world).toMatchObject({ open: [], lost: [] });
});

test('a wait for a step that is gone is over, and its timer is taken back', () => {
  const talk = newTalk({ settings: following('drain', 'dial-lamp') });
  const asker = talk.as(ines);
  asker.says('It lights up but is silent');
  for (const answer of ['silent', 'solid', 'done']) asker.taps(answer);
  talk.read();
  talk.corrects(version(2, { remedies: without(radio.remedies, 'drain') })).later(5);
  asker.says('I am back already');
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    09:05 Ines: I am back already
        The instructions for this appliance were corrected since we began (version 1, now 2). What we were waiting for is no longer part of them, so we wait no longer. What you told me still counts, except for these, which they no longer have:
          - Done: “drain”
        I keep that with the case.
        (no longer: wait:drain)
        ? Look at the dial lamp: Does the lamp behind the dial glow?
          [yes] [no]
    "
  `);
  expect(talk.kase).toMatchObject({ state: 'asking', rest: null });
});

test('a flow that is gone is not followed by another: the case goes to people and stays there', () => {
  const talk = newTalk({ settings: following('dial-lamp') });
  const asker = talk.as(ines);
  const moderator = talk.as({ ...people.moderator, name: 'Tove' });
  asker.says('It lights up but is silent');
  asker.taps('silent');
  asker.taps('solid');
  talk.read();
  talk.corrects({ ...radio, flow: 'kettle', title: 'Kettle', noun: 'kettle' });
  asker.taps('yes');
  moderator.does({ what: 'back' });
  asker.asks('where');
  asker.asks('card');
  expect(talk.read()).toMatchInlineSnapshot(`
    "
    09:00 Ines: [yes]
        > to people (no-guide): The guide for this appliance is no longer here, so I cannot go on. What you told me is kept, and people take over. Who can help: The Larkholm Bench. The job card below tells them everything.
        This case is with people now. They see what you write here.
    09:00 Tove: (back)
        (to moderator alone) The guide for this appliance is no longer here, so this case stays with people.
    09:00 Ines: <where>
        What we know so far (“change 2” asks number 2 again):
          - Complaint: “silent”
          - About the appliance, “kind”: solid
        People have this case now.
    09:00 Ines: <card>
        # Job card: table radio

    ## In the owner’s words

    - “It lights up but is silent”

    ## About the appliance

    - About the appliance, “kind”: solid

    ## Seen, measured and tried

    - Complaint: “silent”

    ## How it stands

    - All covers are on.
    - Whoever has it is used to working inside unplugged things (vouched for).

    ## People (The Larkholm Bench)

    - The Larkholm Bench; Volunteers
    "
  `);
  expect(talk.kase).toMatchObject({ state: 'with people', handover: { reason: 'no-guide' } });
});
